"""Oscilloscope, two channels: what is asked of it, and how its screen stands in a record.

::

    {"scope": {"A": [P, P], "B": {"clamp": "wire 8"}}, "time": "100 ms",
     "trigger": {"channel": "A", "level": "6 V", "slope": "rising"}, "while": {"key": "crank"}}

`time` is the width of the screen. Without a trigger the screen begins when the controls move (or at
once, where none does). A channel lies between two points, 10 Mohm (a 10:1 probe), or is a current
clamp around a wire, with the zero drift and the resolution of `sim.instruments.clamp`: what swings
by less is a flat line. The reading is text: for each channel mean, minimum, maximum, peak to peak,
frequency and duty as displayed, and the samples as counts of a screen 200 counts high from minimum
to maximum. Control modules act within a screen (`sim.instruments.acting`), and breakers that close
by themselves come and go (`sim.instruments.turning`).

Caution: the black lead of each channel goes where its own figure wants it; restraint and orange
wiring is not probed.
"""

from __future__ import annotations

import math
from collections.abc import Mapping
from typing import Any

import numpy as np

from sim import care
from sim.care import Caution
from sim.doing import Doing
from sim.errors import ActionError, QuantityError
from sim.instruments import clamp, form, moving, scenes, scope
from sim.instruments.counts import ranged
from sim.instruments.form import MEANWHILE, Ask, Fields, Form, Written
from sim.instruments.moving import Channel, Sweep
from sim.instruments.multimeter import DUTY_RANGES, HERTZ_RANGES, VOLT_RANGES
from sim.instruments.verb import Instrument, Labour, Outcome, Scene, Shown, Verb
from sim.language import say
from sim.network import Floats
from sim.quantity import parse
from sim.reach import HANDLING, lead_moves, wire_places
from sim.reading import SAMPLES, Reading
from sim.situation import Situation
from sim.view import View

CHANNELS = ("A", "B")
SLOPES = ("rising", "falling")
#: s, width of the screen: ten divisions of 1, 2 or 5 times a power of ten.
WIDTHS = tuple(m * 10.0**e for e in range(-4, 2) for m in (1, 2, 5))
FIGURES = ("mean", "minimum", "maximum", "peak to peak", "frequency", "duty")
ASKS = (
    Ask("A", "channel"),
    Ask("B", "channel", needed=False),
    Ask("time", "word", tuple(f"{w * 1e3:g} ms" if w < 1 else f"{w:g} s" for w in WIDTHS)),
    Ask("trigger", "trigger", (*CHANNELS, *SLOPES), needed=False),
    MEANWHILE,
)
HEIGHT, WIDTH = 200, 250  # counts from the lowest sample to the highest, samples kept


def sweep(doing: Doing) -> Sweep:
    """Return what an action asks of the oscilloscope."""
    channels = tuple(
        Channel(
            name,
            doing.option(f"{name} red"),
            doing.option(f"{name} black"),
            doing.option(f"{name} clamp"),
        )
        for name in CHANNELS
        if doing.option(f"{name} red") or doing.option(f"{name} clamp")
    )
    source = doing.option("trigger channel")
    level = doing.option("trigger level")
    kinds = {one.name: "current" if one.wire else "voltage" for one in channels}
    return Sweep(
        channels,
        parse(doing.option("time"), "time"),
        source,
        doing.option("trigger slope"),
        parse(level, kinds[source]) if level else 0.0,
    )


def _channel(name: str, what: object) -> tuple[tuple[str, str], ...]:
    if isinstance(what, Mapping) and set(what) == {"clamp"}:
        return ((f"{name} clamp", form.text(what, "clamp")),)
    if isinstance(what, list):
        ends = form.pair(name, {name: what})
        return ((f"{name} red", ends["red"]), (f"{name} black", ends["black"]))
    raise ActionError(
        f"scope: channel {name} lies between two points, [P, P], or is a clamp, "
        f'{{"clamp": WIRE}}; got {what!r}'
    )


def _trigger(data: Written, channels: Mapping[str, object]) -> tuple[tuple[str, str], ...]:
    trigger = data["trigger"]
    keys = {"channel", "level", "slope"}
    if not isinstance(trigger, Mapping) or set(trigger) != keys:
        raise ActionError(f"scope: a trigger has channel, level and slope; got {trigger!r}")
    form.one_of("channel", trigger, tuple(channels), "the channels in use are")
    form.one_of("slope", trigger, SLOPES, "slopes are")
    kind = "current" if isinstance(channels[trigger["channel"]], Mapping) else "voltage"
    try:
        parse(form.text(trigger, "level"), kind)
    except QuantityError as error:
        why = str(error).removeprefix(f"{kind}: ")
        message = f"trigger level: {why}; channel {trigger['channel']} shows a {kind}"
        raise ActionError(message) from error
    return tuple((f"trigger {key}", str(trigger[key])) for key in ("channel", "level", "slope"))


def _read_form(_verb: str, data: Written) -> Fields:
    channels = data["scope"]
    if not isinstance(channels, Mapping) or not channels or set(channels) - set(CHANNELS):
        raise ActionError(f"scope: expected channels {' and '.join(CHANNELS)}, got {channels!r}")
    options: list[tuple[str, str]] = []
    for name in CHANNELS:
        if name in channels:
            options += _channel(name, channels[name])
    seconds = parse(form.text(data, "time"), "time")
    if not any(math.isclose(seconds, width) for width in WIDTHS):
        raise ActionError(
            f"scope: time {data['time']!r}, allowed are 1, 2 or 5 times a power of ten "
            "from 0.1 ms to 50 s"
        )
    options.append(("time", str(data["time"])))
    if "trigger" in data:
        options += _trigger(data, channels)
    return {"options": tuple(options), **form.meanwhile(data)}


def _write_form(doing: Doing) -> dict[str, Any]:
    channels: dict[str, Any] = {}
    for name in CHANNELS:
        if wire := doing.option(f"{name} clamp"):
            channels[name] = {"clamp": wire}
        elif red := doing.option(f"{name} red"):
            channels[name] = [red, doing.option(f"{name} black")]
    written: dict[str, Any] = {"scope": channels, "time": doing.option("time")}
    if doing.option("trigger channel"):
        keys = ("channel", "level", "slope")
        written["trigger"] = {key: doing.option(f"trigger {key}") for key in keys}
    if doing.settings:
        written["while"] = dict(doing.settings)
    return written


def _check(scene: Scene) -> None:
    scenes.check_settings(scene)
    wires = [name for name in scene.circuit.parts if name.startswith("wire ")]
    for channel in sweep(scene.doing).channels:
        if channel.wire and channel.wire not in wires:
            raise scenes.unknown("wire", channel.wire, wires)


def _ends(doing: Doing) -> list[str]:
    return [end for one in sweep(doing).channels for end in (one.red, one.black) if end]


def _labour(scene: Scene) -> Labour:
    """Every lead of it is put on anew: it has its own; a clamp goes where it is nearest."""
    ends = _ends(scene.doing)
    places, minutes = lead_moves(scene.circuit, scene.situation, ends, [""] * len(ends))
    for channel in sweep(scene.doing).channels:
        if channel.wire:
            near = wire_places(scene.circuit, channel.wire)
            here = [place for place in near if place in (*places, *scene.situation.here)]
            places.append((here or list(near))[0])
            minutes += HANDLING["clamp"]
    return Labour(tuple(places), minutes + HANDLING["scope"])


def _read(view: View) -> Shown:
    asked = sweep(view.doing)
    curves = moving.traced(view, asked)
    zero = clamp.offset(view.situation)
    screens = [screen(asked, curves, lane, zero) for lane in range(view.count)]
    also: list[tuple[str, Floats]] = []
    for number, channel in enumerate(asked.channels):
        still = clamp.RESOLUTION if channel.wire else moving.STILL
        found = np.array([_figures(one.lines[number], still) for one in screens])
        also += [(f"{channel.name} {n}", found[:, k]) for k, n in enumerate(FIGURES)]
        curve = np.array([one.lines[number].values for one in screens])
        also.append((f"{channel.name} {SAMPLES}", counted(curve, still)))
    return Shown(words=("screen",) * view.count, also=tuple(also))


def screen(asked: Sweep, curves: moving.Curves, lane: int, zero: float = 0.0) -> scope.Screen:
    """Return the screen of one variant, each channel turned so that its curve fits.

    A clamp shows `zero` A around nothing.
    """
    inputs = tuple(
        curves.values[number, lane] + (zero if channel.wire else 0.0)
        for number, channel in enumerate(asked.channels)
    )
    settings = tuple(
        scope.fitting(values, "A" if channel.wire else "V")
        for channel, values in zip(asked.channels, inputs, strict=True)
    )
    trigger = None
    if asked.source:
        names = [channel.name for channel in asked.channels]
        trigger = scope.Trigger(names.index(asked.source), asked.level, asked.slope == "rising")
    return scope.show(curves.time, inputs, settings, asked.seconds / scope.DIVISIONS, trigger)


def _figures(line: scope.Line, still: float) -> tuple[float, ...]:
    """Return a line's figures in the order of `FIGURES`; nan for what it does not have.

    A swing of less than `still` V or A is flat.
    """
    flat = line.peak_to_peak < max(still, moving.STILL)
    frequency = math.nan if flat or line.frequency is None else line.frequency
    duty = math.nan if flat or line.duty is None else 100.0 * line.duty
    return (line.mean, line.least, line.most, line.peak_to_peak, frequency, duty)


def counted(values: Floats, still: float = moving.STILL) -> Floats:
    """Return curves (V, T) as counts from 0 to `HEIGHT`, `WIDTH` of them a curve.

    A swing of less than `still` V or A does not fill the screen.
    """
    at = np.linspace(0, values.shape[1] - 1, WIDTH).round().astype(int)
    low, high = values.min(axis=1), values.max(axis=1)
    swing = np.maximum(high - low, still)[:, None]
    counts: Floats = np.round((values[:, at] - low[:, None]) / swing * HEIGHT)
    return counts


def _show(doing: Doing, _situation: Situation, outcome: Outcome, lane: int) -> Reading | None:
    figures = dict(outcome.also)
    also: list[tuple[str, str]] = []
    for channel in sweep(doing).channels:
        unit = "A" if channel.wire else "V"
        for name in FIGURES:
            text = _figure(name, float(figures[f"{channel.name} {name}"][lane]), unit)
            also += [(f"{channel.name} {name}", text)] if text else []
        counts = figures[f"{channel.name} {SAMPLES}"][lane]
        also.append((f"{channel.name} {SAMPLES}", " ".join(map(str, counts.astype(int).tolist()))))
    return Reading(words="screen", also=tuple(also))


def _figure(name: str, value: float, unit: str) -> str:
    """Return a figure as displayed with its unit, "" for one that the curve does not have."""
    if not math.isfinite(value):
        return ""
    ranges: tuple[float, ...] = VOLT_RANGES
    shown = unit
    if unit == "A" and name not in ("frequency", "duty"):
        current = clamp.show_clamp(value)
        return f"{current.value} {current.unit}"
    if name == "frequency":
        ranges, shown = HERTZ_RANGES, "Hz"
    elif name == "duty":
        ranges, shown = DUTY_RANGES, "%"
    reading = ranged(value, ranges, shown)
    return f"{reading.value} {reading.unit}"


def _says(doing: Doing) -> str:
    where = [
        say("{channel} around {wire}", channel=one.name, wire=one.wire)
        if one.wire
        else say("{channel} from {red} to {black}", channel=one.name, red=one.red, black=one.black)
        for one in sweep(doing).channels
    ]
    done = say("oscilloscope, {time}: {where}", time=doing.option("time"), where=", ".join(where))
    return scenes.meanwhile(done, doing)


def _cautions(scene: Scene) -> tuple[Caution, ...]:
    ends = {scene.circuit.point(end) for end in _ends(scene.doing)}
    found = []
    if care.at_battery(scene.circuit, ends):
        found.append(Caution(care.RINGS))
    if care.flagged_part(scene.circuit, ends, "restraint"):
        found.append(Caution(care.RESTRAINT, breached=True))
    if care.flagged_part(scene.circuit, ends, "high voltage"):
        found.append(Caution(care.HIGH_VOLTAGE, breached=True))
    return tuple(found)


INSTRUMENT = Instrument(
    "oscilloscope",
    {
        "scope": Verb(
            Form(_read_form, _write_form, ("time", "trigger", "while"), ASKS),
            _says,
            _labour,
            _check,
            read=_read,
            show=_show,
            cautions=_cautions,
            disturbs=False,
        )
    },
)
