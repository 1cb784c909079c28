"""Thermistors against makers' tables.

10 kohm and 15 kohm: Bosch Motorsport NTC M8 data sheets (10 kohm: +-1 % at 25 degC, +-0.3 degC
there and +-1.3 degC at 100 degC; 15 kohm, 7 Sep 2010: R +-5 %, +-1.1 degC at 25 and +-4.4 degC at
100 degC). 10 kohm B3977: Vishay document 29049, NTCLE100E3, temperature from resistance.
"""

import math
from dataclasses import replace
from types import SimpleNamespace

import pytest

from sim.parts import FAMILIES
from sim.parts.thermistor import TYPES, constants
from sim.parts.values import read_value
from sim.quantity import ZERO_CELSIUS
from tests.sim.parts.setting import set_part

TEN = {
    -35: 158_090, -20: 71_668, -10: 44_087, 0: 27_936, 10: 18_187, 20: 12_136, 25: 10_000,
    40: 5_774, 60: 2_967, 80: 1_629, 90: 1_234, 100: 946.6, 110: 735.5, 120: 578.1, 130: 459.4,
    150: 298.9,
}  # fmt: skip
FIFTEEN = {
    -20: 145_880, 0: 49_254, 20: 18_732, 25: 15_000, 40: 7_894, 80: 1_804, 100: 945, 125: 460,
}  # fmt: skip


def celsius(kind: str, ohms: float) -> float:
    """Give the temperature at which the type has this resistance (by halving)."""
    low, high = -80.0, 250.0
    while high - low > 1e-6:
        middle = (low + high) / 2
        low, high = (middle, high) if TYPES[kind](middle) > ohms else (low, middle)
    return low


@pytest.mark.parametrize(("degrees", "ohms"), TEN.items())
def test_the_10_kohm_table(degrees: float, ohms: float) -> None:
    assert celsius("10 kohm", ohms) == pytest.approx(degrees, abs=0.1)


@pytest.mark.parametrize(("degrees", "ohms"), FIFTEEN.items())
def test_the_15_kohm_table(degrees: float, ohms: float) -> None:
    """Well inside what the maker allows: a third of 1.1 degC to 25 degC, of 4.4 degC above."""
    assert celsius("15 kohm", ohms) == pytest.approx(degrees, abs=0.4 if degrees <= 25 else 1.5)


def test_steinhart_and_hart_through_three_points_of_the_table() -> None:
    """A 8.645351e-4, B 2.582215e-4, C 1.422901e-7: worked from the published table."""
    a, b, c = constants(((-20.0, TEN[-20]), (25.0, TEN[25]), (100.0, TEN[100])))
    assert (a, b, c) == pytest.approx((8.645351e-4, 2.582215e-4, 1.422901e-7), rel=1e-5)


@pytest.mark.parametrize(
    ("degrees", "error", "tolerance"),
    [(0.0, 0.99, 0.05), (60.0, -0.55, 0.05), (120.0, 0.73, 0.05), (-35.0, 3.2, 0.1)],
)
def test_the_beta_model_is_off_by_degrees(degrees: float, error: float, tolerance: float) -> None:
    """B = 3497 K from 25 and 100 degC, on the same table: why one constant is not enough."""
    warm, hot = 25.0 + ZERO_CELSIUS, 100.0 + ZERO_CELSIUS
    beta = math.log(TYPES["10 kohm"](25.0) / TYPES["10 kohm"](100.0)) / (1 / warm - 1 / hot)
    assert beta == pytest.approx(3497.0, abs=2.0)
    kelvin = 1 / (1 / warm + math.log(TYPES["10 kohm"](degrees) / 1e4) / beta)
    assert kelvin - ZERO_CELSIUS - degrees == pytest.approx(error, abs=tolerance)


@pytest.mark.parametrize("degrees", range(-40, 126, 15))
def test_the_component_maker_s_two_equations_meet(degrees: float) -> None:
    """Within 0.02 degC, with D1 positive (several public copies have it negative)."""
    x = math.log(TYPES["10 kohm B3977"](degrees) / 1e4)
    inverse = 3.354016e-3 + 2.569850e-4 * x + 2.620131e-6 * x**2 + 6.383091e-8 * x**3
    assert 1 / inverse - ZERO_CELSIUS == pytest.approx(degrees, abs=0.02)


@pytest.mark.parametrize(("degrees", "ohms"), [(0, 32_555), (25, 10_000), (50, 3_605), (100, 677)])
def test_the_component_maker_s_values(degrees: float, ohms: float) -> None:
    assert TYPES["10 kohm B3977"](degrees) == pytest.approx(ohms, rel=2e-3)


def signal(lab: SimpleNamespace, elements: tuple, pull_up: float = 2490.0) -> float:
    """Give the volts at a unit's input: 5 V through a pull-up; 2490 ohm is our choice."""
    answer = lab.solve(
        lab.source("unit", "five", "body", 5.0),
        lab.resistor("pull-up", "five", "P1.1", pull_up),
        lab.resistor("ground", "P1.2", "body", 1e-4),
        *elements,
    )
    return answer.volts["P1.1"]


@pytest.mark.parametrize(
    ("degrees", "volts"),
    [(-35, 4.922), (0, 4.591), (20, 4.149), (80, 1.977), (100, 1.377), (120, 0.942)],
)
def test_signal_at_a_pull_up(lab: SimpleNamespace, degrees: float, volts: float) -> None:
    """Divider arithmetic on the 10 kohm table."""
    elements = set_part(lab, "thermistor", f"{degrees} degC")
    assert signal(lab, elements) == pytest.approx(volts, abs=0.003)


def test_open_reads_very_cold_and_shorted_very_hot(lab: SimpleNamespace) -> None:
    """At or beyond the ends of what a unit can show: common practice, no source."""
    for faults, coldest in (
        ((("open", None, None),), True),
        ((("open", "1", None),), True),
        ((("shorted", None, None),), False),
    ):
        volts = signal(lab, lab.elements("thermistor", faults=faults))
        assert volts > 4.99 if coldest else volts < 0.01


def test_drift_reads_too_cold_and_a_wrong_part_is_off_most_in_the_middle(
    lab: SimpleNamespace,
) -> None:
    drift = set_part(lab, "thermistor", "90 degC", faults=(("drift", None, 0.5),))
    assert signal(lab, drift) > signal(lab, set_part(lab, "thermistor", "90 degC")) + 0.3
    wrong = set_part(lab, "thermistor", "20 degC", faults=(("wrong part", None, None),))
    assert signal(lab, wrong) == pytest.approx(5 * 18_732 / (18_732 + 2490), abs=0.01)


def test_without_a_control_it_has_its_own_temperature_or_the_vehicle_s(
    lab: SimpleNamespace,
) -> None:
    for written, vehicle in ((80.0, 20.0), ("ambient", 80.0)):
        part = lab.part("thermistor")
        part = replace(part, values={**part.values, "temperature": written})
        elements = FAMILIES["thermistor"].elements(part, vehicle)
        assert signal(lab, elements) == pytest.approx(1.977, abs=0.003)


def test_one_position_is_in_circuit_at_a_time(lab: SimpleNamespace) -> None:
    positions = ("20 degC", "100 degC", "hot soak")
    elements = set_part(lab, "thermistor", "100 degC", positions=positions)
    assert [e.name for e in elements if e.positions and e.conductance] == ["P1 bead at 100 degC"]
    assert signal(lab, elements) == pytest.approx(1.377, abs=0.003)


def test_a_temperature_below_zero_can_be_written() -> None:
    parameter = FAMILIES["thermistor"].parameters["temperature"]
    assert read_value(parameter, "temperature", "-10 degC") == -10.0
