"""How warm each part is by the clock: joints and loads warm up, cool down, and stay browned.

Each part has two warmths, both a rise above ambient in K: that of its contacts, after the watts
lost in them (`sim.parts.heat`), and, if it is a load, that of the work it does,
``dT = dT0 p^0.8`` with p its heat as a share of that at nominal power (`sim.effects.heating_share`;
the exponent is that of free convection, where the heat carried off grows as dT^(5/4), from memory);
dT0 is 60 K, ours. Both approach their steady value exponentially, ``dT' = (dT_steady - dT) / tau``,
with tau a minute for contacts and 20 s for loads, a third of the minute after which a hand can tell
(ours). What is switched off is warm for a while; what has been hot enough to brown stays so.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass, replace

import numpy as np

from sim.circuit import Circuit
from sim.effects import HEATING_SECONDS, heating_share, is_contact, is_load, nominal_power
from sim.network import Floats, Ints, Network, owner_of
from sim.parts import FAMILIES
from sim.parts.heat import EXPONENT, LOSS, TIME_CONSTANT
from sim.situation import Memory
from sim.solver.steady import Solution

LOAD_RISE = 60.0  # K at nominal power
LOAD_SECONDS = HEATING_SECONDS / 3.0


@dataclass(frozen=True, slots=True)
class Warmth:
    """What of a vehicle gets warm.

    Attributes
    ----------
    parts : tuple of str (P,)
    contacts : int array (C,)
        Numbers of the elements that are contacts, part by part.
    firsts : int array (Q,)
        Where in `contacts` those of each part that has any begin.
    owners : int array (Q,)
        Which parts these are, as numbers among the parts.
    loads : tuple of (number among the parts, circuit's part)
    """

    network: Network
    circuit: Circuit
    parts: tuple[str, ...]
    contacts: Ints
    firsts: Ints
    owners: Ints
    loads: tuple[int, ...]

    @classmethod
    def of(cls, network: Network, circuits: Sequence[Circuit]) -> Warmth:
        """Find the contacts and the loads of a circuit."""
        circuit = circuits[0]
        parts = tuple(circuit.parts)
        places = {name: number for number, name in enumerate(parts)}
        owned: list[tuple[int, int]] = []
        for number, element in enumerate(network.elements):
            owner = owner_of(element)
            if owner not in places:
                continue
            busy = bool(FAMILIES[circuit.parts[owner].kind].load)
            if element.joint if busy else is_contact(element):
                owned.append((places[owner], number))
        by_part = np.array(sorted(owned), dtype=np.int64).reshape(-1, 2)
        owners, firsts = np.unique(by_part[:, 0], return_index=True)
        loads = tuple(n for n, name in enumerate(parts) if is_load(circuit.parts[name]))
        return cls(network, circuit, parts, by_part[:, 1], firsts, owners, loads)

    def cold(self, count: int) -> Floats:
        """Return the rise (V, P + L) of vehicles that have stood."""
        return np.zeros((count, len(self.parts) + len(self.loads)))

    def steady(self, solution: Solution) -> Floats:
        """Return the rise (V, P + L) in K that things as they stand would bring."""
        watts = np.zeros((len(solution.drop), len(self.parts)))
        if self.owners.size:  # part by part; a product of matrices wakes threads, 8 ms a call
            lost = np.abs(solution.drop[:, self.contacts] * solution.current[:, self.contacts])
            watts[:, self.owners] = np.add.reduceat(lost, self.firsts, axis=1)
        joints: Floats = (watts / LOSS) ** (1.0 / EXPONENT)
        shares = [self._share(solution, number) for number in self.loads]
        if not shares:
            return joints
        works = LOAD_RISE * np.stack(shares, axis=1) ** (1.0 / EXPONENT)
        return np.concatenate((joints, works), axis=1)

    def _share(self, solution: Solution, number: int) -> Floats:
        name = self.parts[number]
        nominal = nominal_power(self.circuit.parts[name])
        share: Floats = np.maximum(
            heating_share(self.circuit, self.network, solution, name, nominal), 0.0
        )
        return share

    def after(self, memory: Memory, solution: Solution, seconds: float) -> Memory:
        """Return the memory after things have stood like this for a while."""
        steady = self.steady(solution)
        risen, hottest = self.moved(memory.risen, memory.hottest, steady, seconds)
        return replace(memory, risen=risen, hottest=hottest)

    def moved(
        self, risen: Floats, hottest: Floats, steady: Floats, seconds: float | Floats
    ) -> tuple[Floats, Floats]:
        """Return rises (n, P + L) and the highest (n, P) after a while, or one (n, 1) a lane."""
        tau = np.full(risen.shape[1], LOAD_SECONDS)
        tau[: len(self.parts)] = TIME_CONSTANT
        risen = steady + (risen - steady) * np.exp(-seconds / tau)
        return risen, np.maximum(hottest, risen[:, : len(self.parts)])

    def joint(self, memory: Memory, name: str) -> Floats:
        """Return how far (V,) a part's contacts are above ambient, in K."""
        rise: Floats = memory.risen[:, self.parts.index(name)]
        return rise

    def load(self, memory: Memory, name: str) -> Floats:
        """Return how far (V,) a load is above ambient, in K."""
        number = self.loads.index(self.parts.index(name))
        rise: Floats = memory.risen[:, len(self.parts) + number]
        return rise

    def works_at(self, memory: Memory, name: str) -> Floats:
        """Return the share (V,) of its nominal heat that a load feels like."""
        share: Floats = (self.load(memory, name) / LOAD_RISE) ** EXPONENT
        return share
