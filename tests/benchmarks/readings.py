"""Every plain reading of a drawn circuit under every fault, from the batched solver, in bands.

The vehicle stands with everything switched on, as it is or with one connector, fuse or relay out;
and with everything off for ohms. In each: volts and test lamp from every point to the body, volts
across every part and wire, the current in every wire, what each load does, each relay's click;
dead: ohms to the body and across. Limits between bands are those of `grader.bands`, minutes those
of `sim.access`. A meter is there as what it is, a load of its own.
"""

from __future__ import annotations

import itertools
from collections.abc import Iterator, Sequence
from dataclasses import dataclass

import numpy as np

from grader.bands import NO_CURRENT, NORMAL_SHARE, OHM_LIMITS, VOLT_LIMITS
from sim.access import HANDLING, ProbePoint, lead_minutes, probe_points, wire_places
from sim.circuit import BODY, Circuit
from sim.instruments import lamp, multimeter
from sim.network import Configuration, configured, stack_rows
from sim.parts import FAMILIES
from sim.solver.pairs import Meter, all_pairs
from sim.solver.steady import Solution, Solver

METER = Meter(
    multimeter.INPUT_RESISTANCE,
    multimeter.TEST_VOLTAGE,
    multimeter.SERIES,
    multimeter.FULL_SCALE,
    multimeter.LEADS_ZEROED,
)


@dataclass(frozen=True)
class Raw:
    """One reading: minutes without the way, places, and a band's number for every variant."""

    name: str
    minutes: float
    places: tuple[str, ...]
    bands: np.ndarray


class Readings:
    """Readings on several variants of one circuit, the healthy one first."""

    def __init__(self, variants: Sequence[Circuit]) -> None:
        self.circuit = variants[0]
        self.solver = Solver.of(self.circuit)
        self.rows = stack_rows(variants)
        self.every = np.arange(len(variants))
        self.sound = self.powers(self.solved(on=True)[1])[0]

    def settings(self, *, on: bool) -> tuple[tuple[str, str], ...]:
        """Give every control in its working position, or at rest."""
        rest = {"key": "off"}
        work = {"key": "run"}
        return tuple(
            (name, (work if on else rest).get(name, "on" if on else "off"))
            for name in self.circuit.controls
        )

    def solved(self, *, on: bool, apart: str = "") -> tuple[np.ndarray, Solution]:
        """Solve all variants in a configuration."""
        how = Configuration(self.settings(on=on), (apart,) if apart else ())
        rows = configured(self.circuit, self.solver.network, self.rows, how)
        return rows, self.solver.solve(rows, self.solver.lanes(self.every))

    def powers(self, solution: Solution) -> np.ndarray:
        """Give the power of each load in W, one column a load."""
        power = []
        for effect in self.circuit.effects.values():
            mine = [
                e
                for e, element in enumerate(self.solver.network.elements)
                if element.name.partition(" ")[0] == effect.part and not element.joint
            ]
            power.append((solution.drop[:, mine] * solution.current[:, mine]).sum(axis=1))
        return np.array(power).T

    def shares(self, solution: Solution) -> np.ndarray:
        """Give the power of each load, as a share of what it has in the healthy vehicle."""
        return np.asarray(self.powers(solution) / self.sound)

    def all(self) -> Iterator[Raw]:
        """Take every reading."""
        yield from self._live("")
        for part in self.circuit.parts.values():
            if part.kind in {"connector", "blade fuse", "relay"}:
                yield from self._live(part.name)
        yield from self._dead()

    def _live(self, apart: str) -> Iterator[Raw]:
        rows, solution = self.solved(on=True, apart=apart)
        if (solution.status != 0).any():
            return
        extra, where, words = self._setup(apart)
        points = probe_points(self.circuit, (apart,) if apart else ())
        yield from self._pairs(rows, solution, points, (extra, where, words), ohms=False)
        yield from self._lamps(rows, points, (extra, where, words))
        yield from self._currents(solution, (extra, where, words))
        for number, effect in enumerate(self.circuit.effects.values()):
            bands = np.digitize(self.shares(solution)[:, number], (0.05, 0.6))
            there = (*where, self.circuit.parts[effect.part].at)
            yield _raw(f"watch {effect.part}{words}", HANDLING["watch"] + extra, there, bands)
        for number, relay in enumerate(self.solver.network.relay_names):
            minutes = HANDLING["listen"] + extra
            yield _raw(f"listen to {relay}{words}", minutes, where, solution.closed[:, number])

    def _dead(self) -> Iterator[Raw]:
        rows, solution = self.solved(on=False)
        points = probe_points(self.circuit, ())
        yield from self._pairs(rows, solution, points, (0.0, (), ", off"), ohms=True)

    def _setup(self, apart: str) -> tuple[float, tuple[str, ...], str]:
        """Give minutes, places and words of taking a part out and putting it back."""
        if not apart:
            return 0.0, (), ""
        part = self.circuit.parts[apart]
        out, back = ("pull", "insert") if FAMILIES[part.kind].removable else ("unplug", "plug")
        return HANDLING[out] + HANDLING[back], (part.at,), f", {apart} out"

    def _across(self, points: dict[str, ProbePoint]) -> Iterator[tuple[str, str]]:
        """Give the pairs of points on either side of one part or wire."""
        for part in self.circuit.parts.values():
            if part.kind == "wire":
                ends = [self.circuit.point(str(part.values[key])) for key in ("from", "to")]
            else:
                ends = [name for name in points if name.partition(".")[0] == part.name]
            yield from itertools.combinations([e for e in ends if e in points], 2)

    def _pairs(
        self,
        rows: np.ndarray,
        solution: Solution,
        points: dict[str, ProbePoint],
        setup: tuple[float, tuple[str, ...], str],
        *,
        ohms: bool,
    ) -> Iterator[Raw]:
        network = self.solver.network
        usable = {n: p for n, p in points.items() if n in network.nodes and n != BODY}
        nodes = np.array([0, *(network.node(name) for name in usable)])
        lanes = self.solver.lanes(self.every)
        read = all_pairs(self.solver, rows, lanes, solution, nodes, METER, ohms=ohms)
        column = {tuple(sorted(pair)): k for k, pair in enumerate(read.pairs.tolist())}
        wanted = [(BODY, name) for name in usable] + list(self._across(usable))
        for one, other in dict.fromkeys(wanted):
            pair = tuple(sorted((network.node(one), network.node(other))))
            if pair[0] == pair[1]:
                continue
            ends = [usable[name] for name in (one, other) if name in usable]
            minutes = sum(lead_minutes(end) for end in ends) + setup[0]
            places = (*setup[1], *(end.place for end in ends))
            kind = "ohms" if ohms else "volts"
            shown = (read.ohms if ohms else read.volts)[:, column[pair]]
            bands = np.digitize(np.abs(shown), OHM_LIMITS if ohms else VOLT_LIMITS)
            yield _raw(f"{kind} {one} to {other}{setup[2]}", minutes, places, bands)

    def _lamps(
        self,
        rows: np.ndarray,
        points: dict[str, ProbePoint],
        setup: tuple[float, tuple[str, ...], str],
    ) -> Iterator[Raw]:
        network = self.solver.network
        usable = [p for n, p in points.items() if n in network.nodes and n != BODY]
        lanes = self.solver.lanes(np.tile(self.every, len(usable)))
        lanes.instruments[:, 1] = (1.0, 0.0, *lamp.SHAPE)
        lanes.attached[:, 0] = np.repeat([network.node(p.name) for p in usable], self.every.size)
        lanes.attached[:, 1] = 0
        solution = self.solver.solve(rows, lanes)
        power = (solution.drop[:, -3] * solution.current[:, -3]).reshape(len(usable), -1)
        solved = (solution.status == 0).reshape(len(usable), -1).all(axis=1)
        for index in np.flatnonzero(solved):
            point = usable[index]
            bands = np.digitize(power[index] / lamp.POWER, (lamp.DARK, lamp.BRIGHT))
            minutes, places = lead_minutes(point) + setup[0], (*setup[1], point.place)
            yield _raw(f"lamp at {point.name}{setup[2]}", minutes, places, bands)

    def _currents(
        self, solution: Solution, setup: tuple[float, tuple[str, ...], str]
    ) -> Iterator[Raw]:
        for part in self.circuit.parts.values():
            if part.kind != "wire":
                continue
            number = self.solver.network.element(f"{part.name} first half")
            amperes = np.abs(solution.current[:, number])
            normal = max(NORMAL_SHARE * amperes[0], NO_CURRENT)
            for place in wire_places(self.circuit, part.name):
                minutes, places = HANDLING["clamp"] + setup[0], (*setup[1], place)
                bands = np.digitize(amperes, (NO_CURRENT, normal))
                yield _raw(f"clamp {part.name} at {place}{setup[2]}", minutes, places, bands)


def _raw(name: str, minutes: float, places: tuple[str, ...], bands: np.ndarray) -> Raw:
    return Raw(name, minutes, tuple(dict.fromkeys(p for p in places if p)), bands)
