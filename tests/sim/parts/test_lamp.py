"""Filament lamps: cold and hot, and how power follows voltage."""

import math
from types import SimpleNamespace

import pytest

from sim.parts.lamp import filament_shape
from sim.solver.laws import lamp_current


def power(watts: float, volts: float, nominal: float = 12.0) -> float:
    """Give the power in W at a voltage of a lamp of these nominal values."""
    amps, _slope = lamp_current(volts, *filament_shape(nominal, watts))
    return volts * amps


@pytest.mark.parametrize(("volts", "watts"), [(6.0, 10.0), (12.0, 1.2), (12.0, 55.0), (24.0, 70.0)])
def test_nominal_power_at_nominal_voltage(volts: float, watts: float) -> None:
    assert power(watts, volts, volts) == pytest.approx(watts, rel=1e-12)


def test_power_grows_as_voltage_to_the_1_6() -> None:
    """Published re-rating exponents ("Lamp rerating", secondary source): P(13.2)/P(12) = 1.165."""
    assert power(21.0, 13.2) / power(21.0, 12.0) == pytest.approx(1.165, rel=0.01)


def test_current_grows_as_voltage_to_the_0_55() -> None:
    """Same source, which is not consistent with itself beyond 0.05 in the exponent."""
    low, high = power(21.0, 11.9) / 11.9, power(21.0, 12.1) / 12.1
    assert math.log(high / low) / math.log(12.1 / 11.9) == pytest.approx(0.55, abs=0.005)


@pytest.mark.parametrize(("watts", "test", "spread"), [(21.0, 25.0, 0.06), (5.0, 6.0, 0.10)])
def test_two_filament_lamp_at_its_test_voltage(watts: float, test: float, spread: float) -> None:
    """P21/5W, Directive 97/24/EC annex: rated 12 V 21/5 W; at 13.5 V 25 W +-6 %, 6 W +-10 %."""
    assert power(watts, 13.5) == pytest.approx(test, rel=spread)


def test_car_headlight_cold_and_hot() -> None:
    """OpenStax College Physics 2e: 12.0 V, 2.50 A hot (4.80 ohm), 0.350 ohm cold."""
    cold, k, beta = filament_shape(12.0, 30.0)
    assert cold == pytest.approx(0.350, rel=2e-3)
    assert cold + k * 12.0**beta == pytest.approx(4.80, rel=1e-9)


def test_cold_resistance_is_a_twelfth_to_a_sixteenth() -> None:
    """A 100 W 120 V lamp: 9.5 ohm cold, 144 ohm lit (Wikipedia, "Incandescent light bulb")."""
    cold, _k, _beta = filament_shape(120.0, 100.0)
    assert 12 < 144.0 / cold < 16


def test_an_ohmmeter_sees_the_cold_filament(lab: SimpleNamespace) -> None:
    lamp = lab.elements("lamp", name="L1", power=30.0)
    answer = lab.solve(
        lab.source("meter", "L1.1", "L1.2", 3.0, 3e3), *lamp, lab.resistor("r", "L1.2", "body", 1.0)
    )
    seen = answer.drop["L1 filament"] / answer.current["L1 filament"]
    assert seen == pytest.approx(0.350, rel=0.1)


def test_lamp_and_starter_in_series(lab: SimpleNamespace) -> None:
    """30.0 W and 2.40 kW in series on 12 V take 29.6 W (OpenStax College Physics 2e)."""
    starter = lab.resistor("starter", "mid", "body", 12.0**2 / 2400.0)
    lamp = lab.resistor("lamp", "plus", "mid", 12.0**2 / 30.0)
    answer = lab.solve(lab.source("e", "plus", "body", 12.0), lamp, starter)
    assert 12.0 * answer.current["lamp"] == pytest.approx(29.6, abs=0.05)


def test_a_lamp_lights_either_way_round(lab: SimpleNamespace) -> None:
    def amps(volts: float) -> float:
        lamp = lab.elements("lamp", name="L1", power=21.0)
        ground = lab.resistor("ground", "L1.2", "body", 1e-3)
        return lab.solve(lab.source("e", "L1.1", "body", volts), *lamp, ground).current[
            "L1 filament"
        ]

    assert amps(12.0) == pytest.approx(-amps(-12.0), rel=1e-12)
    assert amps(12.0) == pytest.approx(21.0 / 12.0, rel=0.01)


def test_a_burnt_out_lamp_carries_nothing(lab: SimpleNamespace) -> None:
    lamp = lab.elements("lamp", name="L1", power=21.0, faults=(("open", None, None),))
    ground = lab.resistor("ground", "L1.2", "body", 1e-3)
    answer = lab.solve(lab.source("e", "L1.1", "body", 12.0), *lamp, ground)
    assert answer.current["L1 filament"] == 0.0
    assert answer.drop["L1 filament"] == pytest.approx(12.0)
