"""Hard networks against 60-digit arithmetic (mpmath): volts within 1e-13 V, amperes within 1e-11 A.

Hard are: islands behind two opens, an EMF on an island held by leaks alone, micro-ohm shorts next
to gigaohms. There a nodal matrix in ordinary arithmetic is off by millivolts to volts.
"""

from types import SimpleNamespace

import mpmath
import numpy as np
import pytest

from sim.parts.family import Element
from sim.solver.steady import LEAK

VOLTS, AMPERES = 1e-13, 1e-11


def exact(elements: tuple[Element, ...], nodes: tuple[str, ...]) -> tuple[dict, dict]:
    """Give (volts of every node, current of every element) by nodal analysis in 60 digits."""
    with mpmath.workdps(60):
        number = {name: index for index, name in enumerate(nodes)}
        matrix, right = mpmath.zeros(len(nodes)), mpmath.zeros(len(nodes), 1)
        for index in range(len(nodes)):
            matrix[index, index] += mpmath.mpf(LEAK)
        for element in elements:
            siemens, emf = mpmath.mpf(element.conductance), mpmath.mpf(element.emf)
            for this, other, sign in ((element.a, element.b, 1), (element.b, element.a, -1)):
                if this in number:
                    matrix[number[this], number[this]] += siemens
                    right[number[this]] += sign * siemens * emf
                    if other in number:
                        matrix[number[this], number[other]] -= siemens
        solved = mpmath.lu_solve(matrix, right)
        volts = {"body": mpmath.mpf(0), **{name: solved[index] for name, index in number.items()}}
        amps = {
            e.name: mpmath.mpf(e.conductance) * (volts[e.a] - volts[e.b] - mpmath.mpf(e.emf))
            for e in elements
        }
        return {n: float(v) for n, v in volts.items()}, {n: float(a) for n, a in amps.items()}


def compare(lab: SimpleNamespace, *elements: Element) -> None:
    """Check every volt and ampere of a network, and the laws on its solution."""
    answer = lab.solve(*elements)
    volts, amps = exact(elements, answer.solver.network.nodes[1:-4])
    for name, value in volts.items():
        assert answer.volts[name] == pytest.approx(value, rel=0, abs=VOLTS), name
    for name, value in amps.items():
        assert answer.current[name] == pytest.approx(value, rel=0, abs=AMPERES), name
    kirchhoff, law = answer.residuals()
    assert kirchhoff < AMPERES
    assert law < VOLTS


def chain(lab: SimpleNamespace, name: str, points: list[str], ohms: float) -> list[Element]:
    return [
        lab.resistor(f"{name}{n}", points[n], points[n + 1], ohms) for n in range(len(points) - 1)
    ]


def test_an_island_behind_two_opens_is_at_no_voltage(lab: SimpleNamespace) -> None:
    points = ["a", "b", "c", "d", "e", "f"]
    elements = [lab.source("battery", "a", "body", 12.6, 0.005), *chain(lab, "r", points, 0.003)]
    elements[2] = Element("r1", "b", "c", 0.0)
    elements[5] = Element("r4", "e", "f", 0.0)
    compare(lab, *elements, lab.resistor("load", "f", "body", 1.0))
    answer = lab.solve(*elements, lab.resistor("load", "f", "body", 1.0))
    assert [answer.volts[name] for name in "cdef"] == [0.0] * 4


@pytest.mark.parametrize("shorts", [1e-6, 3e-3, 1.0])
def test_an_emf_on_an_island_is_held_by_leaks_alone(lab: SimpleNamespace, shorts: float) -> None:
    """Three points on one side, six on the other: the battery sits a third above the body."""
    plus, minus = ["p", "p1", "p2"], ["m", "m1", "m2", "m3", "m4", "m5"]
    battery = lab.source("battery", "p", "m", 12.6, 0.005)
    sides = (*chain(lab, "plus", plus, shorts), *chain(lab, "minus", minus, shorts))
    compare(lab, battery, *sides)
    answer = lab.solve(battery, *sides)
    assert answer.volts["p2"] == pytest.approx(12.6 * 6 / 9, rel=1e-9)
    assert answer.volts["m5"] == pytest.approx(-12.6 * 3 / 9, rel=1e-9)


def test_an_emf_on_an_island_with_a_load(lab: SimpleNamespace) -> None:
    compare(
        lab,
        lab.source("battery", "p", "m", 12.6, 0.005),
        lab.resistor("feed", "p", "x", 1e-6),
        lab.resistor("load", "x", "y", 1.0),
        lab.resistor("return", "y", "m", 1e-6),
        Element("ground", "m", "body", 0.0),
    )


@pytest.mark.parametrize("links", [1, 5, 20])
def test_micro_ohm_shorts_in_a_row(lab: SimpleNamespace, links: int) -> None:
    points = [f"n{n}" for n in range(links + 1)]
    compare(
        lab,
        lab.source("battery", "n0", "body", 12.6, 0.005),
        *chain(lab, "short", points, 1e-6),
        lab.resistor("load", points[-1], "body", 1.0),
    )


def test_micro_ohms_beside_gigaohms(lab: SimpleNamespace) -> None:
    compare(
        lab,
        lab.source("battery", "a", "body", 12.6, 0.005),
        lab.resistor("damp", "a", "b", 1e9),
        lab.resistor("short", "b", "c", 1e-6),
        lab.resistor("damp too", "c", "body", 1e9),
        lab.resistor("short too", "c", "d", 1e-6),
    )


def test_two_batteries_in_parallel(lab: SimpleNamespace) -> None:
    compare(
        lab,
        lab.source("first", "a", "body", 12.6, 0.005),
        lab.source("second", "b", "body", 12.1, 0.008),
        lab.resistor("lead", "a", "b", 1e-3),
        lab.resistor("load", "b", "body", 0.5),
    )


@pytest.mark.parametrize("ohms", [1e-6, 1e-4, 1e-3, 1.0])
def test_the_current_of_a_source_is_no_difference_of_its_volts(
    lab: SimpleNamespace, ohms: float
) -> None:
    """12.6 V less 12.6 V behind 1 uohm: the last bit of it would be 2 nA."""
    compare(
        lab,
        lab.source("battery", "a", "body", 12.6, ohms),
        lab.resistor("feed", "a", "b", 3e-3),
        lab.resistor("load", "b", "body", 0.9),
        lab.resistor("island", "c", "d", 1e-6),
        lab.source("cell", "d", "e", 1.5, ohms),
        lab.resistor("bulb", "e", "c", 70.0),
    )


@pytest.mark.parametrize("seed", range(30))
def test_random_networks_of_every_size_of_resistance(lab: SimpleNamespace, seed: int) -> None:
    """Resistances from a micro-ohm to a gigaohm, a third of them open, batteries with 1 ohm."""
    rng = np.random.default_rng(seed)
    points = ["body", *(f"n{n}" for n in range(int(rng.integers(3, 10))))]
    elements = []
    for index in range(2 * len(points)):
        a, b = rng.choice(points, 2, replace=False).tolist()
        siemens = 0.0 if rng.random() < 1 / 3 else float(10 ** rng.uniform(-9, 6))
        elements.append(Element(f"r{index}", a, b, siemens))
    for index in range(int(rng.integers(1, 3))):
        a, b = rng.choice(points, 2, replace=False).tolist()
        elements.append(Element(f"e{index}", a, b, 1.0, float(rng.uniform(-15, 15))))
    compare(lab, *elements)
