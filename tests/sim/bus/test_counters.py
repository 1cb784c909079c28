"""Error counters by ISO 11898-1 (fault confinement): who is left on the bus, and who hears whom."""

import itertools
from dataclasses import replace

import pytest
from hypothesis import given
from hypothesis import strategies as st

from sim.bus.counters import DOMINANT, RECESSIVE, ROUNDS, UNSURE, Wires, count_errors


def sound(count: int) -> Wires:
    """Give a bus on which everybody reads everybody."""
    row = (DOMINANT,) * count
    none = ((False,) * count,) * count
    return Wires((True,) * count, (RECESSIVE,) * count, (row,) * count, none)


def with_reads(wires: Wires, changes: dict[tuple[int, int], int]) -> Wires:
    rows = [list(row) for row in wires.reads]
    for (sender, receiver), read in changes.items():
        rows[sender][receiver] = read
    return replace(wires, reads=tuple(map(tuple, rows)))


@pytest.mark.parametrize("count", [2, 3, 6])
def test_on_a_sound_bus_all_hear_all_others(count: int) -> None:
    found = count_errors(sound(count))
    for sender, receiver in itertools.product(range(count), repeat=2):
        assert found.heard[sender][receiver] == (sender != receiver)
    assert not any(found.off)
    assert not any(found.repeats)
    assert set(found.sent) == {0}


def test_a_unit_alone_repeats_error_passive_and_never_goes_off() -> None:
    """ISO 11898-1: an acknowledgement error adds nothing once the sender is error passive."""
    found = count_errors(replace(sound(3), alive=(True, False, False)))
    assert found.repeats == (True, False, False)
    assert found.sent[0] == 128
    assert not any(found.off)
    assert not any(any(row) for row in found.heard)


def test_a_unit_that_does_not_read_itself_goes_off_after_32_frames() -> None:
    """8 a frame and more than 255: the 32nd."""
    found = count_errors(with_reads(sound(3), {(0, n): RECESSIVE for n in range(3)}))
    assert found.off == (True, False, False)
    assert found.sent[0] == 32 * 8
    assert found.heard[1] == (False, False, True)


def test_on_a_bus_that_never_rests_nobody_sends_and_no_counter_moves() -> None:
    found = count_errors(replace(sound(4), idle=(DOMINANT,) * 4))
    assert set(found.sent) == {0}
    assert not any(any(row) for row in found.heard)


def test_two_halves_of_a_bus_each_go_on_among_themselves() -> None:
    apart = dict.fromkeys(itertools.product((0, 1), (2, 3)), RECESSIVE)
    apart |= {(b, a): RECESSIVE for a, b in apart}
    found = count_errors(with_reads(sound(4), apart))
    assert found.heard[0] == (False, True, False, False)
    assert found.heard[3] == (False, False, True, False)


def test_a_receiver_that_is_not_sure_disturbs_until_it_is_passive() -> None:
    """Its receive counter passes 127 after 16 errors of 8; then the bus recovers."""
    found = count_errors(with_reads(sound(3), {(0, 2): UNSURE}))
    assert not any(found.off)
    assert found.heard[0] == (False, True, False)
    assert found.heard[1] == (True, False, True)


def test_a_deaf_unit_whose_bits_drown_others_goes_off_first_and_the_others_recover() -> None:
    """One with its wires crossed: it reads nobody, nobody reads it, and their bits cancel.

    It has missed an acknowledgement before anybody else has failed, so it is the first at 256.
    """
    deaf = {(n, 2): RECESSIVE for n in range(2)} | {(2, n): RECESSIVE for n in range(2)}
    drowned = ((False, False, True), (False, False, True), (True, True, False))
    found = count_errors(replace(with_reads(sound(3), deaf), jams=drowned))
    assert found.off == (False, False, True)
    assert found.heard[0] == (False, True, False)
    assert found.heard[1] == (True, False, False)


def test_a_deaf_unit_that_drowns_nobody_is_missing_alone() -> None:
    deaf = {(n, 2): RECESSIVE for n in range(2)} | {(2, n): RECESSIVE for n in range(2)}
    found = count_errors(with_reads(sound(3), deaf))
    assert found.heard[0] == (False, True, False)
    assert found.heard[1] == (True, False, False)
    assert not any(found.heard[2])


READ = st.sampled_from((DOMINANT, RECESSIVE, UNSURE))


@st.composite
def wires(draw: st.DrawFn) -> Wires:
    count = draw(st.integers(1, 5))
    row = st.tuples(*[READ] * count)
    flags = st.tuples(*[st.booleans()] * count)
    return Wires(
        draw(flags), draw(row), draw(st.tuples(*[row] * count)), draw(st.tuples(*[flags] * count))
    )


@given(wires())
def test_whatever_the_wires_say_it_ends_and_stays_within_the_rules(bus: Wires) -> None:
    found = count_errors(bus)
    count = len(bus.alive)
    assert all(0 <= one <= 255 + 8 for one in found.sent)
    assert max(found.received) <= 128 + 8 * ROUNDS * count
    for sender, receiver in itertools.product(range(count), repeat=2):
        if found.heard[sender][receiver]:
            assert bus.alive[sender]
            assert bus.alive[receiver]
            assert sender != receiver
            assert bus.reads[sender][receiver] == DOMINANT
            assert not found.off[sender]
