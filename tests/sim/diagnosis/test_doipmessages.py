"""Headers and messages of ISO 13400-2, against two libraries that are not ours."""

import doipclient.messages as theirs
import pytest
from hypothesis import given
from hypothesis import strategies as st
from scapy.contrib.automotive.doip import DoIP

from sim.diagnosis.doipmessages import (
    LENGTHS,
    LONGEST,
    HeaderFault,
    Kind,
    Message,
    Reader,
    Refusal,
    pack,
)

ACTIVATE = bytes.fromhex("02FD 0005 00000007 0E00 00 00000000")


def header(kind: int, length: int, version: int = 2, inverse: int = 0xFD) -> bytes:
    return bytes((version, inverse)) + kind.to_bytes(2, "big") + length.to_bytes(4, "big")


@pytest.mark.parametrize(
    ("kind", "name"),
    [
        (Kind.HEADER_REFUSED, "GenericDoIPNegativeAcknowledge"),
        (Kind.IDENTIFY, "VehicleIdentificationRequest"),
        (Kind.IDENTIFY_BY_EID, "VehicleIdentificationRequestWithEID"),
        (Kind.IDENTIFY_BY_VIN, "VehicleIdentificationRequestWithVIN"),
        (Kind.IDENTIFICATION, "VehicleIdentificationResponse"),
        (Kind.ACTIVATE, "RoutingActivationRequest"),
        (Kind.ACTIVATION, "RoutingActivationResponse"),
        (Kind.ALIVE_CHECK, "AliveCheckRequest"),
        (Kind.ALIVE, "AliveCheckResponse"),
        (Kind.STATUS, "DoipEntityStatusRequest"),
        (Kind.STATUS_ANSWER, "EntityStatusResponse"),
        (Kind.POWER_MODE, "DiagnosticPowerModeRequest"),
        (Kind.POWER_MODE_ANSWER, "DiagnosticPowerModeResponse"),
        (Kind.DIAGNOSTIC, "DiagnosticMessage"),
        (Kind.ACKNOWLEDGED, "DiagnosticMessagePositiveAcknowledgement"),
        (Kind.NOT_ACKNOWLEDGED, "DiagnosticMessageNegativeAcknowledgement"),
    ],
)
def test_payload_types_are_doipclients(kind, name):
    assert getattr(theirs, name).payload_type == kind


def test_header_faults_are_doipclients():
    codes = theirs.GenericDoIPNegativeAcknowledge.NackCodes
    assert codes.IncorrectPatternFormat == HeaderFault.PATTERN
    assert codes.UnknownPayloadType == HeaderFault.UNKNOWN_KIND
    assert codes.MessageTooLarge == HeaderFault.TOO_LONG
    assert codes.InvalidPayloadLength == HeaderFault.LENGTH


def test_scapy_reads_our_messages_and_we_read_its():
    ours = pack(Kind.DIAGNOSTIC, bytes.fromhex("0E00 0101 22F190"))
    packet = DoIP(ours)
    assert (packet.protocol_version, packet.inverse_version) == (2, 0xFD)
    assert (packet.payload_type, packet.payload_length) == (0x8001, 7)
    assert (packet.source_address, packet.target_address) == (0x0E00, 0x0101)
    packet = DoIP(payload_type=5, source_address=0x0E00, activation_type=0, reserved_oem=b"")
    assert Reader().feed(bytes(packet)) == [Message(Kind.ACTIVATE, ACTIVATE[8:])]


@given(st.integers(1, 30), st.integers(0, 2))
def test_messages_come_out_whole_in_whatever_pieces_they_arrive(size, more):
    stream = ACTIVATE + pack(Kind.DIAGNOSTIC, bytes.fromhex("0E000101 3E00")) * more
    reader, found = Reader(), []
    for start in range(0, len(stream), size):
        found += reader.feed(stream[start : start + size])
    assert [one.kind for one in found] == [Kind.ACTIVATE] + [Kind.DIAGNOSTIC] * more


def test_half_a_message_is_nothing_yet():
    assert Reader().feed(ACTIVATE[:-1]) == []
    assert Reader().feed(ACTIVATE[:7]) == []


@pytest.mark.parametrize(
    "bad",
    [
        header(5, 7, version=4, inverse=0xFB),
        header(5, 7, inverse=0xFE),
        header(5, 7, version=0xFF, inverse=0x00),  # FF is for identification only
        b"GET / HTTP/1.1\r\n",
    ],
)
def test_a_wrong_pattern_ends_the_connection(bad):
    reader = Reader()
    assert reader.feed(bad + ACTIVATE) == [Refusal(HeaderFault.PATTERN)]
    assert Refusal(HeaderFault.PATTERN).ends
    assert reader.feed(ACTIVATE) == []


@pytest.mark.parametrize("version", [1, 2, 3])
def test_three_versions_are_understood(version):
    data = header(0x4003, 0, version, 0xFF - version)
    assert Reader().feed(data) == [Message(Kind.POWER_MODE, b"")]


def test_identification_may_be_asked_for_without_knowing_the_version():
    assert Reader().feed(header(1, 0, 0xFF, 0x00)) == [Message(Kind.IDENTIFY, b"")]


def test_an_unknown_type_is_skipped():
    reader = Reader()
    data = header(0x1234, 5) + bytes(5) + ACTIVATE
    assert reader.feed(data) == [
        Refusal(HeaderFault.UNKNOWN_KIND),
        Message(Kind.ACTIVATE, ACTIVATE[8:]),
    ]
    assert not Refusal(HeaderFault.UNKNOWN_KIND).ends


def test_too_long_a_message_is_skipped_without_being_kept():
    reader = Reader()
    assert reader.feed(header(0x8001, LONGEST + 1)) == [Refusal(HeaderFault.TOO_LONG)]
    for _piece in range(LONGEST // 1000):
        assert reader.feed(bytes(1000)) == []
    rest = LONGEST + 1 - LONGEST // 1000 * 1000
    assert reader.feed(bytes(rest) + ACTIVATE) == [Message(Kind.ACTIVATE, ACTIVATE[8:])]


def test_four_gigabytes_announced_take_no_memory():
    reader = Reader()
    assert reader.feed(header(0x8001, 0xFFFFFFFF)) == [Refusal(HeaderFault.TOO_LONG)]
    for _piece in range(50):
        assert reader.feed(bytes(100_000)) == []
    assert reader.waiting == 0


@pytest.mark.parametrize(
    ("kind", "length"), [(5, 6), (5, 8), (5, 12), (0x8001, 4), (1, 1), (8, 1), (0x4001, 2)]
)
def test_a_length_that_cannot_be_ends_the_connection(kind, length):
    assert Reader().feed(header(kind, length) + bytes(length)) == [Refusal(HeaderFault.LENGTH)]
    assert Refusal(HeaderFault.LENGTH).ends


@given(st.lists(st.binary(max_size=40), max_size=10))
def test_any_bytes_at_all_give_messages_or_refusals(pieces):
    reader = Reader()
    for piece in pieces:
        for one in reader.feed(piece):
            if isinstance(one, Message):
                least, largest = LENGTHS[one.kind]
                assert least <= len(one.payload) <= largest
            else:
                assert one.fault in HeaderFault
