"""A lane that repeats itself is not run again: against the same circuit run to its end.

A sine far away whose rhythm fits no other has no round in common with the rest, so that every step
is made; it moves nothing that is looked at. Bounds are what the parabola of a step may miss
(`sim.solver.transient.SHAPE_ERROR`), of the peak.
"""

import numpy as np
import pytest

from sim.network import AMPLITUDE, CONDUCTANCE, FREQUENCY, ROW, WAVE
from sim.parts.family import Element, Motion, Wave
from sim.solver.leaping import COMES_BACK
from sim.solver.transient import SHAPE_ERROR, longest_step
from tests.sim.waves import (
    RECTIFIER,
    Rig,
    battery,
    capacitor,
    coil,
    diode,
    gated,
    lamp,
    motor,
    resistor,
    rig,
)

HERTZ = 230.0


def sine(name: str, a: str, volts: float, hertz: float, turns: float = 0.0) -> Element:
    motion = Motion(inductance=1e-4, wave=Wave.SINE, amplitude=volts, frequency=hertz, phase=turns)
    return Element(name, a, "body", 10.0, motion=motion)


def without_end() -> list[Element]:
    """Give a sine and its load whose rhythm has nothing in common with others."""
    return [sine("far", "island", 1.0, HERTZ * 2**0.5), resistor("load", "island", "body", 1e3)]


def three_phases() -> list[Element]:
    """Give three windings with a little load each, six diodes, a capacitor, a battery, a load."""
    parts = [battery(), capacitor("C", "plus", "body", 1e-6), resistor("R", "plus", "body", 2.0)]
    for number, name in enumerate("UVW"):
        parts += [sine(name, f"at{name}", 14.0, HERTZ, -number / 3)]
        parts += [resistor(f"{name}load", f"at{name}", "body", 1e3)]
        parts += [diode(f"{name}plus", f"at{name}", "plus", RECTIFIER)]
        parts += [diode(f"{name}minus", "body", f"at{name}", RECTIFIER)]
    return parts


def both(parts: list[Element], **how: float) -> tuple[np.ndarray, np.ndarray]:
    """Return the curves at plus and through U of a circuit, with rounds left out and without."""
    one, other = rig(*parts), rig(*parts, *without_end())
    first, second = (each.run("plus", "U", **how) for each in (one, other))
    assert first.status.tolist() == second.status.tolist() == [0]
    return (
        np.concatenate([first.volts[0], first.current[0]]),
        np.concatenate([second.volts[0], second.current[0]]),
    )


@pytest.mark.parametrize("lead_in", [0.0, 0.05])
def test_a_rectifier_shows_what_it_shows_run_to_its_end(lead_in: float) -> None:
    curves, whole = both(three_phases(), duration=0.1, step=2e-5, lead_in=lead_in)
    missed = np.abs(curves - whole).max(axis=1) / np.abs(whole).max(axis=1)
    assert missed.max() < 2 * SHAPE_ERROR


def test_a_chopped_coil_shows_what_it_shows_run_to_its_end() -> None:
    parts = [
        battery(),
        gated("G", "plus", "on", 0.01, 0.3, 1000.0),
        coil("U", "on", "body", 2.0, 4e-3),
        diode("D", "body", "on"),
    ]
    curves, whole = both(parts, duration=0.05, step=1e-5, lead_in=0.02)
    missed = np.abs(curves - whole).max(axis=1) / np.abs(whole).max(axis=1)
    assert missed.max() < 2 * SHAPE_ERROR


@pytest.mark.parametrize("slow", [motor("M", "plus", "body"), lamp("E", "plus", "body", 55.0)])
def test_what_still_comes_up_is_not_left_out(slow: Element) -> None:
    """A motor and a cold filament take many rounds: they drift until the curve ends."""
    parts = [*three_phases(), slow]
    one, other = rig(*parts, closes=slow.name), rig(*parts, *without_end(), closes=slow.name)
    curves, whole = (
        each.run("plus", slow.name, duration=0.1, step=1 / HERTZ / 200, lead_in=0.02)
        for each in (one, other)
    )
    missed = np.abs(curves.current - whole.current).max() / np.abs(whole.current).max()
    assert missed < 2 * SHAPE_ERROR
    rounds = whole.current[0, 0, :-1][: 200 * 22].reshape(22, 200)
    drift = np.abs(rounds[-1] - rounds[-2]).max()  # at the very end still more than is left out
    assert drift > COMES_BACK * np.ptp(rounds[-1])


def test_rounds_are_left_out_up_to_an_event_and_none_over_it() -> None:
    """A load that goes off in the midst of a curve goes off there."""
    parts = three_phases()
    shown: list[Rig] = [rig(*parts, opens="R"), rig(*parts, *without_end(), opens="R")]
    curves, whole = (each.run("plus", "R", duration=0.02, step=2e-5, lead_in=0.1) for each in shown)
    assert np.abs(curves.current[0, 0, 1:]).max() < 1e-6
    missed = np.abs(curves.volts - whole.volts).max() / np.abs(whole.volts).max()
    assert missed < 2 * SHAPE_ERROR


def test_much_time_is_its_first_rounds_over_and_over() -> None:
    """A second of a rhythm has the samples of its first rounds, over and over."""
    trace = rig(*three_phases()).run("plus", "U", duration=1.0, step=1 / HERTZ / 100)
    rounds = trace.current[0, 0, :-1].reshape(-1, 100)
    assert np.abs(rounds[10] - rounds[-1]).max() < 1e-9 * np.abs(rounds[10]).max()


def test_a_sine_out_of_circuit_does_not_shorten_steps() -> None:
    """Each step of a sine is a fiftieth of its period at most; a step is a matrix or two."""
    own = np.zeros((2, ROW))
    own[:, [CONDUCTANCE, WAVE, AMPLITUDE, FREQUENCY]] = 10.0, Wave.SINE, 14.0, HERTZ
    own[1, FREQUENCY] = 100 * HERTZ
    assert longest_step(own, 1.0) == pytest.approx(1 / 50 / (100 * HERTZ))
    own[1, CONDUCTANCE] = 0.0
    assert longest_step(own, 1.0) == pytest.approx(1 / 50 / HERTZ)
    own[0, CONDUCTANCE] = 0.0
    assert longest_step(own, 1.0) == pytest.approx(1 / 50)
