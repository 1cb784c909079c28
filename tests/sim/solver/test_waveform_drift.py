"""Filaments and motors that drift beside what swings: against the same circuits run to their end.

As in `tests.sim.solver.test_waveform_repeats` a sine far away keeps rounds from being left out. Its
whole runs, with a long time ahead, are what the short ones have to show: they know nothing of where
an element comes to rest.
"""

import numpy as np
import pytest

from sim.network import CAPACITANCE, COLUMNS, CONDUCTANCE, SHAPE
from sim.parts.family import Element, Law, Motion
from sim.solver.drifting import held_volts, led_on, rest, returning
from sim.solver.lane import run_lane
from sim.solver.standing import STEPS, Course, Work
from sim.solver.transient import SHAPE_ERROR
from sim.solver.waveform import Trace, waveform
from sim.solver.waveplan import Plan
from tests.sim.solver.test_waveform_repeats import HERTZ, three_phases, without_end
from tests.sim.waves import battery, compiled_and_not, diode, gated, lamp, resistor, rig

INERTIA = 0.08  # farad
LIGHT = Motion(inductance=1e-2, capacitance=INERTIA)
LOAD = (1.0, 0.3, 0.02)
MOTOR = Element("M", "poor", "body", 1 / 0.3, law=Law.MOTOR, shape=LOAD, motion=LIGHT)


def pulsed_motor() -> list[Element]:
    """Give a small motor on for half of the time behind a poor contact: some forty rounds slow."""
    parts = [battery(), gated("G", "plus", "poor", 2.0, 0.5, HERTZ), MOTOR]
    return [*parts, diode("D", "body", "poor"), resistor("leak", "poor", "body", 1e6)]


def pulsed_lamp() -> list[Element]:
    """Give a lamp on for a tenth of the time, which comes to rest far from where it begins."""
    parts = [battery(), gated("G", "plus", "on", 0.01, 0.1, HERTZ), lamp("E", "on", "body", 55.0)]
    return [*parts, resistor("leak", "on", "body", 1e6)]


def missed(curves: Trace, whole: Trace) -> float:
    """Return by how much a curve misses another, of its peak, the worst."""
    pairs = ((curves.volts, whole.volts), (curves.current, whole.current))
    return max(float(np.abs(a - b).max() / np.abs(b).max()) for a, b in pairs)


@pytest.mark.parametrize(
    ("parts", "point", "element", "long"),
    [(pulsed_motor(), "poor", "M", 1.5), (pulsed_lamp(), "on", "E", 3.0)],
    ids=["motor", "lamp"],
)
def test_what_has_long_stood_begins_at_rest(
    parts: list[Element], point: str, element: str, long: float
) -> None:
    """The steady state it begins in knows the gate as on."""
    one, other = rig(*parts), rig(*parts, *without_end())
    how = {"duration": 4 / HERTZ, "step": 1 / HERTZ / 200}
    curves = one.run(point, element, lead_in=0.3, **how)
    whole = other.run(point, element, lead_in=long, **how)
    too_short = other.run(point, element, lead_in=0.3, **how)
    assert missed(curves, whole) < 2 * SHAPE_ERROR
    assert missed(too_short, whole) > 4 * SHAPE_ERROR


def lit_by_a_rectifier() -> list[Element]:
    """Give a lamp with a switch beside a rectifier."""
    parts = [*three_phases(), resistor("switch", "plus", "lit", 0.01)]
    return [*parts, resistor("leak", "lit", "body", 1e4), lamp("E", "lit", "body", 21.0)]


def goes_out(seconds: float, *far: Element) -> Trace:
    """Switch the lamp E off at once, and on again after so many s."""
    one = rig(*lit_by_a_rectifier(), *far)
    off = one.after.copy()
    off[0, one.solver.network.element("switch"), CONDUCTANCE] = 0.0
    return waveform(
        one.solver,
        one.after,
        off,
        one.lanes(),
        duration=1.1 * seconds,
        step=1 / HERTZ / 50,
        points=one.nodes(["plus"]),
        elements=one.elements(["E"]),
        lead_in=0.02,
        later=[(np.array([seconds]), one.after)],
    )


def test_a_lamp_that_has_gone_out_cools_while_rounds_are_left_out() -> None:
    """Nothing of it shows until it is lit again: the current that it takes then tells how cold."""
    curves, whole = goes_out(0.6), goes_out(0.6, *without_end())
    assert missed(curves, whole) < 4 * SHAPE_ERROR
    dark = curves.volts[0, 0, 50 * 20 : 50 * 120].reshape(-1, 50)
    assert np.abs(dark[0] - dark[-1]).max() < 1e-9 * dark.max()  # left out indeed
    lit = curves.current[0, 0]
    assert lit[-1] < 0.7 * lit.max()  # it had cooled


def row_of(element: Element) -> np.ndarray:
    """Return the row of an element beside a battery."""
    one = rig(battery(), element)
    return one.after[0][one.solver.network.element(element.name)]


def test_a_filament_is_led_on_by_its_own_law() -> None:
    """Against Euler's method in ten thousand steps, by the formulas of `sim.solver.filament`."""
    row = row_of(lamp("E", "plus", "body", 21.0))
    cold, k, beta = row[SHAPE:COLUMNS]

    def rate(kelvin: float, volts: float) -> float:
        ohms = cold * (kelvin / 293.15) ** 1.2
        held = ((ohms - cold) / k) ** (1.0 / beta)
        return float((volts**2 - held**2) / ohms / row[CAPACITANCE])

    state = 2600.0
    for _ in range(10_000):
        state += 5e-5 * rate(state, 5.0)
    assert led_on(Law.LAMP, row, 2600.0, 5.0, 0.5) == pytest.approx(state, rel=1e-3)
    change = rate(2600.0, 5.0) * 1e-6
    assert held_volts(Law.LAMP, row, 2600.0, change, 1e-6) == pytest.approx(5.0, rel=1e-6)
    assert abs(rate(rest(Law.LAMP, row, 5.0), 5.0)) < 1e-6 * abs(rate(2600.0, 5.0))
    slope = (rate(2601.0, 12.0) - rate(2599.0, 12.0)) / 2.0
    assert returning(Law.LAMP, row, 2600.0, 12.0, 0.004) == pytest.approx(-0.004 * slope, rel=1e-3)


def test_a_motor_is_led_on_to_where_its_load_takes_its_current() -> None:
    row = row_of(Element("M", "plus", "body", 1 / 0.3, law=Law.MOTOR, shape=LOAD, motion=LIGHT))
    volts = rest(Law.MOTOR, row, 12.0)
    amps = LOAD[0] + LOAD[1] * volts + LOAD[2] * volts**2
    assert (12.0 - volts) / 0.3 == pytest.approx(amps)
    assert led_on(Law.MOTOR, row, 0.0, 12.0, 2.0) == pytest.approx(volts, rel=1e-3)
    assert held_volts(Law.MOTOR, row, volts, 0.0, 1.0) == pytest.approx(12.0)
    slope = (1 / 0.3 + LOAD[1] + 2 * LOAD[2] * volts) / INERTIA
    assert returning(Law.MOTOR, row, volts, 12.0, 0.001) == pytest.approx(0.001 * slope)
    assert rest(Law.MOTOR, row, 0.2) == 0.0  # less than friction


def test_lanes_that_drift_show_the_same_bits_alone() -> None:
    """What one lane was put back to, or led on to, is not there for the next."""
    one = rig(*lit_by_a_rectifier())
    switch, contact = (one.solver.network.element(name) for name in ("switch", "R"))
    before = np.repeat(one.after, 3, axis=0)
    before[1, contact, CONDUCTANCE], before[2, switch, CONDUCTANCE] = 0.3, 0.0
    after = before.copy()
    after[:, switch, CONDUCTANCE] = (0.0, 0.0, 100.0)
    asked = {"duration": 0.1, "step": 1 / HERTZ / 50, "points": one.nodes(["plus", "lit"])}
    many = waveform(
        one.solver, before, after, one.solver.lanes(np.arange(3)), lead_in=0.02, **asked
    )
    for lane in range(3):
        alone = waveform(
            one.solver, before, after, one.solver.lanes(np.array([lane])), lead_in=0.02, **asked
        )
        assert alone.volts.tobytes() == many.volts[lane].tobytes()


CHILD = """
import json
from tests.sim.solver.test_waveform_drift import HERTZ, pulsed_lamp
from tests.sim.waves import lamp, resistor, rig
how = {"duration": 12 / HERTZ, "step": 1 / HERTZ / 20}
one = rig(*pulsed_lamp()).run("on", "E", lead_in=0.02, **how)
parts = [*pulsed_lamp(), resistor("switch", "plus", "lit", 0.01), lamp("H", "lit", "body", 21.0)]
two = rig(*parts, resistor("rest", "lit", "body", 1e4), opens="switch").run("lit", "E", **how)
print(json.dumps([one.current.tolist(), two.current.tolist()]))
"""


def test_without_numba_the_same_drifts() -> None:
    found = compiled_and_not(CHILD)
    for compiled, plain in zip(*found, strict=True):
        np.testing.assert_allclose(plain, compiled, rtol=1e-6, atol=1e-6)


def test_a_step_too_long_is_not_made_over_and_over(monkeypatch: pytest.MonkeyPatch) -> None:
    """A round of six diodes has twelve edges, each of which a fiftieth of a round is too long for.

    Some 23 steps to each do; growing at once from a fifth of a step that was too long, to be
    too long again, took 27 (measured).
    """
    taken = []

    def counted(plan: Plan, course: Course, work: Work, *more: np.ndarray) -> int:
        status = run_lane(plan, course, work, *more)
        taken.append(int(work.tally[STEPS]))
        return status

    monkeypatch.setattr("sim.solver.waveform.run_lane", counted)
    rounds = 20
    rig(*three_phases(), *without_end()).run("plus", duration=rounds / HERTZ, step=1 / HERTZ / 200)
    assert taken[0] < rounds * 12 * 25
