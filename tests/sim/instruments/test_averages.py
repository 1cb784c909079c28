"""Mean and RMS of the waveforms of the books: sines, rectified sines, pulses."""

import numpy as np
import pytest

from sim.instruments.averages import (
    crossings,
    mean,
    mean_square,
    period,
    read_ac,
    read_dc,
    whole_periods,
)

TIME = np.linspace(0.0, 0.3, 30001)
ANGLE = 2 * np.pi * 50 * TIME


@pytest.mark.parametrize(
    ("values", "average", "effective"),
    [
        (np.sin(ANGLE), 0.0, 1 / np.sqrt(2)),
        (np.abs(np.sin(ANGLE)), 2 / np.pi, 1 / np.sqrt(2)),
        (np.maximum(np.sin(ANGLE), 0.0), 1 / np.pi, 0.5),
        (np.full(len(TIME), 3.0), 3.0, 3.0),
    ],
    ids=["sine", "full wave", "half wave", "constant"],
)
def test_mean_and_rms_of_the_books(values, average, effective) -> None:
    """2/pi, 1/pi, 1/sqrt 2, 1/2 of the peak (Lessons in Electric Circuits II, 1.3 and III, 3.4)."""
    assert mean(TIME, values) == pytest.approx(average, abs=1e-6)
    assert np.sqrt(mean_square(TIME, values)) == pytest.approx(effective, rel=1e-6)


@pytest.mark.parametrize("duty", [0.1, 0.4, 0.9])
def test_pulses_read_as_their_duty(duty: float) -> None:
    """Mean D V, RMS V sqrt D; without the mean V sqrt(D (1 - D)) (derived)."""
    pulses = np.where(duty > (TIME * 1000.0 + 0.13) % 1, 12.0, 0.0)
    near = 12 * 0.01  # a period has 100 samples
    assert read_dc(TIME, pulses) == pytest.approx(12 * duty, abs=near)
    assert np.sqrt(mean_square(TIME, pulses)) == pytest.approx(12 * np.sqrt(duty), abs=2 * near)
    assert read_ac(TIME, pulses) == pytest.approx(12 * np.sqrt(duty * (1 - duty)), abs=2 * near)
    found = period(TIME, pulses)
    assert found
    assert (found.frequency, found.duty) == pytest.approx((1000.0, duty), rel=0.03)


def test_an_ac_meter_takes_the_mean_off() -> None:
    assert read_ac(TIME, 14 + 0.2 * np.sin(ANGLE)) == pytest.approx(0.2 / np.sqrt(2), rel=1e-6)
    assert read_dc(TIME, 14 + 0.2 * np.sin(ANGLE)) == pytest.approx(14.0, rel=1e-6)
    assert read_ac(TIME, np.full(len(TIME), 5.0)) == 0.0


def test_a_period_cut_in_two_does_not_count() -> None:
    """2.5 periods on the record: the mean is that of two."""
    time = np.linspace(0.0, 2.5, 2501)
    wave = np.sin(2 * np.pi * time + 1.0)
    assert abs(mean(time, wave)) > 0.01
    assert mean(*whole_periods(time, wave)) == pytest.approx(0.0, abs=1e-5)


def test_only_the_last_window_counts() -> None:
    time = np.linspace(0.0, 1.0, 10001)
    assert read_dc(time, np.where(time < 0.6, 100.0, 7.0)) == pytest.approx(7.0)


def test_noise_makes_no_crossing() -> None:
    time = np.linspace(0.0, 1.0, 4001)
    noisy = np.sin(2 * np.pi * 3 * time) + 0.05 * np.sin(2 * np.pi * 300 * time)
    up, down = crossings(time, noisy)
    assert (len(up), len(down)) == (2, 3)
    np.testing.assert_allclose(down, [1 / 6, 1 / 2, 5 / 6], atol=0.01)


def test_what_does_not_repeat_has_no_period() -> None:
    assert period(TIME, np.exp(-TIME)) is None
    assert period(TIME, np.zeros(len(TIME))) is None
