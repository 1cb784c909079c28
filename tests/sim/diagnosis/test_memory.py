"""Trouble-code memory: status bits, debounce, cycles, freeze frame, clearing."""

import pytest
from hypothesis import given
from hypothesis import strategies as st
from scapy.contrib.automotive.uds import UDS_RDTCIPR
from udsoncan.common.dtc import Dtc

from sim.diagnosis.codes import Code
from sim.diagnosis.memory import (
    FreezeFrame,
    Memory,
    Monitor,
    Record,
    begin_cycle,
    clear,
    first_frame,
    observe,
)
from sim.diagnosis.status import Status, words
from sim.errors import DiagnosisError

LOW, HIGH = Code("P0117", 0x16), Code("P0118", 0x17)
FRAME = FreezeFrame(7.0, {0x05: -40.0})
KEY_ON = {"key on"}
NEW = Status.NOT_COMPLETED_SINCE_CLEAR | Status.NOT_COMPLETED_THIS_CYCLE


def memory(**settings) -> Memory:
    """Return a memory with P0118, judged while the key is on: 2 s to fail, 4 s to pass."""
    monitor = Monitor(HIGH, 2.0, 4.0, frozenset(KEY_ON), **settings)
    return Memory.fresh((monitor,))


def fail(before: Memory, seconds: float = 2.0, frame: FreezeFrame = FRAME) -> Memory:
    """Let the test fail for a while."""
    return observe(before, {HIGH: True}, KEY_ON, seconds, frame)


def passed(before: Memory, seconds: float = 4.0) -> Memory:
    """Let the test pass for a while."""
    return observe(before, {HIGH: False}, KEY_ON, seconds, FRAME)


def status(of: Memory) -> Status:
    return of.records[0].status


# ISO 14229-1 status bits 0 to 7, as two libraries name them


@pytest.mark.parametrize(
    ("bit", "name"),
    [
        (Status.FAILED, "test_failed"),
        (Status.FAILED_THIS_CYCLE, "test_failed_this_operation_cycle"),
        (Status.PENDING, "pending"),
        (Status.CONFIRMED, "confirmed"),
        (Status.NOT_COMPLETED_SINCE_CLEAR, "test_not_completed_since_last_clear"),
        (Status.FAILED_SINCE_CLEAR, "test_failed_since_last_clear"),
        (Status.NOT_COMPLETED_THIS_CYCLE, "test_not_completed_this_operation_cycle"),
        (Status.LAMP, "warning_indicator_requested"),
    ],
)
def test_status_bits_are_udsoncans(bit, name):
    theirs = Dtc.Status()
    setattr(theirs, name, True)
    assert theirs.get_byte_as_int() == bit


def test_the_published_combinations():
    assert Status.FAILED | Status.CONFIRMED == 0x09
    failed_and_stored = Status.FAILED | Status.FAILED_THIS_CYCLE | Status.PENDING
    assert failed_and_stored | Status.CONFIRMED | Status.FAILED_SINCE_CLEAR == 0x2F
    # and that is what a code has that fails and is confirmed at once
    assert status(fail(memory())) == 0x2F


def test_scapy_reads_the_bits_alike():
    field = next(one for one in UDS_RDTCIPR.fields_desc if one.name == "DTCStatusAvailabilityMask")
    names = [name.lower() for name in field.names]
    assert names[0] == "testfailed"
    assert [name for name in names if "pending" in name] == [names[2]]
    assert [name for name in names if "confirmed" in name] == [names[3]]
    assert names[7] == "warningindicatorrequested"


# Debounce


def test_nothing_is_set_before_it_has_failed_long_enough():
    short = fail(memory(), 1.99)
    assert status(short) == NEW
    assert short.records[0].frame is None
    assert status(fail(short, 0.02)) & Status.FAILED


def test_a_glitch_does_not_add_up_with_the_next():
    glitches = memory()
    for _glitch in range(20):
        glitches = passed(fail(glitches, 1.5), 0.1)
    assert status(glitches) == NEW


@given(st.lists(st.tuples(st.booleans(), st.floats(0.0, 10.0)), max_size=20))
def test_the_counter_stays_within_a_signed_byte(steps):
    after = memory()
    for failing, seconds in steps:
        after = fail(after, seconds) if failing else passed(after, seconds)
        record = after.records[0]
        assert -128 <= record.counter <= 127
        if record.counter == 127:
            assert record.status & Status.FAILED
        if record.counter == -128:
            assert not record.status & Status.FAILED
        assert bool(record.status & Status.FAILED_SINCE_CLEAR) == (record.occurrences > 0)


def test_a_failed_test_stays_failed_until_it_has_passed_long_enough():
    healing = passed(fail(memory()), 3.9)
    assert status(healing) & Status.FAILED
    assert not status(passed(healing, 0.2)) & Status.FAILED


# Conditions


def test_without_its_conditions_a_monitor_does_not_run():
    off = observe(memory(), {HIGH: True}, {"engine running"}, 100.0, FRAME)
    assert off == memory()
    both = Memory.fresh((Monitor(HIGH, needs=frozenset({"key on", "engine running"})),))
    assert observe(both, {HIGH: True}, {"key on"}, 9.0, FRAME) == both
    assert observe(both, {HIGH: True}, {"key on", "engine running"}, 9.0, FRAME) != both


def test_a_code_that_is_not_judged_does_not_change():
    assert observe(memory(), {LOW: True}, KEY_ON, 9.0, FRAME) == memory()


# Cycles


def test_pending_first_and_confirmed_in_the_next_cycle_that_fails():
    first = fail(memory(confirm_cycles=2, lamp=True))
    assert status(first) == 0x27
    still = fail(first, 100.0)
    assert status(still) == 0x27  # failing longer is the same cycle
    second = begin_cycle(first)
    assert status(second) == 0x65
    assert status(fail(second)) == 0xAF


def test_a_good_cycle_takes_pending_away_and_the_count_begins_anew():
    first = fail(memory(confirm_cycles=2))
    good = begin_cycle(passed(begin_cycle(first)))
    assert not status(good) & (Status.PENDING | Status.CONFIRMED)
    assert good.records[0].frame is None
    assert status(fail(good)) & Status.CONFIRMED == 0


def test_a_cycle_in_which_the_test_did_not_run_counts_for_nothing():
    first = fail(memory(confirm_cycles=2))
    idle = begin_cycle(begin_cycle(begin_cycle(first)))
    assert status(idle) & Status.PENDING
    assert status(fail(idle)) & Status.CONFIRMED


def test_the_lamp_goes_out_after_three_good_cycles_and_the_code_goes_after_forty():
    now = begin_cycle(fail(memory(lamp=True)))
    lamps, confirmed = [], []
    for _cycle in range(41):
        lamps.append(bool(status(now) & Status.LAMP))
        confirmed.append(bool(status(now) & Status.CONFIRMED))
        now = begin_cycle(passed(now))
    assert lamps == [True] * 3 + [False] * 38
    assert confirmed == [True] * 40 + [False]
    assert now.records[0].frame is None
    assert now.records[0].occurrences == 1


def test_cold_cycles_do_not_age_a_code():
    now = begin_cycle(fail(memory(age_cycles=2)))
    for _cycle in range(5):
        now = begin_cycle(passed(now), warmed_up=False)
    assert status(now) & Status.CONFIRMED
    now = begin_cycle(passed(begin_cycle(passed(now))))
    assert not status(now) & Status.CONFIRMED


def test_failing_again_begins_the_ageing_anew():
    now = begin_cycle(fail(memory(age_cycles=2)))
    now = begin_cycle(passed(now))
    now = begin_cycle(fail(now))
    now = begin_cycle(passed(now))
    assert status(now) & Status.CONFIRMED
    assert now.records[0].occurrences == 2


# Freeze frame and clearing


def test_the_frame_is_of_the_moment_when_the_test_first_failed():
    later = FreezeFrame(99.0, {0x05: 20.0})
    now = fail(passed(fail(memory())), frame=later)
    assert now.records[0].frame == FRAME
    assert first_frame(now) == (HIGH, FRAME)


def test_the_oldest_frame_of_generic_codes_is_shown():
    monitors = (
        Monitor(Code("U0121", 0x87), emissions=False),
        Monitor(LOW),
        Monitor(HIGH),
    )
    now = Memory.fresh(monitors)
    assert first_frame(now) is None
    for clock, monitor in zip((1.0, 5.0, 3.0), monitors, strict=True):
        now = observe(now, {monitor.code: True}, (), 1.0, FreezeFrame(clock, {}))
    assert first_frame(now) == (HIGH, FreezeFrame(3.0, {}))


def test_clearing_leaves_nothing():
    assert clear(fail(memory())) == memory()
    assert clear(fail(memory()), LOW) == fail(memory())
    assert clear(fail(memory()), HIGH) == memory()
    maker = fail(memory(emissions=False))
    assert clear(maker, emissions_only=True) == maker


# Words


def test_the_words_follow_a_code_through_its_life():
    said = [words(status(memory()))]
    now = fail(memory(confirm_cycles=2))
    said.append(words(status(now)))
    now = begin_cycle(passed(now))
    said.append(words(status(now)))
    now = fail(now)
    said.append(words(status(now)))
    said.append(words(status(passed(now))))
    now = begin_cycle(now)
    said.append(words(status(now)))
    now = begin_cycle(passed(now))
    said.append(words(status(now)))
    assert said == [
        "not tested yet",
        "pending, present",
        "pending",
        "confirmed, present",
        "confirmed, not present now",
        "confirmed, not tested again yet",
        "history",
    ]


@given(st.integers(0, 255))
def test_every_status_byte_has_words(byte):
    assert words(byte)


# What is refused


def test_one_code_has_one_monitor():
    with pytest.raises(DiagnosisError, match="P0118-17 has two monitors"):
        Memory.fresh((Monitor(HIGH), Monitor(HIGH, 3.0)))
    with pytest.raises(DiagnosisError, match="1 monitors but 2 records"):
        Memory((Monitor(HIGH),), (Record(), Record()))


@pytest.mark.parametrize("values", [{0x05: float("nan")}, {0x99: 1.0}])
def test_a_frame_holds_numbers_of_known_parameters(values):
    with pytest.raises(DiagnosisError, match="freeze frame: got"):
        FreezeFrame(0.0, values)
