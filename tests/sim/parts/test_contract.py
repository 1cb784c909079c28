"""What every family of parts has to keep; a family joins by being in `FAMILIES`.

How a part is rigged says tests/sim/parts/rig.py. The outside answers are Kirchhoff's laws,
passivity, Tellegen's theorem and ngspice.
"""

import itertools
from collections import Counter
from dataclasses import replace
from types import SimpleNamespace

import numpy as np
import pytest

from sim.access import probe_points
from sim.circuit import BODY, Fault
from sim.faults import parse_fault, with_faults, write_fault
from sim.network import (
    COLUMNS,
    element_row,
    owner_of,
    part_elements,
)
from sim.parts import FAMILIES
from sim.parts.family import Law, own_side
from sim.parts.values import check_values
from sim.quantity import UNITS
from sim.spice import Held, write_netlist
from tests.referee import run_ngspice
from tests.sim.parts.rig import ALL, IDS, Case, case_of, solved_of


@pytest.fixture(scope="module", params=ALL, ids=IDS)
def case(request: pytest.FixtureRequest) -> Case:
    kind, values = request.param
    return case_of(kind, values)


@pytest.fixture(scope="module")
def solved(case: Case) -> SimpleNamespace:
    return solved_of(case)


# What a part says of itself


def test_its_values_make_a_part(case: Case) -> None:
    check_values(case.part)


def test_its_quantities_are_known(case: Case) -> None:
    kinds = {p.quantity for p in case.family.parameters.values()} - {"text", "flag"}
    kinds |= {way.quantity for way in case.ways}
    assert kinds <= UNITS.keys()
    assert case.family.setting in {"", *UNITS}


def test_a_word_that_is_the_default_is_one_of_the_words(case: Case) -> None:
    for parameter in case.family.parameters.values():
        assert not parameter.words or parameter.default in (None, *parameter.words)


def test_every_terminal_is_a_point(case: Case) -> None:
    points = {point for element in case.elements() for point in (element.a, element.b)}
    for pin in case.family.pins(case.part):
        point = f"{case.part.name}.{pin}"
        assert {point, f"{point}a"} & points, point


def test_inside_everything_leads_on_and_joints_lead_inside(case: Case) -> None:
    elements, name = case.elements(), case.part.name
    counted = Counter(point for e in elements for point in (e.a, e.b))
    outside = {f"{name}.{pin}" for pin in case.family.pins(case.part)}
    assert not [e.name for e in elements if e.joint and {e.a, e.b} <= outside]
    if case.part.kind not in {"wire", "connector"}:
        loose = {point for point, times in counted.items() if times == 1}
        assert loose <= {BODY, *outside}


def test_its_elements_are_its_own(case: Case) -> None:
    names = [element.name for element in case.elements()]
    assert len(set(names)) == len(names)
    assert {owner_of(element) for element in case.elements()} == {case.part.name}


def test_the_element_that_does_the_work_is_found(case: Case) -> None:
    """`sim.effects.load_element` takes the first that ends in the name; set by no control."""
    rated = case.family.nominal_power
    assert rated is None or case.family.load
    if not case.family.load or (rated and rated(case.part) == 0.0):
        return  # a switch without a lamp
    free = part_elements(replace(case.part, settings=()), case.circuit.temperature)
    first = next(e for e in free if e.name.endswith(case.family.load))
    assert not first.joint
    assert rated is None or rated(case.part) > 0.0


def test_where_leads_can_be_put_is_in_the_network(case: Case) -> None:
    """Plugged and apart, and no point is both outside and inside the part."""
    elements = case.elements()
    points = {point for element in elements for point in (element.a, element.b)}
    if case.part.kind != "wire":
        for apart in ((), (case.part.name,)):
            assert set(probe_points(case.circuit, apart)) <= {BODY, *points}
    pins = case.family.pins(case.part)
    outside = {f"{case.part.name}.{pin}" for pin in pins}
    assert not outside & {own_side(case.part, pin, pins) for pin in pins}


# Faults


def test_a_way_is_named_once(case: Case) -> None:
    counted = Counter((way.name, way.pin) for way in case.ways)
    assert counted
    assert max(counted.values()) == 1


def test_a_way_is_at_a_terminal_the_part_has(case: Case) -> None:
    assert {way.pin for way in case.ways} <= {None, *case.family.pins(case.part)}


def test_likelihoods_and_severities_are_in_bounds(case: Case) -> None:
    for way in case.ways:
        assert way.likelihood >= 0.0
        assert all(0.0 < severity <= way.most for severity in way.severities), way


def test_a_fault_keeps_the_elements(case: Case) -> None:
    """Same names, ends, laws, relays, joints and positions, so that all are solved in one batch."""

    def skeleton(*faults: Fault) -> list[tuple]:
        return [
            (e.name, e.a, e.b, e.law, e.relay, e.joint, e.positions) for e in case.elements(*faults)
        ]

    for fault in case.faults:
        assert skeleton(fault) == skeleton(), fault


def test_two_faults_at_once_keep_the_elements(case: Case) -> None:
    names = [element.name for element in case.elements()]
    for pair in itertools.combinations(case.faults[:12], 2):
        assert [element.name for element in case.elements(*pair)] == names, pair


def unchanged(case: Case) -> set[tuple[str, str | None]]:
    """Give the ways of failing of a part that leave its row as it is."""
    healthy = element_row(case.elements())
    return {
        (fault.way, fault.pin)
        for fault in case.faults
        if np.array_equal(element_row(case.elements(fault)), healthy)
    }


@pytest.mark.parametrize("kind", FAMILIES)
def test_every_way_changes_the_row(kind: str) -> None:
    """Of a part with some values at least: `stuck on` shows in one that is off."""
    cases = [case_of(kind, values) for name, values in ALL if name == kind]
    declared = {(way.name, way.pin) for one in cases for way in one.ways}
    shown = {
        (w.name, w.pin) for one in cases for w in one.ways if (w.name, w.pin) not in unchanged(one)
    }
    assert declared == shown


def test_every_severity_gives_a_row_of_its_own(case: Case) -> None:
    for way in case.ways:
        faults = [Fault(case.part.name, way.name, way.pin, s) for s in way.severities]
        rows = {element_row(case.elements(fault)).tobytes() for fault in faults}
        assert len(rows) == len(faults), way


def test_a_fault_reads_back_from_its_name(case: Case) -> None:
    for fault in case.faults:
        again = parse_fault(case.circuit, write_fault(case.circuit, fault))
        assert (again.part, again.way, again.pin) == (fault.part, fault.way, fault.pin)
        assert again.severity == (fault.severity and pytest.approx(fault.severity, rel=1e-5))
        assert with_faults(case.circuit, [again]).parts[case.part.name].has(fault.way, fault.pin)


# Solved


def worst(solved: SimpleNamespace, bad: np.ndarray) -> list[tuple]:
    """Give the first lanes that are bad, in words."""
    return [solved.told[lane] for lane in np.flatnonzero(bad)[:3]]


def test_it_has_a_steady_state(solved: SimpleNamespace) -> None:
    assert worst(solved, solved.solution.status != 0) == []


def test_nothing_is_left_over(solved: SimpleNamespace) -> None:
    """Kirchhoff's current law within 1e-9 A, every element's own law within 1e-9 V."""
    kirchhoff, laws = solved.solver.residuals(solved.rows, solved.lanes, solved.solution)
    assert worst(solved, ~(kirchhoff < 1e-9)) == []
    assert worst(solved, ~(laws < 1e-9)) == []


def test_every_number_is_finite(solved: SimpleNamespace) -> None:
    for values in (solved.solution.volts, solved.solution.drop, solved.solution.current):
        assert worst(solved, ~np.isfinite(values).all(axis=1)) == []


def power_taken(solved: SimpleNamespace) -> np.ndarray:
    """Give the power in W that flows into the part through its terminals, in every lane."""
    network, solution = solved.network, solved.solution
    taken = np.zeros(len(solution.status))
    for number, element in enumerate(network.elements):
        into = solution.current[:, number]
        if element.name.startswith("feed "):
            taken += into * solution.volts[:, network.node(element.b)]
        if element.name.startswith("tie "):
            taken -= into * solution.volts[:, network.node(element.a)]
    return taken


def test_it_delivers_no_power_without_a_source(case: Case, solved: SimpleNamespace) -> None:
    """A breakdown's EMF stands behind a diode and delivers nothing."""
    sources = [e for e in case.elements() if e.emf != 0.0 and e.law is not Law.DIODE]
    taken = power_taken(solved)
    if sources:
        assert np.abs(taken).max() > 1e-6
        return
    assert worst(solved, ~(taken > -1e-6)) == []


def test_power_taken_is_power_turned_into_heat(case: Case, solved: SimpleNamespace) -> None:
    """Tellegen's theorem: what flows in through the terminals appears in the elements."""
    count = len(case.elements())
    spent = (solved.solution.drop[:, :count] * solved.solution.current[:, :count]).sum(axis=1)
    assert worst(solved, np.abs(spent - power_taken(solved)) > 1e-6 * (1.0 + np.abs(spent))) == []


# Another program's answer

SAMPLE = 4  # lanes of each part that ngspice solves too
TRIES = 40  # lanes it is asked for at most; from its own starting point it does not find every one
ABSOLUTE, RELATIVE = 1e-4, 1e-5  # V, and of V


def netlist_of(solved: SimpleNamespace, lane: int) -> str:
    row = solved.rows[lane][..., :COLUMNS].copy()
    row[-4:] = solved.lanes.instruments[lane]
    held = Held(solved.solution.closed[lane], solved.solution.blown[lane])
    return write_netlist(solved.network, row, held, f"lane {lane}")


def test_ngspice_agrees(ngspice: str, solved: SimpleNamespace) -> None:
    """Every node of some lanes, the healthy part among them, solved by ngspice's own devices."""
    rng, compared = np.random.default_rng(7), 0
    for lane in (0, *rng.integers(0, len(solved.told), TRIES).tolist()):
        answer = run_ngspice(ngspice, netlist_of(solved, lane))
        points = solved.network.nodes[1:-4]
        theirs = np.array([answer.get(point, np.nan) for point in points])
        if not np.isfinite(theirs).all():
            continue
        ours = solved.solution.volts[lane, 1 : 1 + len(points)]
        miss = np.abs(ours - theirs) > ABSOLUTE + RELATIVE * np.abs(theirs)
        assert not miss.any(), (solved.told[lane], np.array(points)[miss], ours, theirs)
        compared += 1
        if compared == SAMPLE:
            return
    pytest.fail(f"ngspice solved {compared} of {TRIES} lanes")
