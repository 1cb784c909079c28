"""Random vehicle circuits in the circuit file's own words, from a seed.

A battery feeds groups of loads. A group has a fuse, a relay whose coil runs over a switch of its
own, a run of connectors and wires, and behind it one to three loads that part in a splice, each
with its ground stud. Heavier groups have longer runs. Parts lie at random places, those of a run
one after the other; labour, cross-sections and lengths are drawn too (ours: what is common on a
van, no source). Every fault that the families of `sim.parts` know is possible.
"""

from __future__ import annotations

import random
from dataclasses import dataclass, field

LOADS = (
    ("lamp", "power: 55 W at 12 V"),
    ("lamp", "power: 21 W at 12 V"),
    ("horn", "power: 60 W at 12 V"),
    ("heater grid", "power: 120 W at 12 V"),
)


@dataclass
class Draft:
    """A circuit file in the making."""

    rng: random.Random
    places: list[str]
    parts: list[str] = field(default_factory=list)
    wires: list[str] = field(default_factory=list)
    controls: list[str] = field(default_factory=list)
    loads: list[str] = field(default_factory=list)
    at: int = 0

    def step(self) -> str:
        """Give the place where the next part of a run lies: the same, or the one after."""
        self.at = (self.at + (self.rng.random() < 0.5)) % len(self.places)
        return self.places[self.at]

    def part(self, letter: str, kind: str, values: str = "", at: str = "") -> str:
        """Add a part under the next name of its letter."""
        name = f"{letter}{1 + sum(p.startswith(letter) for p in self.parts)}"
        more = f"{values}, " if values else ""
        self.parts.append(f"{name}: {{kind: {kind}, {more}at: {at or self.step()}}}")
        return name

    def wire(self, one: str, other: str, area: str) -> None:
        """Add a wire between two points."""
        metres = self.rng.uniform(0.3, 3.0)
        number = len(self.wires) + 1
        self.wires.append(f"{number}: [{one}, {other}, red, {area} mm2, {metres:.1f} m]")

    def run(self, start: str, connectors: int, area: str) -> str:
        """Lead a wire over some connectors; give the point that the next wire begins at."""
        for _ in range(connectors):
            name = self.part("C", "connector", "pins: 1")
            self.wire(start, f"{name}.1a", area)
            start = f"{name}.1b"
        return start


def random_circuit(seed: int, groups: int, longest: int, places: int) -> str:
    """Write a circuit file.

    Parameters
    ----------
    seed : int
    groups : int
        Groups of loads.
    longest : int
        Connectors at most in one run.
    places : int

    Returns
    -------
    str
        YAML, complete.
    """
    rng = random.Random(seed)  # noqa: S311 -- a published seed, no secret
    draft = Draft(rng, [f"place {number}" for number in range(places)])
    draft.part("B", "battery", "capacity: 70 Ah, cold cranking: 640 A, charge: 90 %", "place 0")
    draft.part("S", "key switch", at=rng.choice(draft.places))
    draft.wire("30", "S1.in", "4")
    ground = draft.part("X", "ground stud", at="place 0")
    draft.wire("B1.-", f"{ground}.ring", "25")
    draft.controls.append("key: {off, accessory, run, crank, sets: S1}")
    for number in range(groups):
        _add_group(draft, number, longest)
    return _written(draft)


def _add_group(draft: Draft, number: int, longest: int) -> None:
    rng = draft.rng
    draft.at = rng.randrange(len(draft.places))
    chosen = [rng.choice(LOADS) for _ in range(rng.randint(1, 3))]
    fuse = draft.part("F", "blade fuse", "rating: 40 A")
    relay = draft.part("K", "relay", "contact: normally open, suppression: diode")
    draft.wire("30", f"{fuse}.1", "6")
    draft.wire(f"{fuse}.2", f"{relay}.30", "6")
    end = draft.run(f"{relay}.87", rng.randint(1, longest), "6")
    if len(chosen) > 1:
        splice = draft.part("D", "splice", f"pins: {len(chosen) + 1}")
        draft.wire(end, f"{splice}.1", "6")
    for index, (kind, power) in enumerate(chosen):
        begin = f"{splice}.{index + 2}" if len(chosen) > 1 else end
        begin = draft.run(begin, rng.randint(0, longest - 1), "4")
        load = draft.part("E", kind, power)
        stud = draft.part("X", "ground stud")
        draft.wire(begin, f"{load}.1", "4")
        draft.wire(draft.run(f"{load}.2", rng.randint(0, 1), "4"), f"{stud}.ring", "4")
        draft.loads.append(load)
    _add_control(draft, number, relay, longest)


def _add_control(draft: Draft, number: int, relay: str, longest: int) -> None:
    rng = draft.rng
    fuse = draft.part("F", "blade fuse", "rating: 10 A")
    switch = draft.part("S", "switch")
    draft.wire("15", f"{fuse}.1", "1")
    draft.wire(f"{fuse}.2", f"{switch}.in", "1")
    end = draft.run(f"{switch}.out", rng.randint(0, longest), "1")
    stud = draft.part("X", "ground stud")
    draft.wire(end, f"{relay}.86", "1")
    draft.wire(f"{relay}.85", f"{stud}.ring", "1")
    draft.controls.append(f"switch {number}: {{off, on, sets: {switch}}}")


def _written(draft: Draft) -> str:
    places = []
    for name in draft.places:
        reach = draft.rng.uniform(0.5, 9.0)
        again = min(reach, draft.rng.uniform(0.5, 1.0))
        places.append(f"{name}: {{reach: {reach:.1f} min, again: {again:.1f} min}}")
    effects = [f"{load} works: {load} power >= 60 % of nominal" for load in draft.loads]
    rails = ['"30": B1.+ through a 150 A link', '"15": S1.run', '"31": body']
    head = "format: circuit\nversion: 1\nid: drawn\ntitle: Drawn\nvehicle: Drawn from a seed\n"
    sections = {
        "places": places,
        "parts": draft.parts,
        "rails": rails,
        "controls": draft.controls,
        "wires": draft.wires,
        "effects": effects,
    }
    return head + "".join(
        f"{name}:\n" + "".join(f"  {line}\n" for line in lines) for name, lines in sections.items()
    )
