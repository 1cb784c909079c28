"""CAN transceiver and terminator: the pair H and L as a circuit.

Transceiver, H L + − (+ being the 5 V of its unit): recessive, each line is held at half of the
supply through 25 kohm; dominant, H is pulled up to + and L down to −, each through a diode and a
resistance. 22 ohm gives 3.5 V and 1.5 V on a bus of 60 ohm, in the middle of the limits of ISO
11898-2 (as a component maker's data sheet states them: H 2.75 to 4.5 V, L 0.5 to 2.25 V, difference
1.5 to 3 V at 50 to 65 ohm). The half of the supply is a divider, so that without supply the lines
are pulled weakly to ground and nothing is fed from nowhere.

Positions: ``recessive``, ``dominant`` or ``busy``; a busy bus is dominant for the share `busy`, or
the share that the position says (``busy 45 %``), of every period of `frequency` (SWITCHED; a steady
state sees it dominant). That stands for frames as a whole, not for bits that mean something.

Terminator, H L: 120 ohm, or split in 2 x 60 ohm with a capacitor from the middle to the body.
"""

from __future__ import annotations

from sim.circuit import BODY, Part
from sim.parts.driver import switched
from sim.parts.family import (
    STILL,
    Element,
    Family,
    Law,
    Motion,
    Parameter,
    Way,
    conductance,
    joint,
    joint_ways,
)
from sim.parts.positions import Stand, stands
from sim.parts.relay import DIODE_SATURATION, DIODE_SLOPE

HOLDING = 25e3  # ohm from each line to half of the supply; common practice, no source
HALVES = 2e3  # ohm, each half of the divider; ours
DRIVING = 22.0  # ohm, see above
SILICON = (DIODE_SATURATION, DIODE_SLOPE, 0.0)
SHORTED = 1.0  # ohm, ours
INSULATION = 1e-9  # S of the capacitor, without which it would be out of circuit; ours
STATES = ("recessive", "dominant", "busy")
PINS = ("H", "L", "+", "-")


def dominant_share(part: Part, stand: Stand) -> float:
    """Return the share of the time for which a transceiver is dominant in a position."""
    if part.has("never dominant"):
        return 0.0
    return 1.0 if part.has("stuck dominant") else stand.value


def _stands(part: Part) -> tuple[Stand, ...]:
    """Return the share of the time that each position is dominant."""
    words = {"recessive": 0.0, "dominant": 1.0, "busy": part.number("busy")}
    return stands(part, "fraction", words[str(part.values["state"])], words)


def _drivers(part: Part, stand: Stand) -> list[Element]:
    name, found = part.name, []
    share = dominant_share(part, stand)
    for line, a, b in (
        ("H", f"{name} H feed", f"{name}.Hb"),
        ("L", f"{name}.Lb", f"{name} L foot"),
    ):
        siemens, motion = switched(conductance(DRIVING), share, part.number("frequency"))
        broken = part.has(f"{line} driver open")
        found.append(
            Element(
                f"{name} {line} driver{stand.label}",
                a,
                b,
                0.0 if broken else siemens,
                positions=stand.gate,
                motion=STILL if broken else motion,
            )
        )
    return found


def _pins(_part: Part) -> tuple[str, ...]:
    return PINS


def _elements(part: Part, _temperature: float) -> tuple[Element, ...]:
    name = part.name
    half, high, low = f"{name} half", f"{name}.Hb", f"{name}.Lb"
    plus, minus = f"{name}.+b", f"{name}.-b"
    shorted = conductance(SHORTED) if part.has("H and L shorted") else 0.0
    inside = [
        Element(f"{name} upper half", plus, half, conductance(HALVES)),
        Element(f"{name} lower half", half, minus, conductance(HALVES)),
        Element(f"{name} H holding", half, high, conductance(HOLDING)),
        Element(f"{name} L holding", half, low, conductance(HOLDING)),
        Element(f"{name} H diode", plus, f"{name} H feed", 1.0, law=Law.DIODE, shape=SILICON),
        Element(f"{name} L diode", f"{name} L foot", minus, 1.0, law=Law.DIODE, shape=SILICON),
        Element(f"{name} short", high, low, shorted),
    ]
    for stand in _stands(part):
        inside += _drivers(part, stand)
    return (*(joint(part, pin) for pin in PINS), *inside)


def _ways(part: Part) -> tuple[Way, ...]:
    """Return its ways of failing, those of the drivers only where a position can show them."""
    shares = [stand.value for stand in _stands(part)]
    inside = [Way("H and L shorted", None, (), 0.3)]
    if min(shares) < 1.0:
        inside.append(Way("stuck dominant", None, (), 0.4))
    if max(shares) > 0.0:
        inside += [
            Way("never dominant", None, (), 0.5),
            Way("H driver open", None, (), 0.2),
            Way("L driver open", None, (), 0.2),
        ]
    return (*inside, *(way for pin in PINS for way in joint_ways(pin, likelihood=0.4)))


def _terminator_pins(_part: Part) -> tuple[str, ...]:
    return ("H", "L")


def _terminator_elements(part: Part, _temperature: float) -> tuple[Element, ...]:
    name, middle = part.name, f"{part.name} middle"
    ohms = part.severity("wrong value") or part.number("resistance")
    siemens = 0.0 if part.has("open") else conductance(ohms / 2)
    if part.has("shorted"):
        siemens = conductance(SHORTED)
    split = part.values["type"] == "split"
    motion = Motion(capacitance=part.number("capacitor")) if split else STILL
    return (
        joint(part, "H"),
        Element(f"{name} upper", f"{name}.Hb", middle, siemens),
        Element(f"{name} capacitor", middle, BODY, INSULATION * float(split), motion=motion),
        Element(f"{name} lower", middle, f"{name}.Lb", siemens),
        joint(part, "L"),
    )


def _terminator_ways(_part: Part) -> tuple[Way, ...]:
    return (
        Way("open", None, (), 0.8),
        Way("wrong value", None, (60.0, 1000.0), 0.2),
        Way("shorted", None, (), 0.1),
        *joint_ways("H"),
        *joint_ways("L"),
    )


TRANSCEIVER = Family(
    "CAN transceiver",
    {
        "state": Parameter("text", "recessive", STATES),
        "busy": Parameter("fraction", 0.4),
        "frequency": Parameter("frequency", 125e3),
    },
    _pins,
    _elements,
    _ways,
    separable=True,
    setting="fraction",
)
TERMINATOR = Family(
    "CAN terminator",
    {
        "type": Parameter("text", "single", ("single", "split")),
        "resistance": Parameter("resistance", 120.0),
        "capacitor": Parameter("capacitance", 4.7e-9),
    },
    _terminator_pins,
    _terminator_elements,
    _terminator_ways,
    separable=True,
)
