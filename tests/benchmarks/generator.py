"""Policy problems from random vehicle circuits: published, from a seed, electrically solved.

``generate(seed, size)`` draws a circuit (`vehicles`), solves every fault in it, and keeps as
suspects those with which some load has less than 60 % of its power (the complaint: something there
does not work). Every plain reading (`readings`) becomes a test, its bands the outcomes; of readings
that split alike at the same places the cheapest is kept. Circuits grow until there are enough of
both, then suspects and tests are drawn from them. The same seed gives the same problem on one
platform; `python -m tests.benchmarks.generator SEED SUSPECTS TESTS PLACES` prints it as JSON.

Likelihoods are the families' own times exp(normal(0, 1)); a unit is one part (its terminals and
its inside are mended separately) and takes 8 to 400 minutes when it is not the cause, evenly in the
logarithm, like a strip of metal and like a window; half of the units are mended where they lie. All
of it ours, no source.
"""

from __future__ import annotations

import itertools
import json
import math
import random
import sys
import tempfile
from dataclasses import dataclass
from pathlib import Path

import numpy as np

from grader.problem import Place, Problem, Suspect, Test, Unit
from sim.circuit import Circuit, Fault
from sim.circuitfile import read_circuit
from sim.faults import possible_faults, with_faults, write_faults
from tests.benchmarks.readings import Raw, Readings
from tests.benchmarks.vehicles import random_circuit

DULL = 0.6  # share of its power below which a load does not work


@dataclass(frozen=True)
class Size:
    """How large a problem is wanted; `pairs` for two faults at once."""

    suspects: int
    tests: int
    places: int
    pairs: bool = False


@dataclass(frozen=True)
class Cause:
    """One suspect before it is written down: faults, likelihood."""

    faults: tuple[Fault, ...]
    weight: float


def generate(seed: int, size: Size) -> Problem:
    """Give the problem of a seed."""
    for groups, longest in itertools.product(range(1 + size.suspects // 70, 20), (2, 3, 4)):
        circuit = _read(random_circuit(seed, groups, longest, size.places))
        rng = random.Random(seed)  # noqa: S311
        causes = _causes(circuit, rng, size)
        if causes is None:
            continue
        tests = _distinct(_readings(circuit, causes))
        if len(tests) >= size.tests:
            chosen = sorted(rng.sample(range(len(tests)), size.tests))
            return _problem(circuit, rng, causes, [tests[k] for k in chosen])
    raise AssertionError(f"no circuit of seed {seed} has {size.suspects} suspects")


def _read(text: str) -> Circuit:
    with tempfile.TemporaryDirectory() as folder:
        file = Path(folder) / "drawn.circuit.yaml"
        file.write_text(text, encoding="utf-8")
        return read_circuit(file)


def _causes(circuit: Circuit, rng: random.Random, size: Size) -> list[Cause] | None:
    """Draw the suspects among the faults with which something does not work."""
    if not works(circuit):
        return None
    single = [Cause(f, w * math.exp(rng.gauss(0.0, 1.0))) for f, w in possible_faults(circuit)]
    if size.pairs:
        single = _complaining(circuit, single)
        if len(single) < size.suspects:
            return None
        single = rng.sample(single, size.suspects)
        return single + _complaining(circuit, _pairs(single))
    shown = _complaining(circuit, single)
    return rng.sample(shown, size.suspects) if len(shown) >= size.suspects else None


def works(circuit: Circuit) -> bool:
    """Tell whether every load of the healthy vehicle has its power: no fuse drawn too small."""
    readings = Readings([circuit])
    _, solution = readings.solved(on=True)
    return bool(solution.status[0] == 0 and (readings.powers(solution) > 1.0).all())


def _pairs(single: list[Cause]) -> list[Cause]:
    """Give every two faults of different points at once, each as likely as both by chance."""
    whole = sum(cause.weight for cause in single) * 10.0  # one vehicle in ten has any: ours
    return [
        Cause(one.faults + other.faults, one.weight * other.weight / whole)
        for one, other in itertools.combinations(single, 2)
        if one.faults[0].point != other.faults[0].point
    ]


def _complaining(circuit: Circuit, causes: list[Cause]) -> list[Cause]:
    variants = [circuit, *(with_faults(circuit, cause.faults) for cause in causes)]
    readings = Readings(variants)
    _, solution = readings.solved(on=True)
    dull = (readings.shares(solution) < DULL).any(axis=1) & (solution.status == 0)
    return [cause for cause, bad in zip(causes, dull[1:], strict=True) if bad]


def _readings(circuit: Circuit, causes: list[Cause]) -> list[Raw]:
    variants = [circuit, *(with_faults(circuit, cause.faults) for cause in causes)]
    return list(Readings(variants).all())


def _distinct(readings: list[Raw]) -> list[Raw]:
    """Keep the cheapest of the readings that split alike at the same places, and that split."""
    best: dict[tuple[bytes, frozenset[str]], Raw] = {}
    for raw in readings:
        _, number = np.unique(raw.bands[1:], return_inverse=True)
        first: dict[int, int] = {}
        canonical = bytes(first.setdefault(int(n), len(first)) for n in number)
        if len(first) > 1:
            key = (canonical, frozenset(raw.places))
            if key not in best or raw.minutes < best[key].minutes:
                best[key] = raw
    return list(best.values())


def _unit_name(cause: Cause) -> str:
    return " and ".join(sorted({f"{f.part}.{f.pin}" if f.pin else f.part for f in cause.faults}))


def _problem(
    circuit: Circuit, rng: random.Random, causes: list[Cause], tests: list[Raw]
) -> Problem:
    price: dict[str, float] = {}
    home: dict[str, tuple[str, ...]] = {}
    units: dict[str, Unit] = {}
    for cause in causes:
        for fault in cause.faults:
            name = _unit_name(Cause((fault,), 1.0))
            if name not in price:
                price[name] = round(math.exp(rng.uniform(math.log(8.0), math.log(400.0))), 1)
                at = circuit.parts[fault.part].at
                home[name] = (at,) if at and rng.random() < 0.5 else ()
        name = _unit_name(cause)
        parts = sorted({_unit_name(Cause((fault,), 1.0)) for fault in cause.faults})
        there = tuple(dict.fromkeys(place for part in parts for place in home[part]))
        units[name] = Unit(name, sum(price[part] for part in parts), there)
    return Problem(
        suspects=tuple(
            Suspect(write_faults(circuit, c.faults), c.weight, _unit_name(c)) for c in causes
        ),
        tests=tuple(
            Test(f"{k}: {raw.name}", raw.minutes, tuple(map(str, raw.bands[1:])), raw.places)
            for k, raw in enumerate(tests)
        ),
        places=tuple(
            Place(p.name, p.reach_minutes, p.again_minutes) for p in circuit.places.values()
        ),
        units=tuple(units.values()),
    )


def as_json(problem: Problem) -> dict[str, object]:
    """Write a problem in the format that `grader.problem.read_problem` reads."""
    return {
        "format": "policy-problem",
        "version": 1,
        "suspects": [
            {"name": s.name, "likelihood": s.weight} | ({"unit": s.unit} if s.unit else {})
            for s in problem.suspects
        ],
        "tests": [
            {"name": t.name, "minutes": t.minutes, "outcomes": t.outcomes, "places": t.places}
            for t in problem.tests
        ],
        "places": [
            {"name": p.name, "minutes": p.minutes, "again": p.again} for p in problem.places
        ],
        "units": [
            {"name": u.name, "minutes": u.minutes, "places": u.places} for u in problem.units
        ],
    }


if __name__ == "__main__":
    asked = [int(word) for word in sys.argv[1:5]]
    print(json.dumps(as_json(generate(asked[0], Size(*asked[1:])))))  # noqa: T201
