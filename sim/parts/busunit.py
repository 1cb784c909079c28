"""Control unit on a CAN pair, and the diagnostic socket at which a scan tool joins it.

Bus unit, 30 31 CANH CANL; a gateway has a second pair, CANH2 CANL2. Inside, a regulator (a limiter
of 100 mA, about what ISO 11898-2 lets a shorted driver take, and a Zener diode) makes 5 V; on it
stands the transceiver of `sim.parts.can`: recessive, each line is held at half of the 5 V through
25 kohm; dominant, H is pulled up and L down through a diode and 22 ohm. Below `works from`
everything is off its lines, so that a unit without power or ground neither takes part in the bus
nor loads it (as transceivers' data sheets state it). Asleep there is no 5 V, and the lines are held
at ground through the same 25 kohm.

A steady state sees a recessive bus; a driver's other conductance, with `Trigger.DOMINANT`, is that
of a dominant bit. What the unit sends is its message (`sim.bus.message`) every `period`; the motion
of the H driver carries it, with no wave: `amplitude` the share of dominant bits in a frame,
`frequency` frames a second, `phase` s that one takes.

`listens to` names the units whose messages it counts on, `lost code` is the trouble code that
others set when they miss it, and `generic` says whether it answers SAE J1979; these are read by
`sim.diagnosis.onbus` and change nothing here.

`terminator` puts 120 ohm between the lines of one pair or of both. Sleep is as in
`sim.parts.sleeper`.

Socket, 4 6 14 16 (SAE J1962: ground, CANH, CANL, 30): nothing is connected to its terminals until a
scan tool is plugged in (`Trigger.TESTER`), which has a transceiver as units have.
"""

from __future__ import annotations

from dataclasses import replace

from sim.bus.message import dominant_share, frame_bits, read_identifier
from sim.circuit import Part
from sim.parts.can import DRIVING, HALVES, HOLDING, SHORTED, SILICON
from sim.parts.family import (
    CONTACT_RESISTANCE,
    STILL,
    Element,
    Family,
    Law,
    Motion,
    Parameter,
    Trigger,
    Way,
    conductance,
    joint,
    joint_ways,
)

REGULATED = 0.1  # A, most the regulator gives; see above
DROPOUT = 2.0  # ohm of the regulator; ours
BEYOND = 1e-7  # S beyond the limit; ours
ZENER, ZENER_SHAPE = 4.24, (1e-14, 0.026, 0.0)  # V, and A, V: 5 V at some mA; ours
WATCHING = 100e3  # ohm across the supply: what notices that it is there; ours
RELEASES = 0.92  # share of `works from` at which the unit lets go; ours
TERMINATION = 120.0  # ohm, ISO 11898-2
PLUGGED = 0.02  # ohm, each contact of a scan tool's plug; common practice, no source
PAIRS = (("", "CANH", "CANL"), (" 2", "CANH2", "CANL2"))
TERMINATED = ("none", "first pair", "second pair", "both pairs")
CROSSED = "lines crossed"  # a repair gone wrong: only where a circuit names it
SUPPLY = ("30", "31")
SOCKET_PINS = ("4", "6", "14", "16")


def _power(part: Part, name: str, ends: tuple[str, str], most: float) -> list[Element]:
    """Return regulator and watchdog between supply and ground, `most` A at the 5 V."""
    plus, minus = ends
    five, amps = f"{name} 5V", part.number("works from") / WATCHING
    dead = part.has("dead")
    kept = part.has("never falls asleep")
    whole = 0.0 if dead else conductance(DROPOUT)
    return [
        Element(
            f"{name} watch",
            plus,
            minus,
            0.0 if dead else conductance(WATCHING),
            law=Law.COIL,
            shape=(amps, RELEASES * amps, 0.0),
            relay=f"{name} supply",
        ),
        Element(
            f"{name} regulator",
            plus,
            five,
            whole,
            law=Law.LIMITER,
            shape=(0.0, most, BEYOND),
            other=whole if kept else 0.0,
            trigger=Trigger.ASLEEP if "asleep" in part.values else Trigger.NEVER,
        ),
        Element(f"{name} zener", five, minus, 1.0, ZENER, law=Law.DIODE, shape=ZENER_SHAPE),
    ]


def _driver(
    part: Part, name: str, ends: tuple[str, str], label: tuple[str, str], motion: Motion
) -> Element:
    """Return the switch of one line, off in a recessive bit."""
    line, pair = label
    first = "second pair " if pair else ""
    broken = part.has(f"{line} driver open") and not pair
    on = 0.0 if broken or part.has(f"{first}never dominant") else conductance(DRIVING)
    stuck = part.has(f"{first}stuck dominant")
    return Element(
        f"{name} {line} driver{pair}",
        *ends,
        on if stuck else 0.0,
        law=Law.CONTACT,
        relay=f"{name} supply",
        other=on,
        trigger=Trigger.DOMINANT,
        motion=motion,
    )


def _transceiver(
    part: Part, name: str, minus: str, lines: tuple[str, str, str], motion: Motion
) -> list[Element]:
    """Return one transceiver between the 5 V and ground of its unit."""
    pair, high, low = lines
    five, half = f"{name} 5V", f"{name} half{pair}"
    feed, foot, relay = f"{name} H feed{pair}", f"{name} L foot{pair}", f"{name} supply"
    held = conductance(HOLDING)
    return [
        Element(f"{name} upper half{pair}", five, half, conductance(HALVES)),
        Element(f"{name} lower half{pair}", half, minus, conductance(HALVES)),
        Element(f"{name} H holding{pair}", half, high, held, law=Law.CONTACT, relay=relay),
        Element(f"{name} L holding{pair}", half, low, held, law=Law.CONTACT, relay=relay),
        Element(f"{name} H diode{pair}", five, feed, 1.0, law=Law.DIODE, shape=SILICON),
        _driver(part, name, (feed, high), ("H", pair), motion),
        _driver(part, name, (low, foot), ("L", pair), STILL),
        Element(f"{name} L diode{pair}", foot, minus, 1.0, law=Law.DIODE, shape=SILICON),
    ]


def _between(part: Part, lines: tuple[str, str, str]) -> list[Element]:
    """Return what lies across the lines: a short in the transceiver, a terminator."""
    pair, high, low = lines
    name, first = part.name, "second pair " if pair else ""
    shorted = conductance(SHORTED) if part.has(f"{first}H and L shorted") else 0.0
    fitted = _terminated(part, pair) and not part.has(f"{first}terminator open")
    siemens = conductance(TERMINATION / 2) if fitted else 0.0
    middle = f"{name} middle{pair}"
    return [
        Element(f"{name} short{pair}", high, low, shorted),
        Element(f"{name} terminator upper{pair}", high, middle, siemens),
        Element(f"{name} terminator lower{pair}", middle, low, siemens),
    ]


def _terminated(part: Part, pair: str) -> bool:
    """Tell whether a pair of a unit has 120 ohm across it."""
    return str(part.values["terminator"]) in {"both pairs", "second pair" if pair else "first pair"}


def _plugged(part: Part, pin: str) -> Element:
    """Return the joint of a terminal; a crossed line goes to the other one's inside."""
    whole = joint(part, pin)
    crossed = part.has(CROSSED) and pin in PAIRS[0]
    return replace(whole, conductance=0.0, other=0.0) if crossed else whole


def _crossed(part: Part) -> list[Element]:
    """Return the ways from each line of the first pair to the other one's inside."""
    siemens = conductance(CONTACT_RESISTANCE) if part.has(CROSSED) else 0.0
    name, (_pair, high, low) = part.name, PAIRS[0]
    return [
        Element(f"{name} crossed {one}", f"{name}.{one}", f"{name}.{other}b", siemens, joint=True)
        for one, other in ((high, low), (low, high))
    ]


def _load(part: Part) -> Element:
    """Return what the unit takes beside its regulator, awake and asleep."""
    volts, name = part.number("voltage"), part.name
    awake = conductance(volts / part.number("awake"))
    amps = part.severity("high asleep current") or part.number("asleep")
    asleep = awake if part.has("never falls asleep") else conductance(volts / amps)
    dead = part.has("dead")
    return Element(
        f"{name} load",
        f"{name}.30b",
        f"{name}.31b",
        0.0 if dead else awake,
        other=0.0 if dead else asleep,
        trigger=Trigger.ASLEEP,
    )


def _pairs(part: Part) -> tuple[tuple[str, str, str], ...]:
    return PAIRS if part.values["type"] == "gateway" else PAIRS[:1]


def _pins(part: Part) -> tuple[str, ...]:
    return (*SUPPLY, *(pin for _label, *lines in _pairs(part) for pin in lines))


def _elements(part: Part, _temperature: float) -> tuple[Element, ...]:
    name = part.name
    identifier = read_identifier(str(part.values["identifier"]))
    motion = Motion(
        amplitude=dominant_share(identifier),
        frequency=1.0 / part.number("period"),
        phase=frame_bits(identifier) / part.number("bit rate"),
    )
    elements = [_plugged(part, pin) for pin in _pins(part)]
    elements += [*_crossed(part), _load(part)]
    ends = (f"{name}.30b", f"{name}.31b")
    elements += _power(part, name, ends, REGULATED)
    for label, high, low in _pairs(part):
        lines = (label, f"{name}.{high}b", f"{name}.{low}b")
        elements += _transceiver(part, name, ends[1], lines, motion)
        elements += _between(part, lines)
    return tuple(elements)


def _ways(part: Part) -> tuple[Way, ...]:
    found = [
        Way("dead", None, (), 0.5),
        Way("never falls asleep", None, (), 0.2),
        Way("high asleep current", None, (0.05,), 0.1, "current"),
        Way(CROSSED, None, (), 0.0),
        Way("H driver open", None, (), 0.1),
        Way("L driver open", None, (), 0.1),
    ]
    for pair, _high, _low in _pairs(part):
        label = "second pair " if pair else ""
        found += [
            Way(f"{label}stuck dominant", None, (), 0.3),
            Way(f"{label}never dominant", None, (), 0.3),
            Way(f"{label}H and L shorted", None, (), 0.3),
        ]
        if _terminated(part, pair):
            found.append(Way(f"{label}terminator open", None, (), 0.3))
    joints = [way for pin in _pins(part) for way in joint_ways(pin, likelihood=0.4)]
    return (*found, *joints)


def _socket_pins(_part: Part) -> tuple[str, ...]:
    return SOCKET_PINS


def _socket_elements(part: Part, _temperature: float) -> tuple[Element, ...]:
    """Return the joints, the scan tool's plug, and its transceiver behind it."""
    name, tester = part.name, f"{part.name} tester"
    plug = [
        Element(
            f"{tester} plug {pin}",
            f"{name}.{pin}b",
            f"{tester} {pin}",
            0.0,
            other=conductance(PLUGGED),
            trigger=Trigger.TESTER,
        )
        for pin in SOCKET_PINS
    ]
    minus, high, low, plus = (f"{tester} {pin}" for pin in SOCKET_PINS)
    return (
        *(joint(part, pin) for pin in SOCKET_PINS),
        *plug,
        *_power(part, tester, (plus, minus), REGULATED),
        *_transceiver(part, tester, minus, ("", high, low), STILL),
    )


def _socket_ways(_part: Part) -> tuple[Way, ...]:
    return tuple(way for pin in SOCKET_PINS for way in joint_ways(pin, likelihood=0.2))


_WORKS = {"works from": Parameter("voltage", 6.0)}  # ISO 16750-2 code A
UNIT = Family(
    "bus unit",
    {
        **_WORKS,
        "voltage": Parameter("voltage", 12.0),
        "awake": Parameter("current", 0.3),
        "asleep": Parameter("current", 0.002),
        "falls asleep after": Parameter("time", 0.0),
        "woken by": Parameter("text", ""),
        "serves": Parameter("text", ""),
        "listens to": Parameter("text", ""),
        "lost code": Parameter("text", ""),
        "generic": Parameter("flag", default=False),
        "identifier": Parameter("text", "280"),
        "period": Parameter("time", 0.02),
        "bit rate": Parameter("frequency", 500e3),
        "type": Parameter("text", "unit", ("unit", "gateway")),
        "terminator": Parameter("text", "none", TERMINATED),
    },
    _pins,
    _elements,
    _ways,
    separable=True,
    nominal_power=lambda part: part.number("voltage") * part.number("awake"),
    load="load",
)
SOCKET = Family(
    "diagnostic socket",
    _WORKS,
    _socket_pins,
    _socket_elements,
    _socket_ways,
    probing="open",
)
