"""Small random policy problems, larger circuit-like ones, and brute force that shares no code.

The brute force is plain recursion over frozen sets: every action of every state is tried.
"""

import functools
import itertools
import math
import random
from collections.abc import Callable
from dataclasses import dataclass

import pytest

from grader.problem import Place, Problem, Suspect, Test, Unit

Names = frozenset[str]
State = tuple[frozenset[int], Names, Names]


class BruteForce:
    """Least expected minutes by trying everything; sums are minutes times weight.

    Parameters
    ----------
    problem
        A small one.
    idle
        Whether tests that separate nothing may be taken too, one at a time: they move the hands.
    """

    def __init__(self, problem: Problem, *, idle: bool = False) -> None:
        self.problem = problem
        self.idle = idle
        self.places = {place.name: place for place in problem.places}
        homes = {unit.name: unit.places for unit in problem.units}
        self.homes = [homes.get(suspect.unit, ()) for suspect in problem.suspects]
        self.least = functools.cache(self._least)

    def weight(self, left: frozenset[int]) -> float:
        return math.fsum(self.problem.suspects[s].weight for s in left)

    def done(self, left: frozenset[int]) -> bool:
        if self.problem.units:
            return len({self.problem.suspects[s].unit for s in left}) == 1
        return all(len({test.outcomes[s] for s in left}) == 1 for test in self.problem.tests)

    def price(self, test: Test, state: State) -> float:
        """Minutes times weight; where the unit is mended at a place the first way there is free."""
        left, opened, here = state
        cost = test.minutes * self.weight(left)
        for name in test.places:
            if name in here:
                continue
            away = frozenset(s for s in left if name in opened or name not in self.homes[s])
            place = self.places[name]
            cost += (place.again if name in opened else place.minutes) * self.weight(away)
        return cost

    def after_test(self, test: Test, state: State) -> tuple[float, list[State]]:
        left, opened, here = state
        groups: dict[str, set[int]] = {}
        for s in left:
            groups.setdefault(test.outcomes[s], set()).add(s)
        touched = frozenset(test.places)
        cost = self.price(test, state)
        return cost, [
            (frozenset(group), opened | touched, touched or here) for group in groups.values()
        ]

    def after_replacing(self, unit: Unit, state: State) -> tuple[float, list[State]]:
        left, opened, here = state
        wrong = frozenset(s for s in left if self.problem.suspects[s].unit != unit.name)
        cost = unit.minutes * self.weight(wrong)
        return cost, [(wrong, opened, here)] if wrong else []

    def quality(self, after: tuple[float, list[State]]) -> float:
        return after[0] + sum(self.least(state, rested=len(after[1]) > 1) for state in after[1])

    def _least(self, state: State, *, rested: bool = True) -> float:
        if self.done(state[0]):
            return 0.0
        best = math.inf
        for test in self.problem.tests:
            after = self.after_test(test, state)
            if len(after[1]) > 1 or (self.idle and rested):
                best = min(best, self.quality(after))
        for unit in self.problem.units:
            cost, states = self.after_replacing(unit, state)
            if [left for left, _, _ in states] != [state[0]]:
                best = min(best, cost + sum(self.least(state) for state in states))
        return best


def small_problem(seed: int) -> Problem:
    """Draw a problem small enough for brute force; all forms in turn.

    Plain, with places, with units, with both; coming back free or not; equal and unequal weights;
    two to four outcomes; tests at up to three places.
    """
    rng = random.Random(seed)  # noqa: S311
    suspects = rng.randint(2, 7)
    places = tuple(
        Place(f"place {g}", rng.choice([0.0, 0.5, 1.0, 3.0, 7.5]))
        for g in range(rng.choice([1, 2, 3]) if seed % 2 else 0)
    )
    if rng.random() < 0.7:
        shares = [0.0, 1.0, 0.5, rng.random()]
        places = tuple(Place(p.name, p.minutes, p.minutes * rng.choice(shares)) for p in places)
    home = rng.choice([0.0, 0.3, 0.7])
    units = tuple(
        Unit(
            f"unit {u}",
            rng.choice([0.5, 2.0, 10.0, 50.0, rng.uniform(0, 9)]),
            tuple(p.name for p in places if rng.random() < home),
        )
        for u in range(rng.randint(1, 6) if seed % 4 > 1 else 0)
    )
    weights = [1.0] if rng.random() < 0.3 else [1.0, rng.random() + 0.01, rng.random() ** 4 + 1e-3]
    labels = "01" if rng.random() < 0.5 else "0123"
    return Problem(
        suspects=tuple(
            Suspect(f"s{i}", rng.choice(weights), rng.choice(units).name if units else None)
            for i in range(suspects)
        ),
        tests=tuple(
            Test(
                f"t{t}",
                rng.choice([0.0, 0.2, 1.0, 1.0, rng.uniform(0.1, 3.0)]),
                tuple(rng.choice(labels) for _ in range(suspects)),
                tuple(
                    p.name
                    for p in rng.sample(places, min(len(places), rng.choice([0, 1, 1, 2, 3])))
                ),
            )
            for t in range(rng.randint(0 if units else 1, 10))
        ),
        places=places,
        units=units,
    )


@dataclass(frozen=True)
class Joint:
    """One joint of a current path and what has become of it, in ohms."""

    path: int
    number: int
    ohms: float


class VehicleCircuit:
    """Two current paths like a relay circuit; readings follow from a chain of resistors.

    The first path feeds a load through a relay contact, the second is the relay's coil. Every
    joint may be open or have a high resistance. Points lie at places along the path, one after the
    other. Probes are volts to ground, a test lamp and the drop across one to three joints, each
    with everything plugged or with one joint unplugged, so that a probe splits what lies before it
    from what lies behind it.

    Parameters
    ----------
    rng
        Source of everything drawn.
    joints
        Joints of either path.
    places
        How many places there are.
    """

    OPEN = 1e9  # ohm
    SUPPLY = 12.0  # V
    LOAD = 10.0  # ohm
    GOOD = 0.02  # ohm

    def __init__(self, rng: random.Random, joints: tuple[int, int], places: int) -> None:
        self.rng = rng
        self.joints = joints
        self.load = [n // 2 + rng.randrange(n // 4 + 1) for n in joints]
        self.contact = rng.randrange(1, joints[0] // 2)
        self.places = places
        self.place_of = {}
        for path, n in enumerate(joints):
            cuts = sorted(rng.sample(range(1, n), min(n - 1, places - 1)))
            for point in range(n + 1):
                self.place_of[path, point] = (sum(c <= point for c in cuts) + 2 * path) % places
        self.faults = [
            Joint(path, number, ohms)
            for path, n in enumerate(joints)
            for number in range(n)
            for ohms in (
                [self.OPEN, rng.uniform(4.0, 20.0)] if rng.random() < 0.75 else [self.OPEN]
            )
        ]

    def levels(self, path: int, fault: Joint, unplugged: Joint | None) -> list[float | None]:
        """Give the voltage at every point of a path, None where it floats."""
        chain = [self.GOOD] * self.joints[path]
        chain[self.load[path]] = self.LOAD
        if path == 0 and fault.path == 1 and fault.ohms > 12.0:
            chain[self.contact] = self.OPEN  # the relay does not pull in
        for joint in (fault, unplugged):
            if joint and joint.path == path:
                chain[joint.number] += joint.ohms
        opens = [number for number, ohms in enumerate(chain) if ohms >= self.OPEN]
        if not opens:
            before = itertools.accumulate(chain, initial=0.0)
            return [self.SUPPLY * (1.0 - ohms / sum(chain)) for ohms in before]
        first, last = opens[0], opens[-1]
        return [
            self.SUPPLY if point <= first else 0.0 if point > last else None
            for point in range(len(chain) + 1)
        ]

    def probes(self) -> list[Test]:
        """List the tests; many split the suspects alike."""
        found = []
        everything = [Joint(p, j, self.OPEN) for p, n in enumerate(self.joints) for j in range(n)]
        plugs = [None, *(j for j in everything if self.rng.random() < 0.5)]
        for path, n in enumerate(self.joints):
            for plug in plugs:
                if plug and plug.path < path:
                    continue
                shown = [self.levels(path, fault, plug) for fault in self.faults]
                where = f"path {path}" + (f", unplugged {plug.path}.{plug.number}" if plug else "")
                away = {self.place_of[plug.path, plug.number]} if plug else set()
                for point in range(n + 1):
                    volts = tuple(band(levels[point]) for levels in shown)
                    lamp = tuple("lit" if label == "supply" else "dark" for label in volts)
                    there = away | {self.place_of[path, point]}
                    found.append(self.probe(f"volts at {point}, {where}", plug, volts, there))
                    found.append(self.probe(f"lamp at {point}, {where}", plug, lamp, there))
                    for other in range(point + 1, min(n + 1, point + 4)):
                        drop = tuple(
                            band(
                                None
                                if None in (levels[point], levels[other])
                                else levels[point] - levels[other]
                            )
                            for levels in shown
                        )
                        both = there | {self.place_of[path, other]}
                        name = f"drop {point} to {other}, {where}"
                        found.append(self.probe(name, plug, drop, both))
        return found

    def probe(
        self, name: str, plug: Joint | None, outcomes: tuple[str, ...], places: set[int]
    ) -> Test:
        minutes = self.rng.choice([0.2, 0.3, 0.5]) + (0.4 if plug else 0.0)
        return Test(name, minutes, outcomes, tuple(f"place {g}" for g in sorted(places)))

    def units(self) -> list[int]:
        """Group neighbouring joints into units; give the unit of each fault."""
        number, left, of_joint = -1, 0, {}
        for fault in self.faults:
            if (fault.path, fault.number) not in of_joint:
                if left == 0:
                    number, left = number + 1, self.rng.choice([1, 1, 2, 3])
                of_joint[fault.path, fault.number] = number
                left -= 1
        return [of_joint[fault.path, fault.number] for fault in self.faults]


def band(volts: float | None) -> str:
    """Name what a meter shows as a person would."""
    if volts is None:
        return "floating"
    return "nothing" if volts < 1.0 else "supply" if volts > 11.0 else "part"


def circuit_problem(
    seed: int, joints: tuple[int, int] = (10, 8), places: int = 5, *, again: bool = True
) -> Problem:
    """Make a policy problem of a `VehicleCircuit`."""
    rng = random.Random(seed)  # noqa: S311
    circuit = VehicleCircuit(rng, joints, places)
    reach = [round(rng.uniform(0.5, 9.0), 1) for _ in range(places)]
    back = [min(minutes, round(rng.uniform(0.5, 1.0), 1)) if again else 0.0 for minutes in reach]
    units = circuit.units()
    telling = [test for test in circuit.probes() if len(set(test.outcomes)) > 1]
    return Problem(
        suspects=tuple(
            Suspect(
                f"{fault.path}.{fault.number}={'open' if fault.ohms >= circuit.OPEN else 'high'}",
                math.exp(rng.gauss(0.0, 1.0)),
                f"unit {unit}",
            )
            for fault, unit in zip(circuit.faults, units, strict=True)
        ),
        tests=tuple(telling),
        places=tuple(Place(f"place {g}", reach[g], back[g]) for g in range(places)),
        units=tuple(
            Unit(f"unit {u}", round(math.exp(rng.uniform(math.log(8.0), math.log(400.0))), 1))
            for u in range(max(units) + 1)
        ),
    )


@pytest.fixture(scope="session")
def brute_force() -> type[BruteForce]:
    return BruteForce


@pytest.fixture(scope="session")
def draw_small_problem() -> Callable[[int], Problem]:
    return small_problem


@pytest.fixture(scope="session")
def make_circuit_problem() -> Callable[..., Problem]:
    return circuit_problem
