"""Where the modules of a circuit sit in its network: nodes of their pins, contacts they drive.

A contact that belongs to no coil is driven by rules: ``A3 works`` is closed while the unit works,
``A3 awake`` while it is awake, ``A3 9`` while its output 9 is on. All of them are *outputs* here,
one column each in the arrays of `sim.modules.held`.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass, field, replace

import numpy as np

from sim.circuit import Circuit, Part
from sim.modules.behaviour import Behaviour, Counted, Received
from sim.modules.counting import Counter, sensor_elements
from sim.modules.pins import TARGET, PinWords
from sim.network import Ints, Network
from sim.parts import FAMILIES
from sim.parts.controlunit import AWAKE, WORKS
from sim.parts.family import Law, own_side
from sim.parts.relay import STUCK_OPEN


@dataclass(frozen=True, slots=True)
class Driven:
    """One contact driven by rules.

    Attributes
    ----------
    pin : str
        The pin it switches; `works` or `awake` for the unit's own state.
    relay : int
        Its number among the network's relays.
    elements : tuple of int
        Its contacts in the network.
    follows : str
        Decision or level; empty for the unit's own state and for an output that nothing drives.
    words : PinWords or None
        What the pin can do; None for the unit's own state.
    """

    pin: str
    relay: int
    elements: tuple[int, ...]
    follows: str
    inverted: bool
    words: PinWords | None

    @property
    def source(self) -> bool:
        """Tell whether it is a source whose voltage rules set, and no contact."""
        return self.words is not None and self.words.role == TARGET


@dataclass(frozen=True, slots=True)
class Heard:
    """What a module receives by one wire: its input, node, and which level of which module.

    `unit` is the sender's number among the modules, `column` that of its bus pin; -1 for a sender
    that is not there.
    """

    name: str
    node: int
    unit: int
    column: int
    level: str


@dataclass(frozen=True, slots=True)
class Wired:
    """One module in the network: its rules, the nodes of its pins, the contacts it drives.

    `columns` are the numbers of its contacts among those of all modules; `heart` is the contact
    that no fault opens but "dead".
    """

    behaviour: Behaviour
    pins: tuple[str, ...]
    nodes: Ints
    driven: tuple[Driven, ...]
    columns: Ints
    heart: int
    hears: tuple[Heard, ...] = ()


@dataclass(frozen=True, slots=True)
class Modules:
    """All modules of a circuit.

    `contacts` (C,) are the columns of what is a contact, `relays` (C,) their relay numbers;
    `sensors` (S,) the elements of sensors that turn, where an input counts edges.
    """

    units: tuple[Wired, ...]
    contacts: Ints
    relays: Ints
    counters: tuple[Counter, ...] = ()
    sensors: Ints = field(default_factory=lambda: np.zeros(0, dtype=np.int64))

    @classmethod
    def of(cls, network: Network, circuit: Circuit) -> Modules:
        """Find the modules of a circuit in its network."""
        units, every = list[Wired](), list[Driven]()
        for name, behaviour in circuit.modules.items():
            if name not in circuit.parts:
                continue
            driven = _driven(network, circuit.parts[name], behaviour)
            columns = np.arange(len(every), len(every) + len(driven))
            every += driven
            units.append(_wired(network, circuit.parts[name], behaviour, driven, columns))
        contacts = [column for column, one in enumerate(every) if not one.source]
        relays = [every[column].relay for column in contacts]
        heard = tuple(replace(unit, hears=_heard(unit, units)) for unit in units)
        counters = _counters(units)
        sensors = sensor_elements(network, circuit) if counters else np.zeros(0, np.int64)
        numbers = (np.array(contacts, np.int64), np.array(relays, np.int64))
        return cls(heard, *numbers, counters, sensors)

    def unit(self, name: str) -> Wired:
        """Return one module."""
        return next(unit for unit in self.units if unit.behaviour.module == name)

    @property
    def driven(self) -> tuple[Driven, ...]:
        """Everything that is driven, column by column."""
        return tuple(one for unit in self.units for one in unit.driven)


def _counters(units: Sequence[Wired]) -> tuple[Counter, ...]:
    """Find the inputs that count edges, module by module."""
    found = []
    for number, unit in enumerate(units):
        nodes = dict(zip(unit.pins, unit.nodes.tolist(), strict=True))
        ends = nodes[unit.behaviour.ground], nodes[unit.behaviour.supply]
        found += [
            Counter(number, item, nodes[item.pin], *ends)
            for item in unit.behaviour.inputs
            if isinstance(item, Counted)
        ]
    return tuple(found)


def _heard(unit: Wired, units: Sequence[Wired]) -> tuple[Heard, ...]:
    """Find out what the inputs of a module that come by a bus come from."""
    names, found = [one.behaviour.module for one in units], []
    for item in unit.behaviour.inputs:
        if not isinstance(item, Received):
            continue
        node = int(unit.nodes[unit.pins.index(item.pin)])
        number = names.index(item.sender) if item.sender in names else -1
        sends = [
            (int(column), one.follows)
            for column, one in zip(units[number].columns, units[number].driven, strict=True)
            if number >= 0 and one.pin == item.sender_pin and one.follows
        ]
        column, level = sends[0] if sends else (-1, "")
        found.append(Heard(item.name, node, number if sends else -1, column, level))
    return tuple(found)


def _wired(
    network: Network,
    part: Part,
    behaviour: Behaviour,
    driven: tuple[Driven, ...],
    columns: Ints,
) -> Wired:
    pins = FAMILIES[part.kind].pins(part)
    ruled = FAMILIES[part.kind].ruled
    inside = {pin: f"{part.name} {word}" for pin, word in ruled.sees.items()} if ruled else {}
    points = [inside.get(pin, own_side(part, pin, pins)) for pin in pins]
    nodes = np.array([network.node(point) for point in points], dtype=np.int64)
    heart = next(one for one in driven if one.pin == AWAKE).elements[0]
    return Wired(behaviour, pins, nodes, driven, columns, heart)


def _driven(network: Network, part: Part, behaviour: Behaviour) -> tuple[Driven, ...]:
    """Find the contacts of a part that rules drive."""
    ruled = FAMILIES[part.kind].ruled
    words = ruled.pins(part) if ruled else {}
    follows = {output.pin: output for output in behaviour.outputs}
    found = []
    for number, relay in enumerate(network.relay_names):
        mine = [n for n, e in enumerate(network.elements) if e.relay == relay]
        owner, _, pin = relay.partition(" ")
        if owner != part.name or any(network.laws[n] == Law.COIL for n in mine):
            continue
        output = follows.get(pin)
        own = pin in (WORKS, AWAKE) and output is None
        found.append(
            Driven(
                pin,
                number,
                tuple(mine),
                output.follows if output else "",
                bool(output and output.inverted),
                None if own else words.get(pin),
            )
        )
    return tuple(found)


def dead(rows: np.ndarray, unit: Wired) -> np.ndarray:
    """Return which variants (V,) have a module that is dead inside, by their rows as they are."""
    found: np.ndarray = rows[:, unit.heart, 3] == STUCK_OPEN
    return found
