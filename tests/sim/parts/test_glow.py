"""Glow plugs: cold and hot resistance, and the current between."""

from types import SimpleNamespace

import pytest

from sim.errors import QuantityError
from sim.parts import FAMILIES
from sim.parts.glow import coil_shape
from sim.parts.values import check_values
from sim.solver.laws import lamp_current


def amps(lab: SimpleNamespace, volts: float, *faults: tuple) -> float:
    plug = lab.elements("glow plug", name="G1", faults=faults)
    return lab.solve(lab.source("e", "G1.1b", "body", volts), plug[1]).current["G1 coil"]


def test_hot_it_takes_its_rated_current(lab: SimpleNamespace) -> None:
    """11 V over 1.1 ohm: 10 A, 110 W; the values are common practice, no source."""
    assert amps(lab, 11.0) == pytest.approx(10.0, rel=1e-5)
    assert FAMILIES["glow plug"].nominal_power(lab.part("glow plug")) == pytest.approx(110.0)


def test_cold_it_takes_nearly_three_times_as_much(lab: SimpleNamespace) -> None:
    """11 V over 0.4 ohm the moment it is switched on: 27.5 A."""
    cold, _k, _beta = coil_shape(lab.part("glow plug"))
    assert 11.0 / cold == pytest.approx(27.5)
    assert 1e-3 / amps(lab, 1e-3) == pytest.approx(0.4, rel=1e-3)


def test_more_volts_always_make_more_current(lab: SimpleNamespace) -> None:
    shape = coil_shape(lab.part("glow plug"))
    found = [lamp_current(volts, *shape) for volts in (1.0, 3.0, 6.0, 9.0, 12.0, 24.0)]
    assert [current for current, _slope in found] == sorted(current for current, _slope in found)
    assert all(slope > 0.0 for _current, slope in found)


@pytest.mark.parametrize(
    ("fault", "share"), [(("aged", None, 0.5), 1 / 1.5), (("open", None, None), 0.0)]
)
def test_an_old_one_takes_less(lab: SimpleNamespace, fault: tuple, share: float) -> None:
    assert amps(lab, 11.0, fault) == pytest.approx(10.0 * share, rel=1e-5)


def test_a_plug_that_does_not_warm_is_refused(lab: SimpleNamespace) -> None:
    with pytest.raises(QuantityError, match="hot must lie above cold"):
        check_values(lab.part("glow plug", hot=0.3))
