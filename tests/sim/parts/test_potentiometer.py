"""Potentiometers: divider arithmetic; signals of 0.5 to 4.5 V are common practice, no source."""

from dataclasses import replace
from types import SimpleNamespace

import pytest

from sim.errors import QuantityError
from sim.parts import FAMILIES
from sim.parts.family import Wave
from sim.parts.values import check_values
from tests.sim.parts.setting import set_part

PEDAL = ("released", "25 %", "50 %", "100 %")


def signal(lab: SimpleNamespace, elements: tuple, load: float = 100e3) -> float:
    answer = lab.solve(
        lab.source("unit", "P1.+", "body", 5.0),
        lab.resistor("ground", "P1.-", "body", 1e-4),
        lab.resistor("input", "P1.s", "body", load),
        *elements,
    )
    return answer.volts["P1.s"]


def volts(lab: SimpleNamespace, position: str, *faults: tuple) -> float:
    return signal(lab, set_part(lab, "potentiometer", position, positions=PEDAL, faults=faults))


@pytest.mark.parametrize(
    ("position", "expected"), [("released", 0.5), ("25 %", 1.5), ("50 %", 2.5), ("100 %", 4.5)]
)
def test_the_signal_goes_with_the_travel(
    lab: SimpleNamespace, position: str, expected: float
) -> None:
    assert volts(lab, position) == pytest.approx(expected, rel=0.02)


def test_a_load_on_the_wiper_pulls_it_down_as_its_own_resistance_says(lab: SimpleNamespace) -> None:
    """Thevenin: 2.5 V behind 1250 ohm of track and 500 ohm of wiper, into 10 kohm."""
    elements = set_part(lab, "potentiometer", "50 %", positions=PEDAL)
    assert signal(lab, elements, 10e3) == pytest.approx(2.5 * 10 / 11.75, rel=1e-4)


def test_the_track_is_measured_between_plus_and_minus(lab: SimpleNamespace) -> None:
    answer = lab.solve(
        lab.source("ohmmeter", "P1.+", "body", 1.0),
        lab.resistor("ground", "P1.-", "body", 1e-4),
        *lab.elements("potentiometer", resistance=4700.0),
    )
    assert 1.0 / answer.current["P1.+"] == pytest.approx(4700.0, rel=1e-4)


@pytest.mark.parametrize(
    ("fault", "expected"),
    [
        (("wiper open", None, None), 0.0),
        (("open", "s", None), 0.0),
        (("open", "+", None), 0.0),
        (("track open", None, None), 0.0),
        (("reversed", None, None), 3.5),
        (("wiper resistance", None, 20e3), 1.5 * 100 / 121.5),
    ],
)
def test_its_faults_at_a_quarter_of_the_travel(
    lab: SimpleNamespace, fault: tuple, expected: float
) -> None:
    assert volts(lab, "25 %", fault) == pytest.approx(expected, rel=0.03, abs=1e-3)


def test_ground_off_the_signal_goes_to_the_supply(lab: SimpleNamespace) -> None:
    assert volts(lab, "25 %", ("open", "-", None)) > 4.5


def test_a_worn_spot_is_open_there_and_nowhere_else(lab: SimpleNamespace) -> None:
    worn = ("worn spot", None, 0.25)
    assert volts(lab, "25 %", worn) == pytest.approx(0.0, abs=1e-3)
    for position in ("released", "50 %", "100 %"):
        assert volts(lab, position, worn) == volts(lab, position)


def test_it_wears_where_its_control_can_stand(lab: SimpleNamespace) -> None:
    assert not [
        w for w in FAMILIES["potentiometer"].ways(lab.part("potentiometer")) if "worn" in w.name
    ]
    part = lab.part("potentiometer")
    worn = FAMILIES["potentiometer"].ways(replace(part, settings=PEDAL))[0]
    assert (worn.name, worn.severities) == ("worn spot", (0.25, 0.5, 1.0))


def test_noise_is_a_wave_on_the_signal(lab: SimpleNamespace) -> None:
    noisy = set_part(lab, "potentiometer", "25 %", faults=(("noise", None, 0.3),))
    wiper = next(e for e in noisy if e.name == "P1 wiper at 25 %")
    assert (wiper.motion.wave, wiper.motion.amplitude) == (Wave.SINE, 0.3)


def test_stops_out_of_order_and_travel_beyond_them_are_refused(lab: SimpleNamespace) -> None:
    with pytest.raises(QuantityError, match="lowest and highest must lie in order"):
        check_values(lab.part("potentiometer", lowest=0.9, highest=0.1))
    with pytest.raises(QuantityError, match="from 0 % to 100 %, got 120 %"):
        set_part(lab, "potentiometer", "120 %")
