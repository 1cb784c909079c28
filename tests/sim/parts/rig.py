"""The rig of the contract suite: every kind of part with every set of values, and its lanes solved.

Each part is put into a small circuit: one of its terminals at a time lies on 12 V behind 0.05 ohm,
the others go to the body through 1 ohm each; then with the supply turned round. It is solved
healthy and with every way of failing, in every position of its control, shaken, heated, wetted,
disturbed and asleep.
"""

import itertools
from collections import Counter
from dataclasses import dataclass, replace
from types import SimpleNamespace

import numpy as np

from sim.circuit import BODY, Circuit, Control, Fault, Part
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
    part_elements,
)
from sim.parts import FAMILIES
from sim.parts.family import Element, Family, Law, Trigger, Way
from sim.quantity import SYMBOL
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
    "sensor switch": {"closed": "below 0.5 bar"},
    "control unit": {
        "pin 30": "supply",
        "pin 31": "ground",
        "pin 4": "input, pull-up 2.49 kohm",
        "pin 5": "reference, up to 50 mA",
        "pin 9": "switches to ground, up to 2 A, pull-up 10 kohm to supply",
        "pin 10": "switches to supply, 50 mohm, up to 10 A, pulsed at 100 Hz",
    },
}
ALSO: dict[str, tuple[dict[str, object], ...]] = {
    "battery": ({"accepts": 20.0},),
    "wire": ({"beside": "wire 2|wire 11", "supply beside": "live"},),
    "fusible link": ({"rating": 0.0, "area": 0.5e-6},),
    "switch": ({"lamp voltage": 12.0, "lamp power": 1.2},),
    "selector switch": ({"closed in": "low|high|low+high"},),
    "bus unit": ({"type": "gateway", "terminator": "both pairs"},),
}
NAMES = {"wire": "wire 1"}
# Positions of the control of a kind that reads several quantities.
SET = {"sensor switch": ("low 0.1 bar", "middle 0.6 bar", "less 0.8 bar", "high 3 bar")}
STRESSES = tuple(trigger for trigger in Trigger if trigger is not Trigger.NEVER)


def positions_of(family: Family) -> tuple[str, ...]:
    """Give positions of a control that carry values of the kind the family reads."""
    kind = family.setting
    if not kind or family.kind in SET:
        return SET.get(family.kind, ())
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


def case_of(kind: str, values: dict[str, object]) -> Case:
    """Give a part of a kind with these values, alone in a circuit with a control that sets it."""
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


def has_coil(network: Network, relay: str) -> bool:
    return any(e.relay == relay and e.law is Law.COIL for e in network.elements)


def conditions(circuit: Circuit, part: str) -> list[Configuration]:
    positions = circuit.controls["control"].positions
    at = [Configuration((("control", position),)) for position in positions]
    stressed = [
        replace(one, stressed=((EVERYTHING, trigger),)) for one in at[-1:] for trigger in STRESSES
    ]
    return [*at, *stressed, replace(at[-1], apart=(part,))]


def solved_of(case: Case) -> SimpleNamespace:
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
    held = [r for r, name in enumerate(network.relay_names) if not has_coil(network, name)]
    lanes.closed[1::2, held] = 1  # what rules drive: on in every other lane
    solution = solver.solve(stacked, lanes)
    return SimpleNamespace(
        network=network, solver=solver, rows=stacked, lanes=lanes, solution=solution, told=told
    )
