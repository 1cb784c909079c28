"""Waveforms against closed forms: exponentials, a ring, energy, the average of a gate."""

import numpy as np
import pytest

from sim.network import CONDUCTANCE, INDUCTANCE
from sim.parts.family import Element, Law, Motion, Wave
from sim.solver.waveform import waveform
from tests.sim.waves import (
    battery,
    capacitor,
    coil,
    diode,
    gated,
    motor,
    relay,
    resistor,
    rig,
)

CLOSE = 2e-4  # of the peak


def test_a_capacitor_charges_through_a_resistor() -> None:
    """1 - exp(-t / RC) (OpenStax University Physics 2, 10.5)."""
    one = rig(
        battery(ohms=1e-6),
        resistor("S", "plus", "a", 1e-3),
        resistor("R", "a", "b", 1e3),
        capacitor("C", "b", "body", 1e-6),
        closes="S",
    )
    trace = one.run("b", "R", duration=5e-3)
    grown = 1 - np.exp(-trace.time / 1e-3)
    assert trace.status.tolist() == [0]
    np.testing.assert_allclose(trace.volts[0, 0], 12 * grown, atol=CLOSE * 12)
    np.testing.assert_allclose(trace.current[0, 0, 1:], 12e-3 * (1 - grown[1:]), atol=CLOSE * 12e-3)


def test_current_rises_in_a_coil() -> None:
    """1 - exp(-R t / L) (OpenStax University Physics 2, 14.4)."""
    one = rig(
        battery(ohms=1e-6),
        resistor("S", "plus", "a", 1e-6),
        coil("L", "a", "body", 10.0, 10e-3),
        closes="S",
    )
    trace = one.run("a", "L", duration=5e-3)
    grown = 1 - np.exp(-trace.time / 1e-3)
    np.testing.assert_allclose(trace.current[0, 0], 1.2 * grown, atol=CLOSE * 1.2)


@pytest.mark.parametrize("ohms", [2.0, 20.0, 80.0], ids=["rings", "damped", "creeps"])
def test_a_coil_and_a_capacitor_ring(ohms: float) -> None:
    """Series RLC on a step; underdamped OpenStax University Physics 2, 14.6; the rest derived."""
    henry, farad = 1e-3, 1e-6
    one = rig(
        battery(ohms=1e-6),
        resistor("S", "plus", "a", 1e-6),
        coil("L", "a", "b", ohms, henry),
        capacitor("C", "b", "body", farad),
        closes="S",
    )
    trace = one.run("b", duration=1e-3, step=1e-6)
    half, own = ohms / (2 * henry), 1 / (henry * farad)
    root = np.sqrt(complex(half * half - own))
    first, second = -half + root, -half - root
    time = trace.time
    shape = 1 - (second * np.exp(first * time) - first * np.exp(second * time)) / (second - first)
    np.testing.assert_allclose(trace.volts[0, 0], 12 * shape.real, atol=24 * 2e-3)


def test_current_goes_on_through_a_diode_and_its_energy_is_used_up() -> None:
    """L I^2 / 2 = what coil resistance and diode turn into heat (energy balance)."""
    one = rig(
        battery(),
        resistor("S", "plus", "a", 1e-3),
        coil("L", "a", "body", 20.0, 50e-3),
        diode("D", "body", "a"),
        opens="S",
    )
    trace = one.run("a", "L", duration=30e-3)
    volts, amps = trace.volts[0, 0], trace.current[0, 0]
    volts[0] = volts[1]  # the switch is still closed in the first sample
    stored = 0.5 * 50e-3 * amps[0] ** 2
    power = 20.0 * amps**2 - volts * amps
    assert np.trapezoid(power, trace.time) == pytest.approx(stored, rel=2e-3)
    assert volts[5] == pytest.approx(-0.0257 * 1.7 * np.log(amps[5] / 1e-9), abs=1e-3)


@pytest.mark.parametrize(("farad", "least", "most"), [(10e-9, 600, 720), (3e-9, 1000, 1500)])
def test_a_coil_cut_off_rings_with_its_winding_capacitance(
    farad: float, least: float, most: float
) -> None:
    """The kick reaches I sqrt(L / C) (all of L I^2 / 2 in C), a quarter period later.

    Unsuppressed 12 V relays reach 1000 V to 1500 V (TE application note 13C3311): with some 3 nF.
    """
    henry = 0.25
    one = rig(
        battery(ohms=1e-6),
        resistor("S", "plus", "a", 1e-6),
        coil("L", "a", "body", 85.0, henry),
        capacitor("C", "a", "body", farad),
        opens="S",
    )
    trace = one.run("a", duration=200e-6, step=1e-6)
    amps, damping = 12 / 85, np.exp(-85 / (2 * henry) * np.pi / 2 * np.sqrt(henry * farad))
    peak = trace.volts[0, 0].argmin()
    assert least < -trace.volts[0, 0, peak] < most
    assert trace.volts[0, 0, peak] == pytest.approx(
        -amps * np.sqrt(henry / farad) * damping, rel=0.02
    )
    assert trace.time[peak] == pytest.approx(np.pi / 2 * np.sqrt(henry * farad), rel=0.05)


def test_a_coil_without_any_way_round_gives_finite_readings() -> None:
    one = rig(
        battery(), resistor("S", "plus", "a", 1e-3), coil("L", "a", "body", 85.0, 0.25), opens="S"
    )
    trace = one.run("a plus", "L", duration=2e-3)
    assert np.isfinite(trace.volts).all()
    assert np.isfinite(trace.current).all()
    assert trace.current[0, 0, 0] == pytest.approx(12 / 85, rel=1e-3)
    assert abs(trace.current[0, 0, -1]) < 1e-6


def chopped(duty: float, rate: float, ohms: float, henry: float, volts: float) -> tuple:
    """Give least, most and mean current of a coil in continuous conduction (derived).

    The driver connects `volts` for the duty and 0 V for the rest: with a = T R / L, I_max = V/R (1
    - exp(-D a)) / (1 - exp(-a)), I_min = I_max exp(-(1 - D) a), and the mean D V / R.
    """
    a = ohms / henry / rate
    most = volts / ohms * (1 - np.exp(-duty * a)) / (1 - np.exp(-a))
    return most * np.exp(-(1 - duty) * a), most, duty * volts / ohms


@pytest.mark.parametrize("duty", [0.2, 0.5, 0.85])
def test_a_chopped_coil_has_the_ripple_and_the_average_of_the_book(duty: float) -> None:
    """A second gate, open when the first is closed, stands for an ideal diode."""
    rate, ohms, henry = 1000.0, 8.0, 10e-3
    high = gated("G", "plus", "a", 1e-6, duty, rate)
    low = Element(
        "H",
        "a",
        "body",
        1e6,
        motion=Motion(wave=Wave.SWITCHED, amplitude=1 - duty, frequency=rate, phase=1 - duty),
    )
    one = rig(battery(ohms=1e-6), high, low, coil("L", "a", "body", ohms, henry))
    trace = one.run("a", "L", duration=5e-3, lead_in=20e-3)
    amps = trace.current[0, 0]
    least, most, mean = chopped(duty, rate, ohms, henry, 12.0)
    assert (amps.min(), amps.max()) == pytest.approx((least, most), rel=1e-3)
    assert np.mean(amps[:-1]) == pytest.approx(mean, rel=1e-3)
    on = trace.volts[0, 0, 1:] > 6
    assert on.mean() == pytest.approx(duty, abs=0.003)


def test_a_sine_through_a_coil_lags() -> None:
    """Amplitude V / |R + j w L| and phase atan(w L / R) (OpenStax University Physics 2, 15.3)."""
    wave = Motion(wave=Wave.SINE, amplitude=5.0, frequency=50.0, phase=0.125)
    one = rig(Element("B", "a", "body", 1e6, 2.0, motion=wave), coil("L", "a", "body", 3.0, 10e-3))
    trace = one.run("a", "L", duration=40e-3, step=1e-4, lead_in=0.1)
    reactance = 2 * np.pi * 50 * 10e-3
    angle = 2 * np.pi * (50 * trace.time + 0.125)
    lag = np.arctan2(reactance, 3.0)
    amps = 2 / 3 + 5 / np.hypot(3.0, reactance) * np.sin(angle - lag)
    np.testing.assert_allclose(trace.volts[0, 0], 2 + 5 * np.sin(angle), atol=7 * CLOSE)
    np.testing.assert_allclose(trace.current[0, 0], amps, atol=2 * CLOSE)


def test_a_motor_with_a_straight_load_comes_up_exponentially() -> None:
    """C de/dt = (V - e) / R - i0 - b e: time constant C / (1 / R + b) (derived)."""
    spins = Motion(capacitance=2.0)
    law = {"law": Law.MOTOR, "shape": (1.5, 0.3, 0.0), "motion": spins}
    one = rig(
        battery(ohms=1e-6),
        resistor("S", "plus", "a", 1e-6),
        Element("M", "a", "body", 1 / 0.4, **law),
        closes="S",
    )
    trace = one.run("a", "M", duration=3.0, step=1e-3)
    pull = 1 / 0.4 + 0.3
    back = (12 / 0.4 - 1.5) / pull * (1 - np.exp(-pull / 2.0 * trace.time))
    np.testing.assert_allclose(trace.current[0, 0, 1:], (12 - back[1:]) / 0.4, atol=30 * CLOSE)


def test_a_motor_runs_out_and_stands_still() -> None:
    """Cut off, C de/dt = -(i0 + b e): it stands after C / b ln(1 + b e0 / i0) (derived)."""
    law = {"law": Law.MOTOR, "shape": (1.5, 0.3, 0.0), "motion": Motion(capacitance=2.0)}
    one = rig(
        battery(ohms=1e-6),
        resistor("S", "plus", "a", 1e-6),
        Element("M", "a", "body", 1 / 0.4, **law),
        opens="S",
    )
    trace = one.run("a", duration=9.0, step=1e-2)
    back = trace.volts[0, 0, 1:]
    first = (12 / 0.4 - 1.5) / (1 / 0.4 + 0.3)
    stands = 2.0 / 0.3 * np.log(1 + 0.3 * first / 1.5)
    running = (first + 5.0) * np.exp(-0.15 * trace.time[1:]) - 5.0
    np.testing.assert_allclose(back, np.maximum(running, 0.0), atol=12 * 1e-3)
    assert trace.time[1:][back > 0.01][-1] == pytest.approx(stands, abs=0.03)


def test_a_motor_that_is_too_weak_stays_where_it_is() -> None:
    one = rig(
        battery(12.0, 20.0),
        resistor("S", "plus", "a", 1e-3),
        motor("M", "a", "body"),
        closes="S",
    )
    trace = one.run("a", "M", duration=20e-3)
    assert trace.current[0, 0, -1] == pytest.approx(12 / (20 + 0.3), rel=1e-3)
    assert trace.volts[0, 0, -1] == pytest.approx(12 / (20 + 0.3) * 0.3, rel=1e-2)


def test_a_relay_pulls_in_when_its_coil_has_current_enough() -> None:
    """At I = 7 V / 85 ohm: t = -L / R ln(1 - I R / V) (derived)."""
    one = rig(
        battery(ohms=1e-6),
        resistor("S", "plus", "a", 1e-6),
        *relay("K", ("a", "body"), ("plus", "b")),
        resistor("R", "b", "body", 10.0),
        closes="S",
    )
    trace = one.run("b", "R", duration=8e-3)
    expected = -0.25 / 85 * np.log(1 - 7 / 12)
    on = trace.time[trace.volts[0, 0] > 6][0]
    assert expected < on <= expected + 2e-5
    assert trace.closed.tolist() == [[1]]


def test_a_relay_drops_out_later_with_a_diode() -> None:
    """Its current falls from V / R to 2.5 V / 85 ohm against R and a damper, or R and the diode."""
    elements = (
        battery(ohms=1e-6),
        resistor("S", "plus", "a", 1e-6),
        *relay("K", ("a", "body"), ("plus", "b")),
        resistor("R", "b", "body", 10.0),
    )
    free = rig(*elements, resistor("damper", "a", "body", 680.0), opens="S")
    caught = rig(*elements, diode("D", "body", "a"), opens="S")
    times = []
    for one in (free, caught):
        trace = one.run("b a", duration=15e-3)
        assert trace.closed.tolist() == [[0]]
        times.append(trace.time[trace.volts[0, 0] > 6][-1])
    assert times[0] == pytest.approx(0.25 / 765 * np.log(12 / 2.5), rel=0.02)
    assert times[1] == pytest.approx(0.25 / 85 * np.log((12 + 0.75) / (2.5 + 0.75)), rel=0.02)


def test_a_relay_that_feeds_itself_buzzes() -> None:
    """With inductance it has a frequency; without any it never comes to rest."""
    coil_, contact = relay("K", ("a", "body"), ("plus", "a"))
    contact = Element("c", "plus", "a", 1e3, law=Law.CONTACT, shape=(1.0, 0.0, 0.0), relay="K")
    one = rig(battery(), resistor("S", "a", "b", 1e-3), coil_, contact, diode("D", "body", "a"))
    still = one.after.copy()
    still[0, one.solver.network.element("Kcoil"), INDUCTANCE] = 0.0
    kicked = one.before.copy()
    kicked[0, one.solver.network.element("B"), CONDUCTANCE] = 0.0
    arguments = {"duration": 50e-3, "step": 1e-4, "points": one.nodes(["a"])}
    buzzes = waveform(one.solver, kicked, one.after, one.lanes(), **arguments)
    assert buzzes.status.tolist() == [0]
    ups = np.count_nonzero(np.diff(np.sign(buzzes.volts[0, 0] - 6)) > 0)
    assert 2 <= ups <= 50
    stuck = waveform(one.solver, kicked, still, one.lanes(), **arguments)
    assert stuck.status.tolist() == [2]
    assert np.isfinite(stuck.volts).all()


def test_a_fuse_blows_when_its_limit_is_reached() -> None:
    """5 A in a coil of 1 mH that would take 12 A: t = -L / R ln(1 - 5 / 12)."""
    one = rig(
        battery(ohms=1e-6),
        resistor("S", "plus", "a", 1e-6),
        Element("F", "a", "b", 1e3, law=Law.FUSE, shape=(5.0, 0.0, 0.0)),
        coil("L", "b", "body", 0.999, 1e-3),
        diode("D", "body", "b"),
        closes="S",
    )
    trace = one.run("b", "L F", duration=2e-3)
    assert trace.blown.tolist() == [[1, 0, 0]]
    assert trace.current[0, 0].max() == pytest.approx(5.0, rel=3e-2)
    expected = -1e-3 * np.log(1 - 5 / 12)
    assert trace.time[trace.current[0, 1] > 1][-1] == pytest.approx(expected, abs=2e-5)
