"""Control unit: the electrics of a module's pins; what it decides is section `modules`.

Each pin is described in the circuit file in words::

    A3: {kind: control unit, at: cowl, pin 30: supply, pin 31: ground,
         pin 4: "input, pull-up 2.49 kohm", pin 5: "reference, up to 50 mA",
         pin 6: sensor ground,
         pin 9: "switches to ground, up to 2 A", pin 10: "switches to supply, 50 mohm, up to 10 A",
         pin 11: "switches to ground, up to 1 A, pull-up 10 kohm, pulsed at 200 Hz",
         pin 12: "switches to supply, up to 2 A, lamp test 1 ms every 100 ms", pin 13: LIN master,
         pin 14: "switches to ground, up to 3 A, pulsed at 20 Hz, clamp 65 V"}

- input: `INPUT` to the unit's ground; a pull-up leads to 5 V inside, or to the supply where it says
  ``pull-up … to supply``; ``pull-down`` leads to the unit's ground.
- sensor ground: the unit's own ground once more, for what must not share a wire with heavy loads.
- reference: 5 V behind 50 mohm that gives no more than it says, so that a short pulls it down; what
  a short to supply pushes into it, it does not take up.
- an output is a contact with the resistance of its transistor, behind a limiter of `HOLDS` times
  what it may carry. Above its limit the rules shut it down (see `sim.modules.loop`). Its pull-up is
  there whether it is on or not, so that a cut wire shows volts that carry nothing.
- clamp: across the transistor of an output lies a diode that conducts beyond so many volts and
  takes the kick of a coil as it is switched off, and its body diode conducts backwards (both as in
  `sim.parts.driver`); without one a coil kicks free.
- LIN master: a pull-up of 1 kohm to the supply and a transistor to ground that gives no more than
  `BUS_LIMIT`; see `sim.modules.bus`.
- supply: the unit takes `awake current` at 12 V, asleep `asleep current`; what its 5 V gives is not
  counted once more (milliamperes).

Whether the unit works, is awake and has an output on are states that its rules set; their contacts
carry the names ``A3 works``, ``A3 awake`` and ``A3 9`` and belong to no coil. All values are ours
unless given.
"""

from __future__ import annotations

from sim.circuit import Part
from sim.errors import QuantityError
from sim.modules.pins import (
    BUS,
    GROUND,
    INPUT_ROLE,
    OUTPUTS,
    REFERENCE,
    ROLES,
    SENSOR_GROUND,
    SUPPLY,
    TO_SUPPLY,
    PinWords,
    read_pin,
)
from sim.parts.driver import CLAMP, SILICON
from sim.parts.family import (
    Element,
    Family,
    FreeKeys,
    Law,
    Parameter,
    Ruled,
    Way,
    conductance,
    joint,
    joint_ways,
    own_side,
)
from sim.parts.relay import STUCK_CLOSED, STUCK_OPEN

BOND = 0.03  # ohm, from a sensor ground to the unit's own ground
INPUT = 1e6  # ohm, an input's own resistance
REFERENCE_VOLTS, REFERENCE_RESISTANCE = 5.0, 0.05
INSIDE_LIMIT = 0.1  # A, what pull-ups may take in all
SINKS = 0.001  # A that a 5 V source takes in
BEYOND = 1e-6  # S, slope of a source that gives all it can
MASTER_PULL_UP = 1e3  # ohm of a master (ISO 17987-4); its diode is left out
LEAK = 500.0  # ohm, a leaky transistor
HOLDS = 1.5  # of its limit, what an output gives into a short before it has shut down
NO_LIMIT = 1e6  # A, a transistor that is a short itself
WORKS, AWAKE = "works", "awake"
NOMINAL_VOLTS = 12.0
PREFIX = "pin "


def pins_of(part: Part) -> dict[str, PinWords]:
    """Return every pin of a control unit with what it does."""
    return {
        key.removeprefix(PREFIX): read_pin(str(value))
        for key, value in part.values.items()
        if key.startswith(PREFIX)
    }


def _pins(part: Part) -> tuple[str, ...]:
    return tuple(key.removeprefix(PREFIX) for key in part.values if key.startswith(PREFIX))


def _own(part: Part, pin: str) -> str:
    return own_side(part, pin, _pins(part))


def _one(part: Part, role: str) -> str:
    found = [pin for pin, words in pins_of(part).items() if words.role == role]
    if len(found) != 1:
        raise QuantityError(f"{part.name}: a control unit has one {role} pin, got {len(found)}")
    return _own(part, found[0])


def _elements(part: Part, _temperature: float) -> tuple[Element, ...]:
    name, plus, minus = part.name, _one(part, SUPPLY), _one(part, GROUND)
    pins = pins_of(part)
    awake = max(part.number("awake current") - part.number("asleep current"), 0.0)
    elements = [
        Element(f"{name} asleep load", plus, minus, part.number("asleep current") / NOMINAL_VOLTS),
        _contact(part, AWAKE, plus, minus, awake / NOMINAL_VOLTS),
    ]
    if any(words.pull_up and not words.to_supply for words in pins.values()):
        inside = f"{name} 5 V"
        elements += [
            _source(f"{name} regulator", inside, minus, INSIDE_LIMIT),
            _contact(part, WORKS, inside, f"{name} pull", conductance(0.1)),
        ]
    for pin, words in pins.items():
        own = _own(part, pin)
        elements.append(joint(part, pin, inner=own.removeprefix(f"{name}.{pin}")))
        elements += _pin_elements(part, pin, words, plus, minus)
    return tuple(elements)


def _pin_elements(part: Part, pin: str, words: PinWords, plus: str, minus: str) -> list[Element]:
    name, own = part.name, _own(part, pin)
    found = []
    if words.role == SENSOR_GROUND:
        found.append(Element(f"{name} {pin} bond", own, minus, conductance(BOND)))
    if words.role == INPUT_ROLE:
        found.append(Element(f"{name} {pin} input", own, minus, conductance(INPUT)))
    if words.pull_up:
        high = plus if words.to_supply else f"{name} pull"
        found.append(Element(f"{name} {pin} pull-up", high, own, conductance(words.pull_up)))
    if words.pull_down:
        found.append(Element(f"{name} {pin} pull-down", own, minus, conductance(words.pull_down)))
    if words.role == REFERENCE:
        source = f"{name} {pin} source"
        low = part.severity("reference low", pin)
        volts = REFERENCE_VOLTS if low is None else low
        found += [
            _source(f"{name} {pin} regulator", source, minus, words.limit, volts),
            _contact(part, AWAKE, source, own, conductance(REFERENCE_RESISTANCE), pin),
        ]
    if words.role == BUS:
        found.append(Element(f"{name} {pin} pull-up", plus, own, conductance(MASTER_PULL_UP)))
        found += _output(part, pin, words, own, minus)
    if words.role in OUTPUTS:
        found += _output(part, pin, words, own, plus if words.role == TO_SUPPLY else minus)
    return found


def _output(part: Part, pin: str, words: PinWords, own: str, far: str) -> list[Element]:
    name, middle = part.name, f"{part.name} {pin} transistor"
    stuck = STUCK_CLOSED if part.has("stuck on", pin) else 0.0
    if part.has("stuck off", pin) or (part.has("dead") and not stuck):
        stuck = STUCK_OPEN
    resistance = words.resistance + (part.severity("weak", pin) or 0.0)
    leak = conductance(LEAK) if part.has("leaky", pin) else 0.0
    most = NO_LIMIT if part.has("stuck on", pin) else HOLDS * words.limit
    return [
        Element(
            f"{name} {pin} guard",
            own,
            middle,
            conductance(words.resistance / 10),
            law=Law.LIMITER,
            shape=(most, most, BEYOND),
        ),
        Element(
            f"{name} {pin} output",
            middle,
            far,
            conductance(resistance),
            law=Law.CONTACT,
            shape=(0.0, stuck, 0.0),
            relay=f"{name} {pin}",
        ),
        Element(f"{name} {pin} leak", own, far, leak),
        *_clamp(name, pin, words, own, far),
    ]


def _clamp(name: str, pin: str, words: PinWords, own: str, far: str) -> list[Element]:
    """Return what takes a coil's kick across an output's transistor, if its pin has a clamp."""
    if not words.clamp:
        return []
    high, low = (far, own) if words.role == TO_SUPPLY else (own, far)
    return [
        Element(f"{name} {pin} clamp", high, low, 1.0, words.clamp, Law.DIODE, CLAMP),
        Element(f"{name} {pin} body diode", low, high, 1.0, law=Law.DIODE, shape=SILICON),
    ]


def _contact(part: Part, state: str, a: str, b: str, siemens: float, pin: str = "") -> Element:
    """Return a contact that is closed while the unit works, or is awake."""
    stuck = STUCK_OPEN if part.has("dead") else 0.0
    name = f"{part.name} {pin} {state}" if pin else f"{part.name} {state}"
    shape = (0.0, stuck, 0.0)
    return Element(name, a, b, siemens, law=Law.CONTACT, shape=shape, relay=f"{part.name} {state}")


def _source(
    name: str, plus: str, minus: str, limit: float, volts: float = REFERENCE_VOLTS
) -> Element:
    siemens = conductance(REFERENCE_RESISTANCE)
    return Element(name, plus, minus, siemens, volts, law=Law.LIMITER, shape=(limit, SINKS, BEYOND))


def _ways(part: Part) -> tuple[Way, ...]:
    ways = [Way("dead", None, (), 0.2)]
    for pin, words in pins_of(part).items():
        ways += joint_ways(pin, likelihood=0.3)
        if words.role in (*OUTPUTS, BUS):
            ways += [
                Way("stuck on", pin, (), 0.4),
                Way("stuck off", pin, (), 0.6),
                Way("leaky", pin, (), 0.0),
                Way("weak", pin, (2.0,), 0.0),
            ]
        if words.role == REFERENCE:
            ways.append(Way("reference low", pin, (3.2,), 0.2, "voltage"))
    return tuple(ways)


FAMILY = Family(
    "control unit",
    {
        "awake current": Parameter("current", 0.2),
        "asleep current": Parameter("current", 0.001),
    },
    _pins,
    _elements,
    _ways,
    separable=True,
    ruled=Ruled(pins_of),
    free=FreeKeys(PREFIX, read_pin, f"what pin N does: {', '.join(ROLES)}, then its values"),
)
