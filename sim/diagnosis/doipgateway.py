"""The vehicle's gateway of ISO 13400-2: what it answers to each message; no sockets.

A tester activates routing with its address (0E00 to 0FFF), then sends diagnostic messages to a
unit's address or to E000, all units. The gateway acknowledges, asks on the CAN bus and passes on
what is answered. A unit without power, ground or bus is "unreachable": the gateway misses it on the
bus. Numbers of the answers are from memory; a client that is not ours understands them.
"""

from __future__ import annotations

from collections.abc import Callable, Iterable
from dataclasses import dataclass, field

from sim.diagnosis.bus import DiagnosticBus
from sim.diagnosis.doipmessages import Kind, Message, pack
from sim.diagnosis.nodes import SINGLE_FRAME
from sim.diagnosis.unit import UnitState
from sim.errors import DiagnosisError

GATEWAY = 0x0100  # the gateway's own address; ours
ALL_UNITS = 0xE000
TESTERS = range(0x0E00, 0x1000)
IDENTITY = bytes(6)  # of the gateway and of its group: none, this vehicle has no network card
VIN_LENGTH = 17
MOST_TESTERS = 4
READY = 0x01  # power mode: ready for diagnostics

DEFAULT_ACTIVATION, REGULATED_ACTIVATION = 0x00, 0x01
UNKNOWN_TESTER, OTHER_ADDRESS, UNKNOWN_ACTIVATION, ACTIVATED = 0x00, 0x02, 0x06, 0x10
NOT_ACTIVATED, UNKNOWN_UNIT, TOO_LONG, UNREACHABLE = 0x02, 0x03, 0x04, 0x06


Refresh = Callable[[DiagnosticBus, float], object]


@dataclass(slots=True)
class Connection:
    """One tester's connection; `tester` is its address once routing is activated."""

    tester: int | None = None


@dataclass(frozen=True, slots=True)
class Step:
    """What follows from a message: bytes to send, and whether the connection ends then."""

    send: bytes
    ends: bool = False


@dataclass(slots=True)
class Gateway:
    """The gateway between testers and the bus.

    Attributes
    ----------
    bus : DiagnosticBus
    clock : callable
        Seconds by which the units' sessions run out.
    connections : list of Connection
        Those that are open.
    refresh : callable, optional
        Gets bus and clock before each request, to bring the units up to date.
    """

    bus: DiagnosticBus
    clock: Callable[[], float]
    connections: list[Connection] = field(default_factory=list)
    refresh: Refresh | None = None

    def answer(self, connection: Connection, message: Message) -> Step:
        """Answer a message on a connection."""
        if message.kind is Kind.ACTIVATE:
            return self._activate(connection, message.payload)
        if message.kind is Kind.DIAGNOSTIC:
            return self._diagnose(connection, message.payload)
        if message.kind is Kind.ALIVE_CHECK:
            # the standard has only the gateway ask; some testers do, and it harms nobody
            return Step(pack(Kind.ALIVE, GATEWAY.to_bytes(2, "big")))
        return Step(self.announce(message) or b"")

    def announce(self, message: Message) -> bytes | None:
        """Answer what may be asked without a connection; None where nothing is to be said."""
        if message.kind is Kind.STATUS:
            open_now = len(self.connections)
            return pack(Kind.STATUS_ANSWER, bytes((0, MOST_TESTERS, open_now)))
        if message.kind is Kind.POWER_MODE:
            return pack(Kind.POWER_MODE_ANSWER, bytes((READY,)))
        vin = self._vin()
        asked = {
            Kind.IDENTIFY: b"",
            Kind.IDENTIFY_BY_EID: IDENTITY,
            Kind.IDENTIFY_BY_VIN: vin,
        }
        if asked.get(message.kind) != message.payload:
            return None
        own = GATEWAY.to_bytes(2, "big")
        return pack(Kind.IDENTIFICATION, vin + own + IDENTITY + IDENTITY + b"\0")

    def rival(self, connection: Connection, message: Message) -> Connection | None:
        """Return the open connection that holds the address that this one wants to activate."""
        if message.kind is not Kind.ACTIVATE:
            return None
        wanted = int.from_bytes(message.payload[:2], "big")
        return next(
            (one for one in self.connections if one.tester == wanted and one is not connection),
            None,
        )

    def _activate(self, connection: Connection, payload: bytes) -> Step:
        tester, kind = int.from_bytes(payload[:2], "big"), payload[2]
        if tester not in TESTERS:
            code = UNKNOWN_TESTER
        elif connection.tester not in {None, tester}:
            code = OTHER_ADDRESS
        elif kind not in {DEFAULT_ACTIVATION, REGULATED_ACTIVATION}:
            code = UNKNOWN_ACTIVATION
        else:
            code = ACTIVATED
            connection.tester = tester
        return activation(tester, code)

    def _diagnose(self, connection: Connection, payload: bytes) -> Step:
        source, target = payload[:2], payload[2:4]
        if connection.tester != int.from_bytes(source, "big"):
            refused = target + source + bytes((NOT_ACTIVATED,))
            return Step(pack(Kind.NOT_ACKNOWLEDGED, refused), ends=True)
        address, request = int.from_bytes(target, "big"), payload[4:]
        if self.refresh is not None:
            self.refresh(self.bus, self.clock())
        unit = next((one for one in self.bus.units if one.address == address), None)
        fault = None
        if unit is None and address != ALL_UNITS:
            fault = UNKNOWN_UNIT
        elif unit is None and len(request) > SINGLE_FRAME:
            fault = TOO_LONG  # all units are asked in one frame
        elif unit is not None and not unit.reachable:
            fault = UNREACHABLE
        if fault is not None:
            return Step(pack(Kind.NOT_ACKNOWLEDGED, target + source + bytes((fault,))))
        self.bus.clock = max(self.bus.clock, self.clock())
        answers = self.bus.ask(None if unit is None else unit.name, request)
        sent = pack(Kind.ACKNOWLEDGED, target + source + b"\0")
        for one in answers:
            address = self.bus.unit(one.unit).address
            sent += pack(Kind.DIAGNOSTIC, address.to_bytes(2, "big") + source + one.data)
        return Step(sent)

    def _vin(self) -> bytes:
        """Return the identification that a unit holds; zeros say that none does."""
        found = next((unit.vin for unit in self.bus.units if unit.vin), "")
        return found.encode() or bytes(VIN_LENGTH)


def check_addresses(units: Iterable[UnitState]) -> None:
    """Refuse units whose address means something else here.

    Raises
    ------
    DiagnosisError
        An address is the gateway's, a tester's, or that of all units.
    """
    for unit in units:
        if unit.address in {GATEWAY, ALL_UNITS} or unit.address in TESTERS:
            raise DiagnosisError(
                f"{unit.name}: got address 0x{unit.address:04X}, which is the gateway's, a "
                "tester's or that of all units"
            )


def activation(tester: int, code: int) -> Step:
    """Return the answer to a routing activation; all but success end the connection."""
    payload = tester.to_bytes(2, "big") + GATEWAY.to_bytes(2, "big") + bytes((code,)) + bytes(4)
    return Step(pack(Kind.ACTIVATION, payload), ends=code != ACTIVATED)
