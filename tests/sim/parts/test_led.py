"""LED lamps: rated current, what a driver holds, what a lost LED does."""

from types import SimpleNamespace

import pytest

from sim.errors import QuantityError
from sim.parts.values import check_values

RATED = 0.3  # A: 3.6 W at 12 V


def amps(lab: SimpleNamespace, volts: float, *faults: tuple, driver: str = "resistor") -> float:
    """Give the current of a 3.6 W lamp of three LEDs of 2.2 V at a voltage across it."""
    lamp = lab.elements("LED lamp", name="L1", power=3.6, driver=driver, faults=faults)
    ground = lab.resistor("ground", "L1.2", "body", 1e-6)
    answer = lab.solve(lab.source("e", "L1.1", "body", volts), *lamp, ground)
    return answer.current["L1 LEDs"]


def test_rated_current_at_rated_voltage(lab: SimpleNamespace) -> None:
    """P / V; its two joints of 3 mohm take 0.4 %."""
    assert amps(lab, 12.0) == pytest.approx(RATED, rel=0.01)


@pytest.mark.parametrize("volts", [9.0, 10.0, 14.0, 16.0])
def test_with_a_resistor_the_current_follows_the_rest_of_the_voltage(
    lab: SimpleNamespace, volts: float
) -> None:
    """Textbook: I = (V - 3 V_F) / R with R = (12 V - 6.6 V) / 0.3 A and V_F taken as constant."""
    resistor = (12.0 - 6.6) / RATED
    assert amps(lab, volts) == pytest.approx((volts - 6.6) / resistor, rel=0.05)


@pytest.mark.parametrize(("volts", "share"), [(9.0, 1.0), (12.0, 1.0), (16.0, 1.0), (6.0, 0.0)])
def test_a_driver_holds_the_current(lab: SimpleNamespace, volts: float, share: float) -> None:
    """From 6.6 V of the string and 0.5 V of the driver upwards; below the string goes out."""
    found = amps(lab, volts, driver="constant current")
    assert found == pytest.approx(share * RATED, rel=1e-3, abs=0.02)


@pytest.mark.parametrize("driver", ["resistor", "constant current"])
def test_backwards_nothing_flows(lab: SimpleNamespace, driver: str) -> None:
    assert abs(amps(lab, -12.0, driver=driver)) < 1e-9


def test_a_lost_led_with_a_resistor(lab: SimpleNamespace) -> None:
    """(12 V - 2 x 2.2 V) / 18 ohm: brighter by 40 %; with a driver as bright as before."""
    shorted = ("LED shorted", None, 1.0)
    assert amps(lab, 12.0, shorted) == pytest.approx((12.0 - 4.4) / 18.0, rel=0.03)
    held = amps(lab, 12.0, shorted, driver="constant current")
    assert held == pytest.approx(RATED, rel=1e-3)


@pytest.mark.parametrize("driver", ["resistor", "constant current"])
@pytest.mark.parametrize("way", ["open", "driver open"])
def test_an_open_one_is_dark(lab: SimpleNamespace, way: str, driver: str) -> None:
    assert abs(amps(lab, 12.0, (way, None, None), driver=driver)) < 1e-4


@pytest.mark.parametrize("driver", ["resistor", "constant current"])
def test_a_shorted_driver_takes_many_times_the_current(lab: SimpleNamespace, driver: str) -> None:
    assert amps(lab, 12.0, ("driver shorted", None, None), driver=driver) > 5 * RATED


def test_a_string_longer_than_the_supply_is_refused(lab: SimpleNamespace) -> None:
    with pytest.raises(QuantityError, match="more than the rated voltage"):
        check_values(lab.part("LED lamp", power=3.6, leds=6.0))
