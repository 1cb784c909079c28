"""Diodes, Zener diodes and suppressors against their data sheets."""

from types import SimpleNamespace

import pytest

from sim.errors import QuantityError
from sim.parts.diode import breakdown
from sim.parts.values import check_values


def volts(lab: SimpleNamespace, kind: str, amps: float, *faults: tuple, **values: float) -> float:
    """Give the voltage across a part, first terminal positive, that carries a current in A."""
    first, second = ("1", "2") if kind == "suppressor" else ("a", "k")
    elements = lab.elements(kind, name="V1", faults=faults, **values)
    inner = [element for element in elements if not element.joint]
    push = lab.source("push", f"V1.{first}b", "body", 1e6 * amps, 1e6)
    return lab.solve(push, *inner, lab.resistor("g", f"V1.{second}b", "body", 1e-9)).volts[
        f"V1.{first}b"
    ]


@pytest.mark.parametrize(("amps", "low", "high"), [(1.0, 0.7, 1.1), (1e-3, 0.5, 0.7)])
def test_forward_voltage(lab: SimpleNamespace, amps: float, low: float, high: float) -> None:
    """A 1 A silicon rectifier: 1N4001 data sheet, at most 1.1 V at 1 A; 0.5 V to 0.7 V at 1 mA
    (common practice).
    """  # noqa: D205 -- one sentence
    assert low < volts(lab, "diode", amps) < high


def leakage(
    lab: SimpleNamespace, kind: str, across: float, *faults: tuple, **values: float
) -> float:
    """Give the current in A of a part with a voltage across it, first terminal positive."""
    first, second = ("1", "2") if kind == "suppressor" else ("a", "k")
    elements = lab.elements(kind, name="V1", faults=faults, **values)
    ground = lab.resistor("g", f"V1.{second}", "body", 1e-9)
    answer = lab.solve(lab.source("e", f"V1.{first}", "body", across), *elements, ground)
    return -answer.current["e"]


def test_it_blocks_backwards(lab: SimpleNamespace) -> None:
    """1N4001 data sheet: at most 5 uA of leakage."""
    assert abs(leakage(lab, "diode", -50.0)) < 5e-6


@pytest.mark.parametrize(
    ("fault", "forward", "backward"),
    [
        (("open", None, None), False, False),
        (("reversed", None, None), False, True),
        (("shorted", None, None), True, True),
        (("leakage", None, 200.0), True, True),
        (("open", "a", None), False, False),
    ],
)
def test_a_failed_diode(
    lab: SimpleNamespace, fault: tuple, *, forward: bool, backward: bool
) -> None:
    for across, flows in ((1.0, forward), (-1.0, backward)):
        assert (abs(leakage(lab, "diode", across, fault)) > 1e-3) == flows


@pytest.mark.parametrize(("amps", "expected"), [(0.021, 12.0), (0.022, 12.0 + 9e-3)])
def test_a_zener_diode_at_its_test_current(
    lab: SimpleNamespace, amps: float, expected: float
) -> None:
    """1N4742A data sheet: 12 V at 21 mA, 9 ohm there."""
    assert -volts(lab, "Zener diode", -amps, breakdown=12.0) == pytest.approx(expected, abs=4e-4)


def test_a_zener_diode_below_its_knee_and_forward(lab: SimpleNamespace) -> None:
    """Same sheet: at most 5 uA at 9.1 V; forward at most 1.2 V at 200 mA."""
    assert abs(leakage(lab, "Zener diode", -9.1, breakdown=12.0)) < 5e-6
    assert volts(lab, "Zener diode", 0.2, breakdown=12.0) < 1.2


@pytest.mark.parametrize("sign", [1, -1])
@pytest.mark.parametrize(("amps", "low", "high"), [(1e-3, 26.7, 29.5), (15.4, 33.0, 38.9)])
def test_a_suppressor_clamps_both_ways(
    lab: SimpleNamespace, sign: int, amps: float, low: float, high: float
) -> None:
    """SMBJ24CA data sheet: 26.7 V to 29.5 V at 1 mA, at most 38.9 V at 15.4 A."""
    assert low <= sign * volts(lab, "suppressor", sign * amps) <= high


def test_a_suppressor_is_not_there_in_service(lab: SimpleNamespace) -> None:
    """Same sheet: at most 1 uA at its stand-off voltage of 24 V."""
    assert abs(leakage(lab, "suppressor", 24.0)) < 1e-6


def test_too_soft_a_breakdown_is_refused(lab: SimpleNamespace) -> None:
    with pytest.raises(QuantityError, match="less than 9 ohm"):
        check_values(lab.part("Zener diode", breakdown=3.3))
    emf, scale = breakdown(12.0, 0.021, 9.0)
    assert 0.0 < emf < 12.0
    assert scale == pytest.approx(0.189)
