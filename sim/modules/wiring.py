"""Where the modules of a circuit sit in its network: nodes of their pins, contacts they drive.

A contact that belongs to no coil is driven by rules: ``A3 works`` is closed while the unit works,
``A3 awake`` while it is awake, ``A3 9`` while its output 9 is on. All of them are *outputs* here,
one column each in the arrays of `sim.modules.held`.
"""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np

from sim.circuit import Circuit, Part
from sim.modules.behaviour import Behaviour
from sim.modules.pins import PinWords
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


@dataclass(frozen=True, slots=True)
class Modules:
    """All modules of a circuit; `relays` (O,) are the relay numbers of what they drive."""

    units: tuple[Wired, ...]
    relays: Ints

    @classmethod
    def of(cls, network: Network, circuit: Circuit) -> Modules:
        """Find the modules of a circuit in its network."""
        units, relays = [], list[int]()
        for name, behaviour in circuit.modules.items():
            if name not in circuit.parts:
                continue
            driven = _driven(network, circuit.parts[name], behaviour)
            columns = np.arange(len(relays), len(relays) + len(driven))
            relays += [one.relay for one in driven]
            units.append(_wired(network, circuit.parts[name], behaviour, driven, columns))
        return cls(tuple(units), np.array(relays, dtype=np.int64))

    def unit(self, name: str) -> Wired:
        """Return one module."""
        return next(unit for unit in self.units if unit.behaviour.module == name)

    @property
    def driven(self) -> tuple[Driven, ...]:
        """Everything that is driven, column by column."""
        return tuple(one for unit in self.units for one in unit.driven)


def _wired(
    network: Network,
    part: Part,
    behaviour: Behaviour,
    driven: tuple[Driven, ...],
    columns: Ints,
) -> Wired:
    pins = FAMILIES[part.kind].pins(part)
    nodes = np.array([network.node(own_side(part, pin, pins)) for pin in pins], dtype=np.int64)
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
