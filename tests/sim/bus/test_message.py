"""What a unit sends: real frames of ISO 11898-1."""

import can
import pytest

from sim.bus.message import dominant_share, frame_bits, message, read_identifier
from sim.errors import QuantityError


def test_a_message_holds_supply_and_counter() -> None:
    frame = message(0x280, 12.345, 18)
    assert frame.identifier == 0x280
    assert int.from_bytes(frame.data[:2], "big") == 12345
    assert frame.data[2] == 2
    assert frame.data[3:] == b"\xff" * 5
    assert can.Message(arbitration_id=frame.identifier, data=frame.data).dlc == 8


def test_a_frame_of_eight_bytes_takes_111_bits_and_the_stuffed_ones() -> None:
    """ISO 11898-1: 1 + 11 + 3 + 4 + 64 + 15 + 3 + 7 + 3 = 111; at most 24 are stuffed in."""
    for identifier in range(0, 0x800, 37):
        assert 111 <= frame_bits(identifier) <= 111 + 24
        assert 0.2 < dominant_share(identifier) < 0.6


@pytest.mark.parametrize("text", ["", "800", "-1", "xyz", "12 3 4"])
def test_what_is_no_identifier_is_refused(text: str) -> None:
    with pytest.raises(QuantityError, match="000 to 7FF"):
        read_identifier(text)


@pytest.mark.parametrize(("text", "number"), [("0", 0), ("7ff", 0x7FF), ("0C0", 0xC0)])
def test_identifiers_are_hexadecimal(text: str, number: int) -> None:
    assert read_identifier(text) == number
