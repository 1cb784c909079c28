"""The vehicle on loopback, and connections gone wrong: cut, silent, in pieces, nonsense."""

import contextlib
import gc
import random
import socket

import pytest

from sim.diagnosis.doip import Patience, VehicleOnLoopback
from sim.diagnosis.doipmessages import Kind
from sim.diagnosis.sample import brakes_unit, sample_units
from tests.sim.diagnosis.loopback import FAR, LONG, Line, diagnostic, plug_in


def test_a_request_in_single_bytes_is_answered(vehicle):
    with Line(vehicle) as line:
        assert line.activate() == 0x10
        for byte in diagnostic("0105"):
            line.send(bytes((byte,)))
        assert line.receive() == (Kind.ACKNOWLEDGED, bytes.fromhex("01010E0000"))
        assert line.receive() == (Kind.DIAGNOSTIC, bytes.fromhex("01010E00 410500"))


@pytest.mark.parametrize(
    ("data", "code", "ends"),
    [
        (b"GET / HTTP/1.1\r\n\r\n", 0x00, True),
        (bytes.fromhex("02FE 0005 00000007") + bytes(7), 0x00, True),
        (bytes.fromhex("02FD 0005 00000003") + bytes(3), 0x04, True),
        (bytes.fromhex("02FD BEEF 00000003") + bytes(3), 0x01, False),
        (bytes.fromhex("02FD 8001 00002000") + bytes(0x2000), 0x02, False),
    ],
)
def test_bad_headers_are_refused_and_the_connection_ends_only_where_it_must(
    vehicle, data, code, ends
):
    with Line(vehicle) as line:
        line.send(data)
        assert line.receive() == (Kind.HEADER_REFUSED, bytes((code,)))
        if ends:
            assert line.receive() is None
        else:
            assert line.activate() == 0x10


def test_a_connection_cut_in_the_middle_of_a_message_leaves_the_vehicle_working(vehicle):
    with Line(vehicle) as line:
        assert line.activate() == 0x10
        line.send(diagnostic("0105")[:-1])
    with plug_in(vehicle, client_logical_address=0x0E05) as client:
        client.send_diagnostic(bytes.fromhex("0105"))
        assert bytes(client.receive_diagnostic(timeout=LONG)) == bytes.fromhex("410500")


@pytest.mark.parametrize("activated", [False, True])
def test_a_silent_connection_is_closed(clock, activated):
    short = {"message": 0.02, "activation": FAR} if activated else {"activation": 0.02}
    with (
        VehicleOnLoopback(sample_units(), 0, clock, Patience(**short)) as vehicle,
        Line(vehicle) as line,
    ):
        if activated:
            assert line.activate() == 0x10
        with contextlib.suppress(ConnectionError):  # it may be closed by now
            line.send(diagnostic("0105")[:5])  # half a header is not a message
        assert line.receive() is None


def test_random_bytes_do_not_bring_it_down(vehicle):
    chance = random.Random(20261126)  # noqa: S311 -- not for secrets
    for _connection in range(30):
        with Line(vehicle) as line:
            kind = chance.choice(list(Kind))
            length = chance.choice((0, 3, 7, 11, 30))
            start = bytes((2, 0xFD)) + kind.to_bytes(2, "big") + length.to_bytes(4, "big")
            line.send(start + chance.randbytes(length) + b"\0")
            line.socket.shutdown(socket.SHUT_WR)
            while line.receive() is not None:
                pass
    with plug_in(vehicle) as client:
        client.send_diagnostic(bytes.fromhex("0105"))
        assert bytes(client.receive_diagnostic(timeout=LONG)) == bytes.fromhex("410500")


@pytest.mark.parametrize("count", [0, 1, 2, 3])
def test_connections_taken_just_before_the_end_are_closed(clock, count):
    for _vehicle in range(5):
        with VehicleOnLoopback([brakes_unit()], 0, clock) as vehicle:
            lines = [Line(vehicle) for _line in range(count)]
        for line in lines:
            assert line.receive() is None
            line.socket.close()
    gc.collect()  # a socket left open would warn here
