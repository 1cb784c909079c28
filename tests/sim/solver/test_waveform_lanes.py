"""One call of waveforms: lanes side by side, what is left alone, what is refused, no numba."""

import itertools

import numpy as np
import pytest

from sim.errors import SolveError
from sim.network import CONDUCTANCE, FREQUENCY
from sim.parts.family import Element, Law
from sim.solver.steady import Lanes
from sim.solver.waveform import Trace, waveform
from tests.sim.waves import (
    battery,
    compiled_and_not,
    lamp,
    relay,
    resistor,
    rig,
    van,
)


def test_what_is_constant_stays_put() -> None:
    one = van()
    one.after[..., FREQUENCY] = 0.0
    still = one.after
    names = one.solver.network.nodes[1:-4]
    trace = waveform(
        one.solver, still, still, one.lanes(), duration=0.05, step=1e-4, points=one.nodes(names)
    )
    moved = np.abs(trace.volts - trace.volts[..., :1]).max()
    assert moved < 1e-9
    assert trace.status.tolist() == [0]


def faulty(one, count: int) -> tuple[np.ndarray, np.ndarray, Lanes]:
    """Give rows in which one element each has more resistance, or is open."""
    rng = np.random.default_rng(5)
    before = np.repeat(one.before, count, axis=0)
    after = np.repeat(one.after, count, axis=0)
    for lane in range(1, count):
        factor = float(rng.choice([0.0, 0.01, 0.5]))
        number = int(rng.integers(before.shape[1] - 4))
        before[lane, number, CONDUCTANCE] *= factor
        after[lane, number, CONDUCTANCE] *= factor
    return before, after, one.solver.lanes(np.arange(count))


def test_a_batch_of_one_gives_the_same_bits_as_a_batch_of_many() -> None:
    one, count = van(), 24
    before, after, lanes = faulty(one, count)
    lanes.instruments[::3, 0, 0] = 1e-6
    lanes.attached[::3, :2] = (one.solver.network.node("Y1.2"), 0)
    arguments = {
        "duration": 5e-3,
        "step": 1e-5,
        "points": one.nodes(["Y1.2", "M1.1"]),
        "elements": one.elements(["M1", "Y1"]),
    }
    many = waveform(one.solver, before, after, lanes, **arguments)
    assert np.isfinite(many.volts).all()
    assert not many.status.any()
    for lane in range(count):
        which = [lane]
        few = Lanes(*(getattr(lanes, name)[which] for name in Lanes.__slots__))
        alone = waveform(one.solver, before, after, few, **arguments)
        for name in Trace.__slots__[1:]:
            assert getattr(alone, name).tobytes() == getattr(many, name)[which].tobytes()


def test_rows_and_lanes_are_left_alone() -> None:
    one = van()
    lanes = one.lanes()
    kept = [one.before.copy(), one.after.copy(), lanes.closed.copy(), lanes.blown.copy()]
    one.run("Y1.2", duration=1e-3, lanes=lanes)
    now = [one.before, one.after, lanes.closed, lanes.blown]
    assert all(np.array_equal(x, y) for x, y in zip(kept, now, strict=True))


def test_an_oscilloscope_loads_what_it_is_on() -> None:
    """1 Mohm on 1 Mohm halves the voltage; a loose lead sees nothing."""
    one = rig(battery(), resistor("R", "plus", "a", 1e6))
    lanes = one.lanes()
    lanes.instruments[0, 0, 0] = 1e-6
    lanes.attached[0, :2] = (one.solver.network.node("a"), 0)
    assert one.run("a", duration=1e-4, lanes=lanes).volts[0, 0, -1] == pytest.approx(6.0, rel=1e-4)
    assert one.run("a", duration=1e-4).volts[0, 0, -1] == pytest.approx(12.0, rel=1e-4)


def test_a_dead_wire_keeps_what_the_leak_gives_it() -> None:
    """An island behind an open switch, with a lamp and an EMF in it."""
    one = rig(
        battery(),
        resistor("S", "plus", "a", 1e-3),
        Element("E", "a", "b", 100.0, 1.5),
        lamp("H", "b", "c", 21.0),
        opens="S",
    )
    trace = one.run("a b c", "H", duration=1e-3)
    a, b, c = trace.volts[0, :, -1]
    assert (a - b, b - c) == pytest.approx((1.5, 0.0), abs=1e-6)
    assert a + b + c == pytest.approx(0.0, abs=1e-3)


@pytest.mark.parametrize(
    ("duration", "step", "lead_in"), [(1.0, 0.0, 0.0), (1e-6, 1e-5, 0.0), (1.0, 1e-3, -1.0)]
)
def test_times_that_make_no_sense_are_refused(duration: float, step: float, lead_in: float) -> None:
    one = rig(battery(), resistor("R", "plus", "body", 1.0))
    with pytest.raises(SolveError, match="step"):
        one.run("plus", duration=duration, step=step, lead_in=lead_in)


def test_a_state_that_is_none_is_a_status() -> None:
    """A relay that buzzes has no steady state to begin from; the other lane goes on."""
    coil_, _contact = relay("K", ("a", "body"), ("plus", "a"))
    contact = Element("c", "plus", "a", 1e3, law=Law.CONTACT, shape=(1.0, 0.0, 0.0), relay="K")
    one = rig(battery(), coil_, contact)
    rows = np.repeat(one.before, 2, axis=0)
    rows[1, one.solver.network.element("B"), CONDUCTANCE] = 0.0
    lanes = one.solver.lanes(np.arange(2))
    trace = waveform(
        one.solver, rows, rows, lanes, duration=1e-3, step=1e-5, points=one.nodes(["a"])
    )
    assert trace.status.tolist() == [2, 0]
    assert np.isfinite(trace.volts).all()


CHILD = """
import json
import numpy as np
from sim.compiled import njit
from tests.sim.waves import van
trace = van().run("Y1.2 E1.1 M1.1", "M1 Y1", duration=4e-3)
print(json.dumps([trace.volts.tolist(), trace.current.tolist()]))
"""


def test_without_numba_the_same_program_runs() -> None:
    found = compiled_and_not(CHILD)
    for compiled, plain in zip(itertools.chain(*found[0]), itertools.chain(*found[1]), strict=True):
        np.testing.assert_allclose(plain, compiled, rtol=1e-6, atol=1e-6)
