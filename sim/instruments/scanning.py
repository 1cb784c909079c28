"""Scan tool: codes, live data, freeze frame, clearing, outputs and routines, over real frames.

::

    {"scan": "codes"}                                   of all units
    {"scan": "codes", "unit": "A2"}                     of one; so with the others but output ...
    {"scan": "live data", "unit": "A1"}                 service 01: as measured, never substituted
    {"scan": "maker data", "unit": "A1"}                service 22; it may show a substitute
    {"scan": "freeze frame", "unit": "A1"}
    {"scan": "clear"}                                   all codes of all units, or of one
    {"scan": "hold", "unit": "A1", "what": "cooling fan", "at": "50"}    in the unit of the screen
    {"scan": "release", "unit": "A1", "what": "cooling fan"}
    {"scan": "routine", "unit": "A1", "what": "fan stages"}

On a vehicle with a diagnostic socket the tool is a transceiver at that socket, solved with the
circuit: a unit answers if it hears the tool and the tool hears it, gateways passing on both ways
(`sim.bus.standing`). Where there is no socket it is wired to the unit alone, which answers if it
has power and ground and does not sleep. A unit that does not answer is named, and no more: the tool
cannot know whether power, ground or bus is missing. Requests and answers are those of SAE J1979 and
ISO 14229-1, frame by frame; numbers have the standard's resolution.

Labour, common practice, no source: a minute to plug in and find one's way through the menus.

Cautions: what is held may start moving; clearing codes wipes freeze frames that nobody has read.
"""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import replace
from typing import Any

from sim import care
from sim.care import Caution
from sim.diagnosis.bus import DiagnosticBus
from sim.diagnosis.unit import Output, Routine, UnitState
from sim.diagnosis.vehicle import control_units, parts_with_unit
from sim.doing import Doing
from sim.errors import ActionError, DiagnosisError
from sim.instruments import dialogue, form, scenes
from sim.instruments.form import Fields, Form, Written
from sim.instruments.verb import Instrument, Labour, Scene, Shown, Verb
from sim.presence import at_socket, present, sockets
from sim.reach import HANDLING
from sim.view import View

Task = Callable[[DiagnosticBus, str], tuple[str, ...]]
READING: dict[str, Task] = {
    "codes": dialogue.codes,
    "live data": dialogue.live,
    "maker data": dialogue.own_data,
    "freeze frame": dialogue.frozen,
    "clear": dialogue.clear,
}
OF_ALL = ("codes", "clear")
ACTING = ("hold", "release", "routine")
TASKS = (*READING, *ACTING)
NOBODY = "no control unit answers"
LONGEST_NUMBER = 12  # characters of a value to hold


def _read_form(verb: str, data: Written) -> Fields:
    task = form.one_of(verb, data, TASKS, "a scan tool can do")
    needed = {"hold": ("unit", "what", "at"), "release": ("unit", "what")}
    needed |= {"routine": ("unit", "what")}
    keys = needed.get(task, () if task in OF_ALL else ("unit",))
    allowed = {*keys, "unit"}
    for key in ("unit", "what", "at"):
        if key in data and key not in allowed:
            raise ActionError(f"scan {task}: {key!r} does not belong here")
    given = tuple(
        (key, form.text(data, key))
        for key in ("unit", "what", "at")
        if key in allowed and (key in keys or key in data)
    )
    if "at" in keys:
        _number(dict(given)["at"])
    return {"target": task, "options": given}


def _number(text: str) -> float:
    """Return the value to hold an output at, in the unit of the screen."""
    try:
        if len(text) <= LONGEST_NUMBER:
            return float(text)
    except ValueError:
        pass
    raise ActionError(f"scan hold: at must be a number, got {text!r}")


def _write_form(doing: Doing) -> dict[str, Any]:
    return {doing.verb: doing.target, **dict(doing.options)}


def _check(scene: Scene) -> None:
    units = [part.name for part in parts_with_unit(scene.circuit)]
    name = scene.doing.option("unit")
    if name and name not in units:
        raise scenes.unknown("control unit", name, units)
    what = scene.doing.option("what")
    if what:
        unit = control_units(scene.circuit)[units.index(name)]
        try:
            found = dialogue.called(unit, what)
        except DiagnosisError as error:
            raise ActionError(str(error)) from error
        if isinstance(found, Routine) != (scene.doing.target == "routine"):
            raise ActionError(f"scan {scene.doing.target}: {what!r} is none that it could do")


def _labour(scene: Scene) -> Labour:
    places = [scene.circuit.parts[name].at for name in sockets(scene.circuit)]
    return Labour(tuple(places[:1]), HANDLING["scan"])


def _read(view: View) -> Shown:
    """Ask every variant's units; those that stand the same are asked once."""
    if not parts_with_unit(view.circuit):
        return Shown(words=(NOBODY,) * view.count)
    view.pass_before_reading()
    known: dict[str, tuple[str, tuple[UnitState, ...]]] = {}
    words, after = [], []
    for ready in present(view, at_socket(view.circuit)):
        key = repr(ready)
        if key not in known:
            known[key] = _asked(view, ready)
        words.append(known[key][0])
        after.append(known[key][1])
    view.memory = view.commanded(replace(view.memory, units=tuple(after)))
    return Shown(words=tuple(words))


def _asked(view: View, units: tuple[UnitState, ...]) -> tuple[str, tuple[UnitState, ...]]:
    """Return what the screen says to one variant's units, and the units afterwards."""
    doing, names = view.doing, [part.name for part in parts_with_unit(view.circuit)]
    wanted = doing.option("unit")
    lines = []
    with DiagnosticBus(units, view.situation.clock) as bus:
        for name, unit in zip(names, units, strict=True):
            if wanted in ("", name):
                lines.append(f"{unit.name}: {'; '.join(_done(bus, doing, unit))}")
        after = {unit.name: unit for unit in bus.units}
    return " | ".join(lines), tuple(after[unit.name] for unit in units)


def _done(bus: DiagnosticBus, doing: Doing, unit: UnitState) -> tuple[str, ...]:
    """Do a task on one unit; return what the screen says."""
    try:
        if doing.target in READING:
            return READING[doing.target](bus, unit.name)
        found = dialogue.called(unit, doing.option("what"))
        if isinstance(found, Routine):
            return dialogue.start(bus, unit.name, found)
        return _output(bus, doing, unit, found)
    except dialogue.SilentError as silent:
        said = str(silent).removeprefix(f"{unit.name}: ")
        return (said.removesuffix(f" from {unit.name}"),)


def _output(bus: DiagnosticBus, doing: Doing, unit: UnitState, output: Output) -> tuple[str, ...]:
    if doing.target == "release":
        return dialogue.release(bus, unit.name, output)
    value = _number(doing.option("at")) * output.scaling.si
    return dialogue.hold(bus, unit.name, output, value)


def _says(doing: Doing) -> str:
    unit = doing.option("unit") or "all units"
    what = {
        "hold": f"{doing.option('what')} held at {doing.option('at')}",
        "release": f"{doing.option('what')} released",
        "routine": f"{doing.option('what')} started",
    }.get(doing.target, doing.target)
    return f"scan tool, {unit}: {what}"


def _cautions(scene: Scene) -> tuple[Caution, ...]:
    if scene.doing.target in ("hold", "routine"):
        return (Caution(care.COMMANDED),)
    return (Caution(care.CLEARING),) if scene.doing.target == "clear" else ()


INSTRUMENT = Instrument(
    "scan tool",
    {
        "scan": Verb(
            Form(_read_form, _write_form, ("unit", "what", "at")),
            _says,
            _labour,
            _check,
            read=_read,
            cautions=_cautions,
            disturbs=False,
        )
    },
)
