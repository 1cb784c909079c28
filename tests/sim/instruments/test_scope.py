"""The oscilloscope against its own specification and against closed forms."""

import numpy as np
import pytest

from sim.errors import ActionError
from sim.instruments.scope import (
    LEVELS,
    SAMPLES,
    Channel,
    Trigger,
    low_pass,
    quantise,
    sample_step,
    show,
)

TIME = np.arange(20001) * 1e-5
PWM = np.where((TIME * 100.0 + 0.7) % 1 < 0.3, 12.0, 0.2)


def test_a_gate_is_read_off_the_screen() -> None:
    screen = show(TIME, (PWM,), (Channel("V", 5.0),), 5e-3, Trigger(0, 6.0))
    line = screen.lines[0]
    step = 5.0 * 8 / LEVELS
    assert screen.triggered
    assert len(line.values) == SAMPLES
    assert line.frequency == pytest.approx(100.0, rel=1e-2)
    assert line.duty == pytest.approx(0.3, abs=0.01)
    assert (line.least, line.most) == pytest.approx((0.2, 12.0), abs=step / 2)
    assert line.peak_to_peak == line.most - line.least
    assert line.mean == pytest.approx(0.3 * 12 + 0.7 * 0.2, abs=step)


@pytest.mark.parametrize("rising", [True, False])
@pytest.mark.parametrize("before", [0.0, 0.25, 0.5])
def test_the_trigger_stands_where_it_should(before, rising) -> None:
    screen = show(TIME, (PWM,), (Channel(),), 2e-3, Trigger(0, 6.0, rising, before))
    assert screen.time[0] == pytest.approx(-before * 20e-3)
    high = screen.lines[0].values > 6
    after = screen.time > 2 * sample_step(2e-3)
    assert high[after][0] == rising
    if before:
        assert high[screen.time < -2 * sample_step(2e-3)][-1] != rising


def test_a_level_that_is_not_reached_gives_an_untriggered_screen() -> None:
    screen = show(TIME, (PWM,), (Channel(),), 2e-3, Trigger(0, 20.0))
    assert not screen.triggered
    assert screen.time[0] == 0.0


def test_eight_bits_over_eight_divisions() -> None:
    channel = Channel("V", 1.0, 2.0)
    ramp = np.linspace(-10.0, 10.0, 100001)
    shown = quantise(ramp, channel)
    assert len(np.unique(shown)) == LEVELS
    assert (shown.min(), shown.max()) == (-2.0, 6.0 - 8 / LEVELS)
    inside = (ramp > -2.0) & (ramp < 5.9)
    assert np.abs(shown - ramp)[inside].max() <= 8 / LEVELS / 2 + 1e-12


def test_the_pole_delays_a_step_and_shrinks_a_sine() -> None:
    """1 - exp(-2 pi f t); 1 / sqrt 2 at the pole (OpenStax University Physics 2, 10.5; 15.3)."""
    time = np.arange(4001) * 1e-7
    step = low_pass(np.where(time > 0, 1.0, 0.0), 1e-7, 20e3)
    grown = 1 - np.exp(-2 * np.pi * 20e3 * (time - 0.5e-7))
    np.testing.assert_allclose(step[1:], grown[1:], atol=1e-4)
    sine = low_pass(np.sin(2 * np.pi * 20e3 * time), 1e-7, 20e3)
    assert np.abs(sine[2000:]).max() == pytest.approx(1 / np.sqrt(2), rel=1e-3)


def test_a_clamp_is_slower_than_a_probe() -> None:
    time = np.arange(1001) * 1e-6
    spike = np.where((time > 3e-4) & (time < 3.05e-4), 10.0, 0.0)
    channels = (Channel("V", 5.0), Channel("A", 5.0))
    volts, amps = show(time, (spike, spike), channels, 1e-4).lines
    assert volts.most == pytest.approx(10.0, abs=0.2)
    assert amps.most < 6.0


def test_two_channels_share_the_trigger() -> None:
    other = np.roll(PWM, 300)
    channels = (Channel(), Channel("A", 2.0))
    screen = show(TIME, (PWM, other), channels, 2e-3, Trigger(1, 6.0, before=0.0))
    assert [line.unit for line in screen.lines] == ["V", "A"]
    assert screen.lines[1].values[5] > 6
    assert screen.lines[1].most == 2.0 * 4 - 2.0 * 8 / LEVELS


@pytest.mark.parametrize(
    ("channels", "base", "trigger", "says"),
    [
        ((Channel("V", 3.0),), 2e-3, None, "no 3 V per division"),
        ((Channel("W", 1.0),), 2e-3, None, "no 1 W per division"),
        ((Channel(),), 3e-3, None, "s per division"),
        ((Channel(),), 1.0, None, "shorter than the screen"),
        ((Channel(),), 2e-3, Trigger(1, 0.0), "channel 2 of 1"),
        ((Channel(), Channel()), 2e-3, None, "2 channels"),
    ],
)
def test_settings_it_does_not_have_are_refused(channels, base, trigger, says) -> None:
    with pytest.raises(ActionError, match=says):
        show(TIME, (PWM,), channels, base, trigger)
