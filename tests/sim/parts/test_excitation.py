"""How much EMF a bridge needs for a current. Outside values and closed forms first.

Textbooks of uncontrolled rectifiers: no current below a peak between two windings of the direct
voltage; at large currents the fundamental, ``E^2 = V1^2 + (w L I1)^2`` with V1 = sqrt(2) / pi U and
I1 = pi / sqrt(18) I (rms). Between them the ideal circuit, integrated here once more.
"""

import math

import numpy as np
import pytest

from sim.parts.excitation import (
    CONTINUOUS,
    PULSES,
    behind_open_diode,
    behind_shorted_diode,
    diode_drop,
    excitation,
)


def amplitude(x: float, share: float = 0.0) -> float:
    """Give the amplitude per unit for a current per unit, with R a share of w L."""
    one = np.ones(1)
    return float(excitation(one, np.array([x]), one, np.array([share]))[0])


def integrated(a: np.ndarray, share: float, fault: str = "", periods: int = 10) -> np.ndarray:
    """Give the mean currents per unit into the plus rail of ideal diodes, step by step."""
    steps, small = 3000, 2e-3
    step, phase = 2 * math.pi / steps, np.arange(3)[:, None] * 2 * math.pi / 3
    amps, total = np.zeros((3, len(a))), np.zeros(len(a))
    for number in range(periods * steps):
        ends = 0.5 * np.minimum(np.maximum(amps / small, -1.0), 1.0)
        if fault == "open":
            ends[0] = np.where(amps[0] > 0.0, 0.5 * amps[0] / small, ends[0])
        elif fault == "shorted":
            ends[0] = 0.5
        drives = a * np.sin((number + 0.5) * step - phase) - ends - share * amps
        amps = amps + step * (drives - drives.mean(axis=0))
        if number >= (periods - 1) * steps:
            rail = np.maximum(amps, 0.0)
            rail[0] = {"open": 0.0, "shorted": amps[0]}.get(fault, rail[0])
            total += rail.sum(axis=0)
    return total / steps


def test_no_current_needs_the_peak_between_two_windings() -> None:
    assert amplitude(0.0) == pytest.approx(1 / math.sqrt(3))


def test_large_currents_need_what_the_fundamental_says() -> None:
    x = 5.0
    volts, drop = math.sqrt(2) / math.pi, math.pi / math.sqrt(18) * x
    assert amplitude(x) == pytest.approx(math.sqrt(2) * math.hypot(volts, drop), rel=0.005)


def test_where_the_pulses_meet_the_amplitude_neither_jumps_nor_falls() -> None:
    found = [amplitude(x) for x in np.linspace(0.0, 1.0, 2001)]
    steps = np.diff(found)
    assert (steps > 0.0).all()
    near = [amplitude(CONTINUOUS - 1e-9), amplitude(CONTINUOUS + 1e-9)]
    assert near[0] == pytest.approx(near[1], abs=1e-6)
    assert len(PULSES[0]) == len(PULSES[1])


@pytest.mark.parametrize("share", [0.05, 0.15])
def test_what_it_says_is_what_the_integrated_circuit_needs(share: float) -> None:
    a = np.array([0.64, 0.70, 0.80, 1.2, 2.0])
    found = [amplitude(x, share) for x in integrated(a, share)]
    assert found == pytest.approx(a, rel=0.01)


def test_an_open_diode_costs_current() -> None:
    """Held against the integration: what is left, asked for, gives the sound current."""
    a, share = np.array([0.8, 1.2, 2.0]), 0.1
    sound, left, unit = integrated(a, share), integrated(a, share, "open", 25), np.ones(3)
    assert (left < 0.95 * sound).all()
    assert behind_open_diode(unit, left, unit) == pytest.approx(sound, rel=0.04)


def test_a_shorted_diode_leaves_little() -> None:
    a, share = np.array([1.2, 2.0, 3.0]), 0.1
    sound, left, unit = integrated(a, share), integrated(a, share, "shorted", 25), np.ones(3)
    assert (left < 0.4 * sound).all()
    assert behind_shorted_diode(unit, left, share * unit) == pytest.approx(sound, rel=0.2)


def test_a_diode_drops_what_shockley_says() -> None:
    """1 V at 50 A, as the rectifier's figures are meant."""
    assert float(diode_drop(np.array([50.0]), 1e-8, 0.045)[0]) == pytest.approx(1.0, abs=0.01)
    assert float(diode_drop(np.zeros(1), 1e-8, 0.045)[0]) == 0.0
