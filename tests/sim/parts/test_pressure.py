"""Ratiometric pressure sensor: 0.5 to 4.5 V on 5 V (common practice, no source)."""

from types import SimpleNamespace

import pytest

from tests.sim.parts.setting import set_part


def signal(
    lab: SimpleNamespace, elements: tuple, *, supply: float = 5.0, load: float = 1e6
) -> float:
    answer = lab.solve(
        lab.source("unit", "P1.+", "body", supply),
        lab.resistor("ground", "P1.-", "body", 1e-4),
        lab.resistor("input", "P1.s", "body", load),
        *elements,
    )
    return answer.volts["P1.s"]


@pytest.mark.parametrize(
    ("pressure", "volts"),
    [("vented", 0.5), ("2.5 bar", 1.5), ("5 bar", 2.5), ("10 bar", 4.5), ("20 bar", 4.75)],
)
def test_the_signal_goes_with_the_pressure(
    lab: SimpleNamespace, pressure: str, volts: float
) -> None:
    assert signal(lab, set_part(lab, "pressure sensor", pressure)) == pytest.approx(volts, rel=2e-3)


def test_it_is_ratiometric(lab: SimpleNamespace) -> None:
    elements = set_part(lab, "pressure sensor", "5 bar")
    low, whole = (signal(lab, elements, supply=volts) for volts in (4.0, 5.0))
    assert low / whole == pytest.approx(0.8)


def test_a_load_finds_the_stated_output_impedance(lab: SimpleNamespace) -> None:
    """Thevenin: behind 1 kohm, into 1 kohm, half of the open voltage."""
    elements = set_part(lab, "pressure sensor", "5 bar")
    assert signal(lab, elements, load=1e3) == pytest.approx(1.25, rel=5e-3)


@pytest.mark.parametrize(
    ("fault", "volts"),
    [
        (("output open", None, None), 0.0),
        (("open", "+", None), 0.0),
        (("open", "-", None), 5.0),
        (("stuck", None, 2.5e5), 1.5),
        (("drift", None, 0.1), 3.0),
    ],
)
def test_its_faults_at_half_of_the_range(lab: SimpleNamespace, fault: tuple, volts: float) -> None:
    elements = set_part(lab, "pressure sensor", "5 bar", faults=(fault,))
    assert signal(lab, elements) == pytest.approx(volts, abs=0.02)


def test_without_a_control_it_has_its_own_pressure(lab: SimpleNamespace) -> None:
    assert signal(lab, lab.elements("pressure sensor", pressure=5e5)) == pytest.approx(
        2.5, rel=2e-3
    )
