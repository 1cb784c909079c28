"""Resistive loads: heater grid and horn."""

from types import SimpleNamespace

import pytest

from sim.parts import FAMILIES


def watts(lab: SimpleNamespace, kind: str, *faults: tuple, **values: float) -> float:
    """Give the power of a load at exactly 12 V across its element."""
    elements = lab.elements(kind, name="E1", faults=faults, **values)
    inner = [element for element in elements if not element.joint]
    answer = lab.solve(
        lab.source("e", "E1.1b", "body", 12.0), *inner, lab.resistor("g", "E1.2b", "body", 1e-9)
    )
    return answer.drop[inner[0].name] * answer.current[inner[0].name]


@pytest.mark.parametrize("kind", ["heater grid", "horn"])
def test_nominal_power_at_nominal_voltage(lab: SimpleNamespace, kind: str) -> None:
    assert watts(lab, kind, power=160.0) == pytest.approx(160.0, rel=1e-5)
    assert FAMILIES[kind].nominal_power(lab.part(kind, power=160.0)) == 160.0


@pytest.mark.parametrize(("broken", "left"), [(3.0, 0.75), (6.0, 0.5), (12.0, 0.0)])
def test_each_line_of_a_grid_carries_its_share(
    lab: SimpleNamespace, broken: float, left: float
) -> None:
    fault = ("line open", None, broken)
    assert watts(lab, "heater grid", fault, power=160.0) == pytest.approx(160.0 * left, rel=1e-5)


@pytest.mark.parametrize(("kind", "way"), [("heater grid", "all lines open"), ("horn", "open")])
def test_an_open_load_carries_nothing(lab: SimpleNamespace, kind: str, way: str) -> None:
    assert watts(lab, kind, (way, None, None), power=160.0) == 0.0


@pytest.mark.parametrize(
    ("lines", "gaps"), [(1.0, None), (2.0, (1.0,)), (3.0, (1.0, 2.0)), (12.0, (3.0, 6.0))]
)
def test_a_grid_loses_one_line_at_least_and_by_lines_never_all(
    lab: SimpleNamespace, lines: float, gaps: tuple[float, ...] | None
) -> None:
    ways = FAMILIES["heater grid"].ways(lab.part("heater grid", power=60.0, lines=lines))
    found = {way.name: way.severities for way in ways if way.pin is None}
    assert found.get("line open") == gaps
    assert "all lines open" in found
