"""Islands without supply or ground, sources short-circuited or across each other.

Two sources whose poles are tied by conductors alone drive ``I = |E1 - E2| / (R1 + R2)`` round a
loop for ever; above 300 A (ours: cranking takes as much, nothing at rest does) that is no circuit.
"""

from __future__ import annotations

from collections.abc import Callable, Iterator
from itertools import combinations

from sim.checks.conductors import (
    Branch,
    branches,
    conducts,
    groups,
    is_source,
    is_supply,
    stays,
    way_between,
)
from sim.checks.finding import Finding, listed, where_of
from sim.circuit import BODY, Circuit

LOOP_CURRENT = 300.0  # A
PASSIVE = frozenset({"wire", "ground stud", "connector", "splice"})


def islands(circuit: Circuit) -> Iterator[Finding]:
    """Find parts that hang together but on no supply, and supplies that never reach ground.

    The body joins nothing here: what hangs on ground alone has no supply.
    """
    live = branches(circuit)
    find = groups((b.element.a, b.element.b) for b in live if BODY not in _ends(b))
    island: dict[str, list[Branch]] = {}
    for branch in live:
        point = next((end for end in _ends(branch) if end != BODY), BODY)
        island.setdefault(find(point), []).append(branch)
    for members in island.values():
        names = list(dict.fromkeys(branch.part for branch in members))
        grounded = any(BODY in _ends(branch) for branch in members)
        fed = any(is_source(branch) for branch in members)
        kinds = {circuit.parts[name].kind for name in names}
        if "wire" not in kinds or (grounded and not fed and kinds <= PASSIVE):
            continue  # tied to nothing is said elsewhere; so much for wires between grounds
        first = _first(circuit, names)
        shown = listed([name for name in names if circuit.parts[name].kind != "wire"] or names)
        if not fed:
            lack = "a supply" if grounded else "a supply nor to ground"
            text = f"{shown}: no wire leads to {lack}; tie one of them to a rail or a battery"
            yield Finding(where_of(circuit, first), text)
        elif not grounded and any(is_supply(branch) for branch in members):
            text = f"{shown}: no wire leads back to ground; tie one of them to 31 or {BODY}"
            yield Finding(where_of(circuit, first), text)


def _ends(branch: Branch) -> tuple[str, str]:
    return branch.element.a, branch.element.b


def _first(circuit: Circuit, names: list[str]) -> str:
    """Return the part that the file names first, wires last."""
    order = [*(n for n, p in circuit.parts.items() if p.kind != "wire"), *circuit.parts]
    return min(names, key=order.index)


def source_loops(circuit: Circuit) -> Iterator[Finding]:
    """Find sources whose poles are tied by conductors alone, and sources that fight each other."""
    live = branches(circuit)
    tied = [branch for branch in live if stays(branch) and conducts(circuit, branch)]
    find = groups((branch.element.a, branch.element.b) for branch in tied)
    sources = [branch for branch in live if stays(branch) and is_supply(branch)]
    for one in sources:
        a, b = _ends(one)
        if find(a) == find(b):
            way = listed(way_between(tied, a, b))
            text = f"{one.part} is short-circuited: {a} is tied to {b} by {way or 'one point'}"
            yield Finding(where_of(circuit, one.part), f"{text} with no load between")
    whole = [one for one in sources if find(one.element.a) != find(one.element.b)]
    for one, other in combinations(whole, 2):
        amps = _loop_current(one, other, find)
        if amps > LOOP_CURRENT:
            text = (
                f"{one.part} and {other.part} are a loop of sources with nothing between: "
                f"{abs(one.element.emf):g} V and {abs(other.element.emf):g} V drive {amps:.0f} A "
                f"for ever (allowed up to {LOOP_CURRENT:g} A); look at their poles and voltages"
            )
            yield Finding(where_of(circuit, other.part), text)


def _loop_current(one: Branch, other: Branch, find: Callable[[str], str]) -> float:
    """Return the current in A round two sources that lie across each other; 0 if they do not."""
    poles = [find(end) for end in _ends(one)]
    others = [find(end) for end in _ends(other)]
    if set(poles) != set(others):
        return 0.0
    emf = other.element.emf if poles == others else -other.element.emf
    resistance = 1 / one.element.conductance + 1 / other.element.conductance
    return abs(one.element.emf - emf) / resistance
