"""Random circuits from all parts, with random faults: a checked solution, or an error that names.

Kirchhoff's current law and the elements' own laws are the outside answers. Circuits make no sense
on purpose: batteries head to head, motors across sensors, relays fed by their own contacts.
"""

from dataclasses import replace

import numpy as np
import pytest
from hypothesis import HealthCheck, assume, given, settings
from hypothesis import strategies as st

from sim.circuit import BODY, Circuit, Control, Fault, Part
from sim.faults import with_faults
from sim.network import LEADS, Configuration, configured, stack_rows
from sim.parts import FAMILIES
from sim.solver.laws import SOLVED
from sim.solver.steady import Solver
from tests.sim.parts.rig import make

KINDS = sorted(set(FAMILIES) - {"wire"})
AMPERES, VOLTS = 1e-9, 1e-9  # what may be left over
LANES = 8


@st.composite
def circuits(draw: st.DrawFn) -> tuple[Circuit, np.random.Generator]:
    """Give a circuit of up to 80 nodes and a generator for its faults."""
    rng = np.random.default_rng(draw(st.integers(0, 2**32 - 1)))
    kinds = draw(st.lists(st.sampled_from(KINDS), min_size=1, max_size=9))
    parts: dict[str, Part] = {}
    controls: dict[str, Control] = {}
    for number, kind in enumerate(("battery", *kinds)):
        name = f"P{number}"
        part = replace(make(kind, {}), name=name)
        parts[name] = part
        if part.settings:
            controls[f"c{number}"] = Control(f"c{number}", part.settings, (name,))
    points = [BODY]
    for part in parts.values():
        pins = FAMILIES[part.kind].pins(part)
        halves = "ab" if part.kind == "connector" else ("",)
        points += [f"{part.name}.{pin}{half}" for pin in pins for half in halves]
    wires = {}
    for number, point in enumerate(points[1:]):
        other = points[int(rng.integers(len(points)))]
        if other == point or rng.random() < 0.1:
            continue
        size = {"area": float(rng.uniform(0.35, 50)) * 1e-6, "length": float(rng.uniform(0.05, 8))}
        wire = replace(make("wire", {"from": point, "to": other, **size}), name=f"wire {number}")
        wires[wire.name] = wire
    whole = {**parts, **wires}
    return Circuit("any", "any", "any", {}, whole, {}, controls, {}), rng


def some_fault(circuit: Circuit, rng: np.random.Generator) -> Fault | None:
    names = list(circuit.parts)
    part = circuit.parts[names[int(rng.integers(len(names)))]]
    ways = FAMILIES[part.kind].ways(part)
    if not ways:
        return None
    way = ways[int(rng.integers(len(ways)))]
    severity = way.severities[int(rng.integers(len(way.severities)))] if way.severities else None
    return Fault(part.name, way.name, way.pin, severity)


@settings(
    max_examples=150, deadline=None, suppress_health_check=[HealthCheck.too_slow], derandomize=True
)
@given(circuits())
def test_any_circuit_is_solved_or_explained(case: tuple[Circuit, np.random.Generator]) -> None:
    look_at(*case)


@pytest.mark.long
@settings(max_examples=5000, deadline=None, suppress_health_check=[HealthCheck.too_slow])
@given(circuits())
def test_any_of_a_great_many(case: tuple[Circuit, np.random.Generator]) -> None:
    look_at(*case)


def look_at(circuit: Circuit, rng: np.random.Generator) -> None:
    faulty = [circuit]
    for _lane in range(LANES - 1):
        faults = [f for f in (some_fault(circuit, rng) for _ in range(2)) if f is not None]
        faulty.append(with_faults(circuit, faults[: 1 + int(rng.integers(2))]))
    solver = Solver.of(circuit)
    assume(len(solver.network.nodes) <= 80 + len(LEADS))
    position = {
        name: control.positions[int(rng.integers(len(control.positions)))]
        for name, control in circuit.controls.items()
    }
    rows = configured(
        circuit, solver.network, stack_rows(faulty), Configuration(tuple(position.items()))
    )
    lanes = solver.lanes(np.arange(len(rows)))
    solution = solver.solve(rows, lanes)
    for values in (solution.volts, solution.drop, solution.current):
        assert np.isfinite(values).all()
    amps, volts = solver.residuals(rows, lanes, solution)
    solved = solution.status == SOLVED
    assert (amps[solved] < AMPERES).all()
    assert (volts[solved] < VOLTS).all()
    for lane in np.flatnonzero(~solved):
        said = str(solver.explain(solution, int(lane)))
        assert any(name in said for name in circuit.parts), said
