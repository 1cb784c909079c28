"""Bits of a CAN frame."""

import pytest
from hypothesis import given
from hypothesis import strategies as st

from sim.diagnosis.frames import Frame, crc, stuffed

IDENTIFIERS = st.integers(0, 0x7FF)


def bits_of(data: bytes) -> list[int]:
    return [byte >> place & 1 for byte in data for place in range(7, -1, -1)]


def unstuffed(bits: tuple[int, ...]) -> list[int]:
    """Take stuffed bits out again, the receiver's way."""
    kept, run, last, skip = [], 0, None, False
    for bit in bits:
        if skip:
            assert bit != last
            run, last, skip = 1, bit, False
            continue
        run = run + 1 if bit == last else 1
        last = bit
        kept.append(bit)
        skip = run == 5
    return kept


def test_the_check_value_of_crc_15_can():
    # 059E for the text 123456789: the check value catalogues of CRCs give (from memory)
    assert crc(bits_of(b"123456789")) == 0x059E


@given(IDENTIFIERS, st.binary(max_size=8))
def test_a_frame_is_as_long_as_the_standard_lets_it_be(identifier, data):
    # 47 + 8 n bits without stuffing; at most (34 + 8 n - 1) / 4 more (Davis et al., 2007)
    length, n = len(Frame(0.0, identifier, data).bits()), len(data)
    assert 47 + 8 * n <= length <= 47 + 8 * n + (33 + 8 * n) // 4


@given(IDENTIFIERS, st.binary(max_size=8))
def test_a_receiver_reads_what_was_sent_and_finds_the_check_right(identifier, data):
    sent = Frame(0.0, identifier, data).bits()
    body = unstuffed(sent[:-13])
    assert body[0] == 0
    assert int("".join(map(str, body[1:12])), 2) == identifier
    assert body[12:15] == [0, 0, 0]
    assert int("".join(map(str, body[15:19])), 2) == len(data)
    assert body[19:-15] == bits_of(data)
    assert crc(body) == 0  # data and check together leave nothing
    assert sent[-13:] == (1, 0, 1, *(1,) * 10)


@given(st.lists(st.integers(0, 1), max_size=80))
def test_never_six_equal_bits_in_a_row(bits):
    sent = "".join(map(str, stuffed(bits)))
    assert "000000" not in sent
    assert "111111" not in sent
    assert unstuffed(tuple(map(int, sent)))[: len(bits)] == bits


def test_a_frame_nobody_acknowledges_leaves_the_bit_recessive():
    assert Frame(0.0, 0x7E0, b"\1", acknowledged=False).bits()[-12] == 1
    assert Frame(0.0, 0x7E0, b"\1").bits()[-12] == 0


def test_eight_bytes_take_a_quarter_of_a_millisecond_at_most():
    worst = Frame(0.0, 0x000, bytes(8))
    assert worst.seconds <= 135 / 500_000  # 135 bits: Davis et al., 2007
    assert worst.seconds == pytest.approx(len(worst.bits()) / 500_000)
