"""Potentiometer as a position sensor: a track from + to −, a wiper on s.

``V_s = V (lowest + x (highest - lowest))`` for a position x from 0 to 100 %, no load on s: the
wiper does not use the ends of the track, so that a wire that touches + or − is told from a stop
(common practice, no source). The wiper has a resistance of its own and stands on one of the
control's positions; where the track is worn through, it is open there.
"""

from __future__ import annotations

from sim.circuit import Part
from sim.errors import QuantityError
from sim.parts.family import (
    STILL,
    Element,
    Family,
    Motion,
    Parameter,
    Wave,
    Way,
    conductance,
    joint,
    joint_ways,
)
from sim.parts.positions import Stand, stands

SHORTED = 0.5  # ohm between + and -, which share one soaked or burnt board; ours
WORN_WIDTH = 0.03  # of the travel to either side; ours
NOISE = 50.0  # Hz, of a dusty wiper on a shaking engine; ours
PINS = ("+", "s", "-")


def noise(part: Part) -> Motion:
    """Return the motion of an output that carries noise, its severity being the amplitude."""
    volts = part.severity("noise")
    return STILL if volts is None else Motion(wave=Wave.SINE, amplitude=volts, frequency=NOISE)


def supply_short(part: Part) -> Element:
    """Return what lies between + and - of a sensor whose supply is shorted inside; else nothing."""
    name = part.name
    siemens = conductance(SHORTED) if part.has("supply shorted") else 0.0
    return Element(f"{name} short", f"{name}.+b", f"{name}.-b", siemens)


def tap(part: Part, travel: float) -> float:
    """Return the share of the track below the wiper at a share of its travel.

    Raises
    ------
    QuantityError
        The stops are not in order, or the travel is no share.
    """
    lowest, highest = part.number("lowest"), part.number("highest")
    if not 0.0 < lowest < highest < 1.0:
        raise QuantityError(
            f"{part.name}: lowest and highest must lie in order between 0 and 100 %"
        )
    if not 0.0 <= travel <= 1.0:
        raise QuantityError(
            f"{part.name}: positions must lie from 0 % to 100 %, got {100 * travel:.0f} %"
        )
    share = lowest + travel * (highest - lowest)
    return 1.0 - share if part.has("reversed") else share


def _at(part: Part, stand: Stand) -> list[Element]:
    name, track = part.name, part.number("resistance")
    below = tap(part, stand.value)
    spot = part.severity("worn spot")
    worn = spot is not None and abs(stand.value - spot) <= WORN_WIDTH
    whole = 0.0 if part.has("track open") else conductance(track * (1.0 - below))
    wiper = part.number("wiper") + (part.severity("wiper resistance") or 0.0)
    gap = worn or part.has("wiper open")
    return [
        Element(
            f"{name} upper track{stand.label}",
            f"{name}.+b",
            f"{name} track",
            whole,
            positions=stand.gate,
        ),
        Element(
            f"{name} lower track{stand.label}",
            f"{name} track",
            f"{name}.-b",
            conductance(track * below),
            positions=stand.gate,
        ),
        Element(
            f"{name} wiper{stand.label}",
            f"{name}.sb",
            f"{name} track",
            0.0 if gap else conductance(wiper),
            positions=stand.gate,
            motion=noise(part),
        ),
    ]


def _pins(_part: Part) -> tuple[str, ...]:
    return PINS


def _elements(part: Part, _temperature: float) -> tuple[Element, ...]:
    joints = [joint(part, pin) for pin in PINS]
    inside = [
        element
        for stand in stands(part, "fraction", part.number("position"))
        for element in _at(part, stand)
    ]
    return (*joints, *inside, supply_short(part))


def _ways(part: Part) -> tuple[Way, ...]:
    travels = [stand.value for stand in stands(part, "fraction", part.number("position"))]
    spots = tuple(dict.fromkeys(value for value in travels if value > 0.0))
    worn = (Way("worn spot", None, spots, 1.5, "fraction", most=1.0),) if spots else ()
    return (
        *worn,
        Way("wiper open", None, (), 0.5),
        Way("wiper resistance", None, (20e3,), 0.3),
        Way("track open", None, (), 0.4),
        Way("supply shorted", None, (), 0.2),
        Way("noise", None, (0.3,), 0.3, "voltage"),
        Way("reversed", None, (), 0.0),
        *(way for pin in PINS for way in joint_ways(pin, likelihood=0.4)),
    )


FAMILY = Family(
    "potentiometer",
    {
        "resistance": Parameter("resistance", 5e3),
        "wiper": Parameter("resistance", 500.0),
        "lowest": Parameter("fraction", 0.1),
        "highest": Parameter("fraction", 0.9),
        "position": Parameter("fraction", 0.0),
    },
    _pins,
    _elements,
    _ways,
    separable=True,
    setting="fraction",
)
