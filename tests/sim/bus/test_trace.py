"""The oscilloscope on a live pair shows the bits of real frames: read back, they are the frame."""

from collections.abc import Callable

import numpy as np
import pytest

from sim.action import action_from_json
from sim.bus.message import message
from sim.bus.timetable import ACK_FROM_END, Speaker, timetable
from sim.diagnosis.frames import Frame
from sim.instruments import moving
from sim.instruments.oscilloscope import sweep
from sim.view import View

BIT = 2e-6  # s at 500 kbit/s


def curves(car, channels: dict, time: str) -> moving.Curves:
    """Give the curves as the oscilloscope gets them."""
    bench = car.bench
    action = action_from_json({"scope": channels, "time": time})
    view = View(bench.fleet, bench.situation, bench.situation, bench.memory, action, leads=False)
    return moving.traced(view, sweep(action))


def unstuffed(bits: list[int]) -> list[int]:
    """Take stuffed bits out of a row: the one after five equal ones (ISO 11898-1)."""
    found, run, skip = [], 0, False
    for place, bit in enumerate(bits):
        if skip:
            skip, run = False, 1
            continue
        run = run + 1 if place and bits[place - 1] == bit else 1
        found.append(bit)
        skip = run == 5
    return found


def test_bits_on_the_screen_are_those_of_a_frame(car: Callable) -> None:
    """Sampled in the middle of each bit, unstuffed and taken apart by hand."""
    seen = curves(car(), {"A": ["X9.6", "X9.14"]}, "2 ms")
    difference = seen.values[0, 0]
    dominant = np.flatnonzero(difference > 0.9)
    gaps = np.flatnonzero(np.diff(seen.time[dominant]) > 11 * BIT)
    start = seen.time[dominant[gaps[0] + 1]]  # the first frame that begins on the screen
    at = start + (np.arange(140) + 0.5) * BIT
    bits = [0 if v > 0.9 else 1 for v in np.interp(at, seen.time, difference)]
    plain = unstuffed(bits)
    identifier = int("".join(map(str, plain[1:12])), 2)
    length = int("".join(map(str, plain[15:19])), 2)
    data = int("".join(map(str, plain[19 : 19 + 64])), 2).to_bytes(8, "big")
    assert plain[0] == 0
    assert plain[12:15] == [0, 0, 0]
    assert identifier in {0x0C0, 0x0D0, 0x100}
    assert length == 8
    assert data[3:] == b"\xff" * 5
    assert Frame(0.0, identifier, data).bits() == tuple(
        bits[: len(Frame(0.0, identifier, data).bits())]
    )


def test_both_lines_move_against_each_other_by_the_standards_levels(car: Callable) -> None:
    seen = curves(car(), {"A": ["X9.6", "X9.4"], "B": ["X9.14", "X9.4"]}, "1 ms")
    high, low = seen.values[:, 0]
    assert high.min() == pytest.approx(2.5, abs=0.05)
    assert low.max() == pytest.approx(2.5, abs=0.05)
    busy = high > 3.0
    assert busy.any()
    assert (high[busy] > 2.75).all()
    assert (high[busy] < 4.5).all()
    assert (low[busy] < 2.25).all()


def test_the_acknowledge_bit_is_driven_by_all_that_hear(car: Callable) -> None:
    """Several drivers in parallel pull further apart than the sender alone."""
    seen = curves(car(), {"A": ["X9.6", "X9.14"]}, "2 ms")
    levels = np.unique(np.round(seen.values[0, 0], 2))
    assert len(levels) >= 3


def test_a_sleeping_or_stuck_bus_is_flat(car: Callable) -> None:
    for still in (car().asleep(), car("A2=H and L shorted")):
        seen = curves(still, {"A": ["X9.6", "X9.14"]}, "1 ms")
        assert np.ptp(seen.values[0, 0]) < 1e-3


def test_where_no_bus_is_seen_curves_are_as_ever(car: Callable) -> None:
    seen = curves(car(), {"A": ["B1.+", "B1.-"]}, "1 ms")
    assert seen.values[0, 0] == pytest.approx(12.5, abs=0.3)


def speaker(number: int, identifier: int, **more: object) -> Speaker:
    values = {"acknowledged": True, "repeats": False, **more}
    return Speaker(number, identifier, 4e-3, BIT, 5.0, **values)  # type: ignore[arg-type]


def test_arbitration_lets_the_lowest_identifier_go_first() -> None:
    """Two that wait for the same frame to end: the lower number follows it (ISO 11898-1)."""
    slow = [speaker(0, 0x300, repeats=True), speaker(1, 0x100), speaker(2, 0x200)]
    edges = timetable(slow, 3, 0.0, 0.02)
    order = [one // 2 for one in edges.who if one >= 0 and one % 2 == 0]
    assert set(order) == {0, 1, 2}


def test_an_unacknowledged_frame_is_sent_again_at_once() -> None:
    lonely = [speaker(0, 0x300, acknowledged=False, repeats=True)]
    edges = timetable(lonely, 1, 0.0, 0.01)
    bits = message(0x300, 5.0, 0, acknowledged=False).bits()
    assert bits[len(bits) - ACK_FROM_END] == 1
    times = np.array(edges.times)
    assert np.diff(times[times > 0.0]).max() < 40 * BIT


def test_frames_do_not_overlap() -> None:
    edges = timetable([speaker(n, 0x100 + n) for n in range(5)], 5, 0.0, 0.05)
    assert (np.diff(edges.times) > 0.0).all()
