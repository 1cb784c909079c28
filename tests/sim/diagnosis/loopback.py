"""A clock that a test moves, and connections to the vehicle on loopback: doipclient, and bare."""

import socket
from typing import Self

from doipclient import DoIPClient

from sim.diagnosis.doip import VehicleOnLoopback
from sim.diagnosis.doipmessages import HOST, Kind, pack

ENGINE = 0x0101
LONG = 20.0  # s; only a broken test waits so long
FAR = 10 * LONG  # s; a vehicle that waits so long lets the test's own patience run out first


class Clock:
    """Seconds that pass when a test says so."""

    def __init__(self) -> None:
        self.now = 0.0

    def __call__(self) -> float:
        return self.now


def plug_in(vehicle: VehicleOnLoopback, unit: int = ENGINE, **settings) -> DoIPClient:
    return DoIPClient(HOST, unit, tcp_port=vehicle.port, udp_port=vehicle.port, **settings)


class Line:
    """A bare connection that can send anything."""

    def __init__(self, vehicle: VehicleOnLoopback) -> None:
        self.socket = socket.create_connection((HOST, vehicle.port), timeout=LONG)

    def __enter__(self) -> Self:
        """Begin."""
        return self

    def __exit__(self, *_error: object) -> None:
        """Hang up."""
        self.socket.close()

    def send(self, data: bytes) -> None:
        self.socket.sendall(data)

    def receive(self) -> tuple[int, bytes] | None:
        """Return type and payload of the next message, None at the end of the connection."""
        header = self._exactly(8)
        if len(header) < 8:
            return None
        assert header[:2] == b"\x02\xfd"
        payload = self._exactly(int.from_bytes(header[4:], "big"))
        return int.from_bytes(header[2:4], "big"), payload

    def activate(self, address: int = 0x0E00) -> int | None:
        """Ask for routing; return the code of the answer."""
        self.send(pack(Kind.ACTIVATE, address.to_bytes(2, "big") + bytes(5)))
        answer = self.receive()
        return None if answer is None else answer[1][4]

    def _exactly(self, count: int) -> bytes:
        data = b""
        while len(data) < count:
            try:
                piece = self.socket.recv(count - len(data))
            except ConnectionError:
                return data
            if not piece:
                return data
            data += piece
        return data


def diagnostic(request: str, target: int = ENGINE, source: int = 0x0E00) -> bytes:
    addresses = source.to_bytes(2, "big") + target.to_bytes(2, "big")
    return pack(Kind.DIAGNOSTIC, addresses + bytes.fromhex(request))
