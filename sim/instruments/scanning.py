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
    {"scan": "graph", "unit": "A1", "what": "coolant temperature", "over": "2 min"}

Live data, maker data and graph take ``"while": {"key": "crank"}``: what controls are operated
meanwhile, and put back. A graph is a line of live or maker data at `POINTS` moments, evenly apart,
the last one at its end; its time is labour. Once the line is found it is asked for alone.

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

from collections.abc import Callable, Hashable, Sequence
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
from sim.instruments.form import Ask, Fields, Form, Written
from sim.instruments.sameanswers import Units, like, to_the_byte
from sim.instruments.verb import Instrument, Labour, Scene, Shown, Verb
from sim.language import say
from sim.presence import at_socket, present, sockets
from sim.quantity import parse
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
GRAPH = "graph"
TASKS = (*READING, *ACTING, GRAPH)
WHILE = ("live data", "maker data", GRAPH)  # what can be read while controls are operated
POINTS = 10  # of a graph; ours
LONGEST_GRAPH = 3600.0  # s
NOBODY = "no control unit answers"
LONGEST_NUMBER = 12  # characters of a value to hold


NEEDS: dict[str, tuple[str, ...]] = {
    "codes": (),
    "clear": (),
    "hold": ("unit", "what", "at"),
    "release": ("unit", "what"),
    "routine": ("unit", "what"),
    GRAPH: ("unit", "what", "over"),
}
OPTIONS = ("unit", "what", "at", "over")
ASKS = (
    Ask("", "word", TASKS),
    Ask("unit", "unit", needed=False, only=OF_ALL),
    Ask("unit", "unit", only=tuple(task for task in TASKS if task not in OF_ALL)),
    Ask("what", "item", only=(*ACTING, GRAPH)),
    Ask("at", "size", ("0", "50", "100"), only=("hold",)),
    Ask("over", "size", ("1 min", "2 min", "5 min", "10 min"), only=(GRAPH,)),
    Ask("while", "while", needed=False, only=WHILE),
)


def _read_form(verb: str, data: Written) -> Fields:
    task = form.one_of(verb, data, TASKS, "a scan tool can do")
    needed = NEEDS.get(task, ("unit",))
    for key in (*OPTIONS, "while"):
        allowed = key in (*needed, "unit") or (key == "while" and task in WHILE)
        if key in data and not allowed:
            raise ActionError(f"scan {task}: {key!r} does not belong here")
    given = tuple((k, form.text(data, k)) for k in OPTIONS if k in needed or k in data)
    if "at" in needed:
        _number(dict(given)["at"])
    if "over" in needed and not 0.0 < parse(dict(given)["over"], "time") <= LONGEST_GRAPH:
        raise ActionError(
            say("scan graph: over {time}, allowed above 0 and up to 1 h", time=repr(data["over"]))
        )
    return {"target": task, "options": given, **form.meanwhile(data)}


def _number(text: str) -> float:
    """Return the value to hold an output at, in the unit of the screen."""
    try:
        if len(text) <= LONGEST_NUMBER:
            return float(text)
    except ValueError:
        pass
    raise ActionError(say("scan hold: at must be a number, got {text}", text=repr(text)))


def _write_form(doing: Doing) -> dict[str, Any]:
    during = {"while": dict(doing.settings)} if doing.settings else {}
    return {doing.verb: doing.target, **dict(doing.options), **during}


def _check(scene: Scene) -> None:
    scenes.check_settings(scene)
    units = [part.name for part in parts_with_unit(scene.circuit)]
    name = scene.doing.option("unit")
    if name and name not in units:
        raise scenes.unknown("control unit", name, units)
    what = scene.doing.option("what")
    if what and scene.doing.target != GRAPH:
        unit = control_units(scene.circuit)[units.index(name)]
        try:
            found = dialogue.called(unit, what)
        except DiagnosisError as error:
            raise ActionError(str(error)) from error
        if isinstance(found, Routine) != (scene.doing.target == "routine"):
            raise ActionError(
                say(
                    "scan {task}: {what} is none that it could do",
                    task=say(scene.doing.target),
                    what=repr(what),
                )
            )


def _labour(scene: Scene) -> Labour:
    places = [scene.circuit.parts[name].at for name in sockets(scene.circuit)]
    return Labour(tuple(places[:1]), HANDLING["scan"] + _over(scene.doing) / 60.0)


def _over(doing: Doing) -> float:
    """Return the s that a graph takes, 0 for what is no graph."""
    return parse(doing.option("over"), "time") if doing.option("over") else 0.0


def _read(view: View) -> Shown:
    """Ask every variant's units; those that stand the same are asked once."""
    if not parts_with_unit(view.circuit):
        return Shown(words=(NOBODY,) * view.count)
    view.pass_before_reading(view.seconds - _over(view.doing))
    resting = dict(view.situation.controls)
    if view.doing.settings:
        view.hold_controls({**resting, **dict(view.doing.settings)})
    words = _graph(view) if view.doing.target == GRAPH else _told(view)[0]
    if view.doing.settings:
        view.hold_controls(resting)
    return Shown(words=words)


def _told(view: View, requests: Sequence[bytes] = ()) -> tuple[tuple[str, ...], list[bytes]]:
    """Return what the screen says of every variant; units that answer the same are asked once.

    And what each was asked for the line of a graph, which is all that is asked when it is given.
    """
    data = view.doing.target in WHILE  # and nothing else
    known = dict[Hashable, tuple[tuple[str, bytes], Units, Units]]()
    told, after = list[tuple[str, bytes]](), list[Units]()
    for lane, ready in enumerate(present(view, at_socket(view.circuit))):
        request = requests[lane] if requests else b""
        key = to_the_byte(ready, request) if data else repr(ready)
        said, asked, left = known.get(key, (("", b""), (), ()))
        mine = (like(ready, asked, left) if data else left) if key in known else None
        if mine is None:
            said, mine = _asked(view, ready, request)
            known[key] = said, ready, mine
        told.append(said)
        after.append(mine)
    view.memory = view.commanded(replace(view.memory, units=tuple(after)))
    return tuple(words for words, _request in told), [request for _words, request in told]


def _graph(view: View) -> tuple[str, ...]:
    """Return one line of data at `POINTS` moments, for every variant."""
    rows, requests = list[tuple[str, ...]](), list[bytes]()
    for left in range(POINTS, 0, -1):
        view.pass_before_reading(view.seconds / left)
        words, requests = _told(view, requests)
        rows.append(words)
    return tuple(_joined(told) for told in zip(*rows, strict=True))


def _joined(told: Sequence[str]) -> str:
    """Return what the screen has said of one unit, time after time, in one line."""
    unit = told[0].partition(": ")[0]
    return f"{unit}: {', '.join(one.partition(': ')[2] for one in told)}"


def _asked(view: View, units: Units, request: bytes) -> tuple[tuple[str, bytes], Units]:
    """Return what the screen says to one variant's units, by which request, and the units then."""
    doing, names = view.doing, [part.name for part in parts_with_unit(view.circuit)]
    wanted = doing.option("unit")
    lines = []
    with DiagnosticBus(units, view.clock) as bus:
        for name, unit in zip(names, units, strict=True):
            if wanted in ("", name):
                said, request = _done(bus, doing, unit, request)
                lines.append(f"{unit.name}: {'; '.join(said)}")
        after = {unit.name: unit for unit in bus.units}
    return (" | ".join(lines), request), tuple(after[unit.name] for unit in units)


def _done(
    bus: DiagnosticBus, doing: Doing, unit: UnitState, request: bytes
) -> tuple[tuple[str, ...], bytes]:
    """Do a task on one unit; return what the screen says, and what gets a graph's line again."""
    try:
        if doing.target == GRAPH:
            what = doing.option("what")
            line, request = (
                dialogue.again(bus, unit.name, what, request)
                if request
                else dialogue.find(bus, unit.name, what)
            )
            return (line,), request
        if doing.target in READING:
            return READING[doing.target](bus, unit.name), b""
        found = dialogue.called(unit, doing.option("what"))
        if isinstance(found, Routine):
            return dialogue.start(bus, unit.name, found), b""
        return _output(bus, doing, unit, found), b""
    except dialogue.SilentError as silent:
        said = str(silent).removeprefix(f"{unit.name}: ")
        return (said.removesuffix(f" from {unit.name}"),), b""


def _output(bus: DiagnosticBus, doing: Doing, unit: UnitState, output: Output) -> tuple[str, ...]:
    if doing.target == "release":
        return dialogue.release(bus, unit.name, output)
    value = _number(doing.option("at")) * output.scaling.si
    return dialogue.hold(bus, unit.name, output, value)


def _says(doing: Doing) -> str:
    unit, item = doing.option("unit") or say("all units"), say(doing.option("what"))
    what = {
        "clear": say("codes cleared"),
        "hold": say("{what} held at {value}", what=item, value=doing.option("at")),
        "release": say("{what} released", what=item),
        "routine": say("{what} started", what=item),
        GRAPH: say("graph of {what} over {time}", what=item, time=doing.option("over")),
    }.get(doing.target, say(doing.target))
    return scenes.meanwhile(say("scan tool, {unit}: {what}", unit=unit, what=what), doing)


def _cautions(scene: Scene) -> tuple[Caution, ...]:
    if scene.doing.target in ("hold", "routine"):
        return (Caution(care.COMMANDED),)
    return (Caution(care.CLEARING),) if scene.doing.target == "clear" else ()


INSTRUMENT = Instrument(
    "scan tool",
    {
        "scan": Verb(
            Form(_read_form, _write_form, (*OPTIONS, "while"), ASKS),
            _says,
            _labour,
            _check,
            read=_read,
            cautions=_cautions,
            disturbs=False,
        )
    },
)
