"""Wires too thin for their fuse.

Rule: a wire that a short to ground would load through a fuse has to carry that fuse's rating for
ever. Which fuse that is: the last one passed on the way from a supply through conductors alone (see
`sim.checks.conductors`). Wires behind a load are out of it, the load limits their current; so are
the short feed lines of a fuse box (common practice): wires behind nothing but a fusible link, or
behind a main fuse, one that feeds a rail and is above 40 A, the largest blade of ISO 8820-3 type C.

What a wire carries: ISO 10133 (small craft, extra-low-voltage DC), single conductors with 105 degC
insulation, as automotive wire of class B has (ISO 6722); from memory, to be compared with the
standard. Between its points, and down to 0.35 mm2, in proportion to a power of the cross-section.
"""

from __future__ import annotations

from collections.abc import Iterator

import numpy as np

from sim.checks.conductors import Branch, branches, conducts, is_supply
from sim.checks.finding import Finding, where_of
from sim.circuit import BODY, Circuit, Part
from sim.parts.family import Law

AREAS = (0.75, 1.0, 1.5, 2.5, 4.0, 6.0, 10.0, 16.0, 25.0, 35.0, 50.0, 70.0)  # mm2
AMPS = (16.0, 20.0, 25.0, 35.0, 45.0, 60.0, 90.0, 130.0, 170.0, 210.0, 270.0, 330.0)  # A
THIN = 0.7  # power of the cross-section below the table; ours
MM2 = 1e-6  # m2
LARGEST_BLADE = 40.0  # A


def ampacity(area: float) -> float:
    """Return the current in A that a wire of a cross-section in m2 carries for ever."""
    mm2 = area / MM2
    if mm2 < AREAS[0]:
        return float(AMPS[0] * (mm2 / AREAS[0]) ** THIN)
    return float(np.exp(np.interp(np.log(mm2), np.log(AREAS), np.log(AMPS))))


def least_area(current: float) -> float:
    """Return the smallest usual cross-section in mm2 that carries a current in A for ever."""
    usual = (0.35, 0.5, *AREAS)
    enough = current * (1 - 1e-9)  # a hair for rounding
    return next((mm2 for mm2 in usual if ampacity(mm2 * MM2) >= enough), AREAS[-1])


def guarded(circuit: Circuit) -> dict[str, set[str]]:
    """Return for every wire the fuses that guard it: `""` for none on the way."""
    live = branches(circuit)
    tied = [branch for branch in live if conducts(circuit, branch)]
    around: dict[str, list[Branch]] = {}
    for branch in tied:
        for point in (branch.element.a, branch.element.b):
            around.setdefault(point, []).append(branch)
    starts = [
        branch.element.a if branch.element.emf > 0 else branch.element.b
        for branch in live
        if is_supply(branch)
    ]
    seen: set[str] = set()
    found: dict[str, set[str]] = {}
    fronts = [("", point) for point in starts if point != BODY]
    while fronts:
        fuses = _flood(around, fronts, seen, found)
        fronts = [(name, point) for name, point in fuses if point not in seen]
    return found


def _flood(
    around: dict[str, list[Branch]],
    fronts: list[tuple[str, str]],
    seen: set[str],
    found: dict[str, set[str]],
) -> list[tuple[str, str]]:
    """Go on from (fuse, point) pairs up to the next fuses; return those with their far sides."""
    reached: list[tuple[str, str]] = []
    visited: set[tuple[str, str]] = set()
    queue = list(fronts)
    while queue:
        guard, here = queue.pop()
        if (guard, here) in visited or here == BODY:
            continue
        visited.add((guard, here))
        for branch in around.get(here, ()):
            there = branch.other(here)
            if branch.element.law is Law.FUSE:
                reached.append((branch.part, there))
                continue
            if branch.part.startswith("wire "):
                found.setdefault(branch.part, set()).add(guard)
            if there not in seen:
                queue.append((guard, there))
    seen |= {point for _, point in visited}
    return reached


def _feeds_a_box(circuit: Circuit, fuse: Part) -> bool:
    """Tell whether a fuse guards the feed lines of other fuses."""
    if fuse.kind == "fusible link":
        return True
    rails = {point.partition(".")[0] for point in circuit.rails.values()}
    return fuse.name in rails and fuse.number("rating") > LARGEST_BLADE


def thin_wires(circuit: Circuit) -> Iterator[Finding]:
    """Find wires too thin for their fuse."""
    for wire, guards in guarded(circuit).items():
        fuses = [circuit.parts[name] for name in guards if name]
        fuses = [f for f in fuses if "rating" in f.values and not _feeds_a_box(circuit, f)]
        if not fuses or len(fuses) < len(guards):
            continue
        fuse = max(fuses, key=lambda part: part.number("rating"))
        rating, area = fuse.number("rating"), circuit.parts[wire].number("area")
        carries = ampacity(area)
        if rating > carries * (1 + 1e-9):
            text = (
                f"{wire}: {area / MM2:g} mm2 carries {carries:.0f} A for ever, its fuse "
                f"{fuse.name} holds {rating:g} A; allowed: a fuse up to {carries:.0f} A, or at "
                f"least {least_area(rating):g} mm2"
            )
            yield Finding(where_of(circuit, wire), text)
