"""Lamps switched on, dimmed and pulsed: closed forms, energy, published figures."""

from dataclasses import replace

import numpy as np
import pytest

from sim.network import CAPACITANCE
from sim.parts.family import STILL
from sim.parts.lamp import filament_shape, heat_capacity
from sim.solver.filament import GROWTH, ROOM, given_off
from sim.solver.laws import lamp_current
from sim.solver.waveform import Trace
from tests.sim.waves import Rig, battery, capacitor, coil, gated, lamp, resistor, rig

STIFF = 1e-6  # ohm


def switched_on(watts: float) -> Rig:
    """Give a cold lamp on 12 V."""
    feed = resistor("S", "plus", "a", STIFF)
    return rig(battery(ohms=STIFF), feed, lamp("H", "a", "body", watts), closes="S")


def kelvin_of(trace: Trace, watts: float) -> np.ndarray:
    """Give the temperature at each sample but the first, from V / I."""
    cold = filament_shape(12.0, watts)[0]
    ohms = trace.volts[0, 0, 1:] / trace.current[0, 0, 1:]
    return ROOM * (ohms / cold) ** (1 / GROWTH)


def light(trace: Trace, watts: float) -> np.ndarray:
    """Give the light as a share of the nominal, by the voltage that would hold the filament."""
    cold, k, beta = filament_shape(12.0, watts)
    ohms = trace.volts[0, 0, 1:] / trace.current[0, 0, 1:]
    return (np.maximum((ohms - cold) / k, 0.0) ** (1 / beta) / 12.0) ** 3.4


@pytest.mark.parametrize("watts", [5.0, 21.0, 30.0, 55.0])
def test_a_cold_lamp_takes_ten_to_fifteen_times_its_current(watts: float) -> None:
    """Common practice, no source; the headlight of OpenStax (30 W) 34 A: 12.0 V over 0.350 ohm."""
    trace = switched_on(watts).run("a", "H", duration=1e-4, step=1e-6)
    first = trace.current[0, 0, 1]
    assert first == pytest.approx(12.0 / filament_shape(12.0, watts)[0], rel=2e-3)
    assert 10.0 <= first / (watts / 12.0) <= 15.0
    if watts == 30.0:
        assert first == pytest.approx(34.0, abs=0.5)


@pytest.mark.parametrize("watts", [5.0, 21.0])
def test_it_ends_at_its_steady_current(watts: float) -> None:
    trace = switched_on(watts).run("a", "H", duration=1.0, step=1e-3)
    assert trace.current[0, 0, -1] == pytest.approx(
        lamp_current(trace.volts[0, 0, -1], *filament_shape(12.0, watts))[0], rel=1e-6
    )


def test_the_first_milliseconds_are_those_of_heat_that_stays() -> None:
    """Without loss C dT/dt = V^2 / R: (T / T0)^2.2 = 1 + 2.2 V^2 t / (R_cold C T0), derived.

    Its current halves when T = T0 2^(1 / 1.2). What it gives off is below 1 % up to there.
    """
    trace = switched_on(21.0).run("a", "H", duration=4e-3)
    cold = filament_shape(12.0, 21.0)[0]
    rate = 2.2 * 144.0 / (cold * heat_capacity(12.0, 21.0) * ROOM)
    expected = ROOM * (1.0 + rate * trace.time[1:]) ** (1 / 2.2)
    np.testing.assert_allclose(kelvin_of(trace, 21.0), expected, rtol=1e-3)
    halves = (2.0 ** (2.2 / 1.2) - 1.0) / rate
    amps = trace.current[0, 0]
    at = trace.time[np.argmax(amps[1:] < 0.5 * 12.0 / cold) + 1]
    assert at == pytest.approx(halves, abs=3e-5)


def test_what_it_takes_is_in_its_heat_or_given_off() -> None:
    """Energy balance: of the work V I, C (T - T0) stays and P(T) goes."""
    trace = switched_on(21.0).run("a", "H", duration=0.2, step=2e-5)
    kelvin, shape = kelvin_of(trace, 21.0), filament_shape(12.0, 21.0)
    volts, amps = trace.volts[0, 0, 1:], trace.current[0, 0, 1:]
    gone = np.array([given_off(ohms, *shape)[0] for ohms in volts / amps])
    stays = heat_capacity(12.0, 21.0) * (kelvin[-1] - kelvin[0])
    work = np.trapezoid(volts * amps - gone, trace.time[1:])
    assert stays == pytest.approx(work, rel=1e-3)


def test_a_brake_lamp_is_bright_after_a_fifth_of_a_second() -> None:
    """About 0.2 s to 0.25 s to 90 % of the light (Sivak et al., Ergonomics 1994, from memory)."""
    trace = switched_on(21.0).run("a", "H", duration=0.5, step=1e-3)
    at = trace.time[1 + np.argmax(light(trace, 21.0) >= 0.9)]
    assert 0.19 <= at <= 0.26


def test_thicker_filaments_are_slower() -> None:
    """The heat capacity goes as P I^(2/3), and the time with it as I^(2/3) (derived)."""
    times = []
    for watts in (5.0, 40.0):
        trace = switched_on(watts).run("a", "H", duration=0.5, step=1e-3)
        times.append(trace.time[1 + np.argmax(light(trace, watts) >= 0.9)])
    assert times[1] / times[0] == pytest.approx(8.0 ** (2 / 3), rel=0.03)


@pytest.mark.parametrize("duty", [0.1, 0.5, 0.9])
def test_pulses_heat_it_as_their_rms_does(duty: float) -> None:
    """At 200 Hz a filament keeps its heat: mean power V^2 d / R, with R at V sqrt(d) (derived)."""
    one = rig(
        battery(ohms=STIFF),
        gated("G", "plus", "a", STIFF, duty, 200.0),
        lamp("H", "a", "body", 21.0),
    )
    trace = one.run("a", "H", duration=0.1, step=5e-5, lead_in=1.0)
    power = np.mean((trace.volts * trace.current)[0, 0, :-1])
    effective = 12.0 * np.sqrt(duty)
    assert power == pytest.approx(
        effective * lamp_current(effective, *filament_shape(12.0, 21.0))[0], rel=0.01
    )


def test_a_lamp_that_is_lit_stays_as_it_is() -> None:
    """What is switched beside it moves it by no more than its feed sags."""
    one = rig(
        battery(ohms=STIFF),
        lamp("H", "plus", "body", 21.0),
        resistor("S", "plus", "a", 1.0),
        capacitor("C", "a", "body", 1e-6),
        closes="S",
    )
    trace = one.run("plus", "H", duration=20e-3)
    steady = lamp_current(12.0, *filament_shape(12.0, 21.0))[0]
    np.testing.assert_allclose(trace.current[0, 0], steady, rtol=2e-5)


def test_without_a_heat_capacity_it_is_hot_at_once() -> None:
    plain = replace(lamp("H", "a", "body", 21.0), motion=STILL)
    one = rig(battery(ohms=STIFF), resistor("S", "plus", "a", STIFF), plain, closes="S")
    trace = one.run("a", "H", duration=1e-3)
    steady = lamp_current(12.0, *filament_shape(12.0, 21.0))[0]
    np.testing.assert_allclose(trace.current[0, 0, 1:], steady, rtol=1e-4)


def test_the_steady_state_does_not_know_of_it() -> None:
    """Bit for bit, whatever the heat capacity is."""
    one = rig(battery(), resistor("R", "plus", "a", 0.5), lamp("H", "a", "body", 21.0))
    number = one.solver.network.element("H")
    assert one.before[0, number, CAPACITANCE] > 0.0
    rows = np.repeat(one.before, 2, axis=0)
    rows[1, number, CAPACITANCE] = 0.0
    found = one.solver.solve(rows, one.solver.lanes(np.arange(2)))
    np.testing.assert_array_equal(found.volts[0], found.volts[1])
    np.testing.assert_array_equal(found.current[0], found.current[1])


def test_one_lane_and_many_give_the_same_bits() -> None:
    one = rig(
        battery(),
        resistor("S", "plus", "a", 3e-3),
        lamp("H", "a", "body", 21.0),
        lamp("N", "a", "b", 5.0),
        coil("L", "b", "body", 2.0, 1e-3),
        closes="S",
    )
    alone = one.run("a b", "H N", duration=20e-3)
    many = one.run("a b", "H N", duration=20e-3, lanes=one.lanes(5))
    assert many.status.tolist() == [0] * 5
    for lane in range(5):
        np.testing.assert_array_equal(many.current[lane], alone.current[0])
        np.testing.assert_array_equal(many.volts[lane], alone.volts[0])
