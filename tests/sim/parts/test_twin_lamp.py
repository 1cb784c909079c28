"""Lamps with two filaments: each by itself, and together when the ground is lost."""

from types import SimpleNamespace

import pytest

from sim.parts.lamp import filament_shape
from sim.solver.laws import lamp_current


def lit(lab: SimpleNamespace, main: float, tail: float, *faults: tuple) -> object:
    """Put voltages on the two feeds; each feed's other lamps are 6 ohm to the body."""
    lamp = lab.elements("twin lamp", name="L1", faults=faults)
    feeds = [
        lab.source(f"feed {pin}", f"L1.{pin}", "body", volts)
        if volts
        else lab.resistor(f"feed {pin}", f"L1.{pin}", "body", 6.0)
        for pin, volts in (("main", main), ("tail", tail))
    ]
    return lab.solve(*lamp, *feeds, lab.resistor("ground", "L1.ground", "body", 1e-6))


@pytest.mark.parametrize(
    ("main", "tail", "watts"), [(13.5, 0.0, (25.0, 0.0)), (0.0, 13.5, (0.0, 6.0))]
)
def test_power_at_the_test_voltage(
    lab: SimpleNamespace, main: float, tail: float, watts: tuple[float, float]
) -> None:
    """P21/5W, Directive 97/24/EC annex: at 13.5 V 25 W +-6 % and 6 W +-10 %."""
    answer = lit(lab, main, tail)
    for which, power, spread in (("main", watts[0], 0.06), ("tail", watts[1], 0.10)):
        name = f"L1 {which} filament"
        found = answer.drop[name] * answer.current[name]
        assert found == pytest.approx(power, rel=spread, abs=1e-4)


def test_without_ground_the_current_returns_through_the_other_filament(
    lab: SimpleNamespace,
) -> None:
    """Tail feed on, ground open: 5 W and 21 W filament in series with the brake lamps' 6 ohm."""
    answer = lit(lab, 0.0, 12.0, ("open", "ground", None))
    amps = answer.current["L1 tail filament"]
    assert amps == pytest.approx(-answer.current["L1 main filament"], rel=1e-9)
    tail, main = answer.drop["L1 tail filament"], -answer.drop["L1 main filament"]
    assert tail + main + 6.0 * amps == pytest.approx(12.0, rel=2e-3)
    assert tail > 9.0
    assert main < 2.0
    assert lamp_current(tail, *filament_shape(12.0, 5.0))[0] == pytest.approx(amps, rel=1e-9)


def test_touching_filaments_join_the_feeds(lab: SimpleNamespace) -> None:
    answer = lit(lab, 0.0, 12.0, ("filaments touch", None, None))
    assert answer.drop["L1 main filament"] > 11.0
    assert answer.current["feed main"] > 1.5


@pytest.mark.parametrize("which", ["main", "tail"])
def test_one_filament_burns_out_alone(lab: SimpleNamespace, which: str) -> None:
    answer = lit(lab, 12.0, 12.0, (f"{which} filament open", None, None))
    other = {"main": "tail", "tail": "main"}[which]
    assert answer.current[f"L1 {which} filament"] == 0.0
    assert answer.current[f"L1 {other} filament"] > 0.3
