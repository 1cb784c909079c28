"""Sleeping unit: a control unit as a load that is awake, and after a time asleep.

Awake and asleep it takes its two currents at its rated voltage, as resistances. What puts it to
sleep and wakes it is the bench's clock, which gives it `Trigger.ASLEEP`: the parameters `falls
asleep after` (0: never, by itself) and `woken by` (names of controls and of its pin `wake`, parted
by commas) are read there and change nothing here. One that never falls asleep has the awake current
when it should be asleep.

A draw of up to 50 mA for a whole vehicle asleep passes as acceptable (common practice, no source).
"""

from __future__ import annotations

import re

from sim.circuit import Part
from sim.parts.family import (
    Element,
    Family,
    Parameter,
    Trigger,
    Way,
    conductance,
    joint,
    joint_ways,
)

WAKE_INPUT = 10e3  # ohm from wake to 31; common practice, no source


def wakers(part: Part) -> tuple[str, ...]:
    """Return the words of `woken by`, parted by commas or bars: controls, or the pin ``wake``."""
    words = (word.strip() for word in re.split(r"[,|]", str(part.values["woken by"])))
    return tuple(word for word in words if word)


def _pins(part: Part) -> tuple[str, ...]:
    return ("30", "31", "wake") if part.values["wake pin"] else ("30", "31")


def _elements(part: Part, _temperature: float) -> tuple[Element, ...]:
    name, volts = part.name, part.number("voltage")
    awake = conductance(volts / part.number("awake"))
    amps = part.severity("high asleep current") or part.number("asleep")
    asleep = awake if part.has("never falls asleep") else conductance(volts / amps)
    dead = part.has("dead")
    load = Element(
        f"{name} load",
        f"{name}.30b",
        f"{name}.31b",
        0.0 if dead else awake,
        other=0.0 if dead else asleep,
        trigger=Trigger.ASLEEP,
    )
    elements = [joint(part, "30"), load, joint(part, "31")]
    if part.values["wake pin"]:
        wake = Element(f"{name} wake", f"{name}.wakeb", f"{name}.31b", conductance(WAKE_INPUT))
        elements += [joint(part, "wake"), wake]
    return tuple(elements)


def _ways(part: Part) -> tuple[Way, ...]:
    high = (float(f"{(part.number('asleep') * part.number('awake')) ** 0.5:.2g}"),)
    return (
        Way("never falls asleep", None, (), 1.0),
        Way("high asleep current", None, high, 0.4, "current"),
        Way("dead", None, (), 0.5),
        *(way for pin in _pins(part) for way in joint_ways(pin, likelihood=0.4)),
    )


FAMILY = Family(
    "sleeping unit",
    {
        "voltage": Parameter("voltage", 12.0),
        "awake": Parameter("current", 0.4),
        "asleep": Parameter("current", 0.003),
        "falls asleep after": Parameter("time", 0.0),
        "woken by": Parameter("text", ""),
        "wake pin": Parameter("flag", default=False),
    },
    _pins,
    _elements,
    _ways,
    separable=True,
    nominal_power=lambda part: part.number("voltage") * part.number("awake"),
    load="load",
)
