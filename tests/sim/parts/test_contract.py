"""What every family of parts has to keep; a family joins by being in `FAMILIES`.

Each part is put into a small circuit: one of its terminals at a time lies on 12 V behind 0.05 ohm,
the others go to the body through 1 ohm each; then with the supply turned round. It is solved
healthy and with every way of failing, in every position of its control, shaken, heated, wetted,
disturbed and asleep. Kirchhoff's laws and passivity are the outside answers.
"""

import itertools
from collections import Counter
from dataclasses import dataclass, replace
from types import SimpleNamespace

import numpy as np
import pytest

from sim.access import probe_points
from sim.circuit import BODY, Circuit, Control, Fault, Part
from sim.faults import parse_fault, with_faults, write_fault
from sim.network import (
    CONDUCTANCE,
    EMF,
    EVERYTHING,
    INSTRUMENTS,
    Configuration,
    Network,
    configured,
    element_row,
    network_of,
    owner_of,
    part_elements,
)
from sim.parts import FAMILIES
from sim.parts.family import Element, Family, Law, Trigger, Way, own_side
from sim.parts.values import check_values
from sim.quantity import SYMBOL, UNITS
from sim.solver.program import build_program
from sim.solver.steady import LEAK, Solver

# A value for a parameter without a default, by its kind of quantity.
SENSIBLE = {
    "voltage": 12.0,
    "current": 10.0,
    "resistance": 100.0,
    "power": 20.0,
    "charge": 70 * 3600.0,
    "time": 1.0,
    "length": 2.0,
    "area": 1e-6,
    "temperature": 20.0,
    "rotation": 100.0,
    "pressure": 1e5,
    "frequency": 50.0,
    "inductance": 1e-3,
    "capacitance": 1e-6,
    "torque": 0.1,
    "inertia": 1e-5,
    "energy": 1.0,
    "angle": 0.5,
    "fraction": 0.5,
    "number": 2.0,
    "text": "",
    "flag": False,
}
# What a kind needs beyond that, and further sets of values that change its elements.
NEEDS: dict[str, dict[str, object]] = {
    "wire": {"from": "here", "to": "there"},
    "fusible link": {"rating": 100.0},
    "Zener diode": {"breakdown": 12.0},
}
ALSO: dict[str, tuple[dict[str, object], ...]] = {
    "wire": ({"beside": "wire 2|wire 11", "supply beside": "live"},),
    "fusible link": ({"rating": 0.0, "area": 0.5e-6},),
    "switch": ({"lamp voltage": 12.0, "lamp power": 1.2},),
    "selector switch": ({"closed in": "low|high|low+high"},),
}
NAMES = {"wire": "wire 1"}
STRESSES = tuple(trigger for trigger in Trigger if trigger is not Trigger.NEVER)


def positions_of(family: Family) -> tuple[str, ...]:
    """Give positions of a control that carry values of the kind the family reads."""
    kind = family.setting
    if not kind:
        return ()
    unit = "%" if kind == "fraction" else SYMBOL[kind]
    return tuple(f"{word} {number} {unit}".strip() for word, number in (("low", 10), ("high", 80)))


def make(kind: str, values: dict[str, object]) -> Part:
    family = FAMILIES[kind]
    found = {
        key: SENSIBLE[p.quantity] if p.default is None else p.default
        for key, p in family.parameters.items()
    }
    name = NAMES.get(kind, "P1")
    found = {**found, **NEEDS.get(kind, {}), **values}
    return Part(name, kind, "bench", found, settings=positions_of(family))


def variants(kind: str) -> list[dict[str, object]]:
    """Give sets of values: as it comes, with each other word, with each flag turned, and `ALSO`."""
    found: list[dict[str, object]] = [{}]
    for key, parameter in FAMILIES[kind].parameters.items():
        others = [word for word in parameter.words if word != parameter.default]
        if parameter.quantity == "flag":
            others = [not parameter.default]
        found += [{key: other} for other in others]
    return [*found, *ALSO.get(kind, ())]


ALL = [(kind, values) for kind in FAMILIES for values in variants(kind)]
IDS = [" ".join((kind, *(str(v) for v in values.values()))) for kind, values in ALL]


@dataclass(frozen=True)
class Case:
    """One part with everything that can befall it."""

    part: Part
    family: Family
    ways: tuple[Way, ...]
    circuit: Circuit

    @property
    def faults(self) -> list[Fault]:
        return [
            Fault(self.part.name, way.name, way.pin, severity)
            for way in self.ways
            for severity in way.severities or (None,)
        ]

    def elements(self, *faults: Fault) -> tuple[Element, ...]:
        return part_elements(replace(self.part, faults=faults), self.circuit.temperature)


@pytest.fixture(scope="module", params=ALL, ids=IDS)
def case(request: pytest.FixtureRequest) -> Case:
    kind, values = request.param
    part = make(kind, values)
    elements = part_elements(part, 20.0)
    positions = part.settings or tuple(dict.fromkeys(p for e in elements for p in e.positions))
    control = Control("control", ("rest", *positions), (part.name,))
    circuit = Circuit(
        name="contract",
        title="",
        vehicle="",
        places={},
        parts={part.name: part},
        rails={},
        controls={"control": control},
        effects={},
    )
    return Case(part, FAMILIES[kind], FAMILIES[kind].ways(part), circuit)


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


def test_its_elements_are_its_own(case: Case) -> None:
    names = [element.name for element in case.elements()]
    assert len(set(names)) == len(names)
    assert {owner_of(element) for element in case.elements()} == {case.part.name}


def test_the_element_that_does_the_work_is_found(case: Case) -> None:
    """`sim.effects.load_element` takes the first that ends in the name."""
    if not case.family.load or not case.family.nominal_power(case.part):
        return
    first = next(e for e in case.elements() if e.name.endswith(case.family.load))
    assert not first.joint
    assert case.family.nominal_power(case.part) > 0.0


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


def test_every_way_changes_the_row(case: Case) -> None:
    healthy = element_row(case.elements())
    for fault in case.faults:
        assert not np.array_equal(element_row(case.elements(fault)), healthy), fault


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


def terminals_of(case: Case) -> list[str]:
    """Give the points to which something outside the part is connected."""
    elements = case.elements()
    counted = Counter(point for e in elements for point in (e.a, e.b) if point != BODY)
    pins = [f"{case.part.name}.{pin}" for pin in case.family.pins(case.part)]
    loose = [point for point, times in counted.items() if times == 1]
    return list(dict.fromkeys([*(pin for pin in pins if pin in counted), *loose]))


def rig_rows(network: Network, rows: np.ndarray, feed: int, volts: float) -> np.ndarray:
    """Give the rows with the supply at one terminal and the others tied to the body."""
    rows = rows.copy()
    names = [element.name for element in network.elements]
    rows[:, names.index("supply"), EMF] = volts
    feeds = [n for n, name in enumerate(names) if name.startswith("feed ")]
    ties = [n for n, name in enumerate(names) if name.startswith("tie ")]
    rows[:, feeds, CONDUCTANCE] = 0.0
    rows[:, feeds[feed], CONDUCTANCE] = 1e3
    rows[:, ties, CONDUCTANCE] = 1.0
    rows[:, ties[feed], CONDUCTANCE] = 0.0
    return rows


def conditions(circuit: Circuit, part: str) -> list[Configuration]:
    positions = circuit.controls["control"].positions
    at = [Configuration((("control", position),)) for position in positions]
    stressed = [
        replace(one, stressed=((EVERYTHING, trigger),)) for one in at[-1:] for trigger in STRESSES
    ]
    return [*at, *stressed, replace(at[-1], apart=(part,))]


@pytest.fixture(scope="module")
def solved(case: Case) -> SimpleNamespace:
    """Give every lane of a part, solved in one batch."""
    terminals = terminals_of(case)
    rig = [Element("supply", "plus", BODY, 1 / 0.05, 12.0)]
    for point in terminals:
        rig += [Element(f"feed {point}", "plus", point, 0.0)]
        rig += [Element(f"tie {point}", point, BODY, 1.0)]
    network = network_of((*case.elements(), *rig, *INSTRUMENTS))
    cases = [(), *((fault,) for fault in case.faults)]
    base = np.stack(
        [element_row((*case.elements(*faults), *rig, *INSTRUMENTS)) for faults in cases]
    )
    rows, told = [], []
    for configuration in conditions(case.circuit, case.part.name):
        mine = configured(case.circuit, network, base, configuration)
        for feed, volts in itertools.product(range(len(terminals)), (12.0, -12.0)):
            rows.append(rig_rows(network, mine, feed, volts))
            told += [(faults, configuration, terminals[feed], volts) for faults in cases]
    stacked = np.concatenate(rows)
    solver = Solver(network, build_program(network), LEAK)
    lanes = solver.lanes(np.arange(len(stacked), dtype=np.int64))
    solution = solver.solve(stacked, lanes)
    return SimpleNamespace(
        network=network, solver=solver, rows=stacked, lanes=lanes, solution=solution, told=told
    )


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
