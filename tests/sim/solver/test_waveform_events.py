"""Waveforms with more than one event: closed forms, and lanes with times of their own."""

import numpy as np
import pytest

from sim.network import CONDUCTANCE
from sim.solver.waveform import Trace, waveform
from tests.sim.waves import battery, capacitor, coil, gated, resistor, rig

OHMS, FARAD, VOLTS = 1e3, 1e-6, 12.0  # a time constant of 1 ms
UP, DOWN = 2e-3, 5e-3


def charged(times: list[float]) -> Trace:
    """Give R C fed from t = 0 on, and from `times` on fed and discharged by turns, a lane each."""
    one = rig(
        battery(ohms=1e-6),
        resistor("R", "plus", "a", OHMS),
        resistor("D", "a", "body", OHMS),
        capacitor("C", "a", "body", FARAD),
        closes="R",
        opens="D",
    )
    feeds = one.after
    drains = feeds.copy()
    drains[0, one.elements(["R"]), CONDUCTANCE] = 0.0
    drains[0, one.elements(["D"]), CONDUCTANCE] = 1 / OHMS
    first = np.array(times)
    return waveform(
        one.solver,
        one.before,
        feeds,
        one.lanes(len(times)),
        duration=8e-3,
        step=1e-5,
        points=one.nodes(["a"]),
        later=[(first, drains), (first + (DOWN - UP), feeds)],
    )


def expected(time: np.ndarray, at: float) -> np.ndarray:
    """Give the exponentials: up from 0, down from `at` on, up again 3 ms later."""
    tau = OHMS * FARAD

    def rise(since: float, begins: float) -> np.ndarray:
        return VOLTS - (VOLTS - begins) * np.exp(-(time - since) / tau)

    top = VOLTS * (1 - np.exp(-at / tau))
    low = top * np.exp(-(DOWN - UP) / tau)
    falls = top * np.exp(-(time - at) / tau)
    again = at + (DOWN - UP)
    return np.where(time < at, rise(0.0, 0.0), np.where(time < again, falls, rise(again, low)))


def test_a_capacitor_is_charged_discharged_and_charged_again() -> None:
    trace = charged([UP])
    assert trace.status.tolist() == [0]
    np.testing.assert_allclose(
        trace.volts[0, 0], expected(trace.time, UP), atol=2e-3 * VOLTS, rtol=0.0
    )


def test_each_lane_has_times_of_its_own_and_the_same_bits_as_alone() -> None:
    times = [UP, 1.234e-3, 0.0, 7.9e-3, np.inf]
    many = charged(times)
    for lane, at in enumerate(times):
        alone = charged([at])
        assert alone.volts.tobytes() == many.volts[[lane]].tobytes()
        if np.isfinite(at):
            np.testing.assert_allclose(
                many.volts[lane, 0], expected(many.time, at), atol=2e-3 * VOLTS, rtol=0.0
            )
    np.testing.assert_allclose(many.volts[4, 0, -1], VOLTS, rtol=1e-3)


def test_one_event_later_is_the_same_as_one_at_the_beginning() -> None:
    """A choke fed from 1 ms on: i = U / R (1 - exp(-(t - 1 ms) R / L)), and nothing before."""
    one = rig(
        battery(ohms=1e-6),
        resistor("S", "plus", "a", 1e-3),
        coil("L", "a", "body", 2.0, 4e-3),
        closes="S",
    )
    trace = waveform(
        one.solver,
        one.before,
        one.before,
        one.lanes(),
        duration=10e-3,
        step=1e-5,
        points=[],
        elements=one.elements(["L"]),
        later=[(np.array([1e-3]), one.after)],
    )
    time = trace.time - 1e-3
    amps = np.where(time < 0, 0.0, 6.0 * (1 - np.exp(-time * 2.0 / 4e-3)))
    np.testing.assert_allclose(trace.current[0, 0], amps, atol=0.005 * 6.0)


def test_what_does_not_swing_begins_at_the_event_and_not_ahead_of_it() -> None:
    """A lane without waves has the same bits whether or not another swings ahead of the event."""
    one = rig(
        battery(),
        gated("G", "plus", "a", 1e-2, 0.5, 200.0),
        resistor("R", "a", "b", 4.0),
        coil("L", "b", "body", 1.0, 1e-3),
        closes="R",
    )
    still = (one.before.copy(), one.after.copy())
    for rows in still:
        rows[0, one.elements(["G"]), CONDUCTANCE] = 0.0
    arguments = {"duration": 20e-3, "step": 1e-4, "points": one.nodes(["a"]), "lead_in": 0.1}
    arguments["elements"] = one.elements(["L"])
    both = [np.concatenate(pair) for pair in zip((one.before, one.after), still, strict=True)]
    lanes = one.solver.lanes(np.arange(2))
    many = waveform(one.solver, *both, lanes, **arguments)
    alone = waveform(one.solver, *still, one.lanes(), **arguments)
    assert many.current[1].tobytes() == alone.current[0].tobytes()
    assert np.ptp(many.current[0, 0]) == pytest.approx(2.4, rel=0.02)
