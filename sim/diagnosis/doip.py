"""The gateway on loopback: TCP and UDP on 127.0.0.1, and nowhere else.

An edge, on the standard library's asyncio in a thread of its own; one thread does everything, so
requests of several testers are served one after the other. A tester that activates an address which
another connection holds makes the gateway ask the other one whether it is still there; if not, it
gives way. A connection that stays silent is closed: 2 s before routing is activated, 5 min after
(times of ISO 13400-2, from memory). Nothing is broadcast.
"""

from __future__ import annotations

import asyncio
import contextlib
import threading
import time
from collections.abc import Callable, Coroutine, Iterable
from dataclasses import dataclass, field
from types import TracebackType
from typing import Self, TypeVar, cast

from sim.diagnosis.bus import DiagnosticBus
from sim.diagnosis.doipgateway import (
    MOST_TESTERS,
    Connection,
    Gateway,
    Refresh,
    activation,
    check_addresses,
)
from sim.diagnosis.doipmessages import HOST, PORT, Kind, Message, Reader, Refusal, pack
from sim.diagnosis.unit import UnitState
from sim.errors import DiagnosisError

FRAMES_KEPT = 10_000  # of a vehicle that may be served for days
PIECE = 4096  # bytes read at once
ALL_TAKEN, HELD_BY_ANOTHER = 0x01, 0x03  # answers to a routing activation
T = TypeVar("T")
PORT_TRIES = 20  # a free TCP port may be taken for UDP


@dataclass(frozen=True, slots=True)
class Patience:
    """How long the gateway waits, in s: for activation, for the next message, for "alive"."""

    activation: float = 2.0
    message: float = 300.0
    alive: float = 0.5


class VehicleOnLoopback:
    """Control units behind a gateway, for the time of a `with`.

    Parameters
    ----------
    units : iterable of UnitState
    port : int
        0 lets the system choose; see `port` afterwards.
    clock : callable
        Seconds by which sessions run out.
    patience : Patience
    refresh : callable, optional
        Gets bus and clock before each request, to bring the units up to date.

    Raises
    ------
    DiagnosisError
        A unit's address is taken, or (on entering) the port cannot be had.
    """

    bus: DiagnosticBus
    _service: _Service
    _loop: asyncio.AbstractEventLoop
    _thread: threading.Thread

    def __init__(
        self,
        units: Iterable[UnitState],
        port: int = PORT,
        clock: Callable[[], float] = time.monotonic,
        patience: Patience | None = None,
        refresh: Refresh | None = None,
    ) -> None:
        self.port = port
        self._units = tuple(units)
        self._clock = clock
        self._patience = patience or Patience()
        self._refresh = refresh
        check_addresses(self._units)

    def __enter__(self) -> Self:
        """Begin to listen."""
        self.bus = DiagnosticBus(self._units, self._clock(), keep=FRAMES_KEPT)
        gateway = Gateway(self.bus, self._clock, refresh=self._refresh)
        self._service = _Service(gateway, self._patience)
        self._loop = asyncio.new_event_loop()
        self._thread = threading.Thread(target=self._loop.run_forever, daemon=True)
        self._thread.start()
        try:
            self.port = self._call(self._service.start(self.port))
        except OSError as error:
            self._end()
            raise DiagnosisError(
                f"port {self.port} on {HOST}: cannot be opened ({error.strerror}); choose another, "
                "or 0 for any"
            ) from error
        return self

    def __exit__(
        self,
        kind: type[BaseException] | None,
        error: BaseException | None,
        trace: TracebackType | None,
    ) -> None:
        """End all connections and stop listening."""
        self._call(self._service.stop())
        self._end()

    def put(self, unit: UnitState) -> None:
        """Replace a unit between two requests."""

        async def replaced() -> None:
            self.bus.put(unit)

        self._call(replaced())

    def unit(self, name: str) -> UnitState:
        """Return a unit as it is between two requests."""

        async def found() -> UnitState:
            return self.bus.unit(name)

        return self._call(found())

    def _call(self, work: Coroutine[None, None, T]) -> T:
        """Run work in the loop's thread and return what it returns."""
        return asyncio.run_coroutine_threadsafe(work, self._loop).result()

    def _end(self) -> None:
        self._loop.call_soon_threadsafe(self._loop.stop)
        self._thread.join()
        self._loop.close()
        self.bus.close()


class _Service:
    """What runs in the loop: listeners and the connections they have taken."""

    def __init__(self, gateway: Gateway, patience: Patience) -> None:
        self._gateway = gateway
        self._patience = patience
        self._server: asyncio.Server | None = None
        self._datagrams: asyncio.DatagramTransport | None = None
        self._lines: dict[int, _Line] = {}
        self._stopping = False

    async def start(self, port: int, tries: int = PORT_TRIES) -> int:
        """Listen; return the port."""
        loop = asyncio.get_running_loop()
        self._server = await asyncio.start_server(self._serve, HOST, port)
        taken: int = self._server.sockets[0].getsockname()[1]
        try:
            self._datagrams, _protocol = await loop.create_datagram_endpoint(
                lambda: _Announcer(self._gateway), local_addr=(HOST, taken)
            )
        except OSError:
            self._server.close()
            await self._server.wait_closed()
            if port or tries == 1:
                raise
            return await self.start(port, tries - 1)
        return taken

    async def stop(self) -> None:
        """End all connections, wait until they are gone, and stop listening."""
        self._stopping = True
        for line in self._lines.values():
            line.end()
        # A connection that is just being taken begins its own task when the one that takes it ends;
        # asyncio loses it where the listener is closed meanwhile, so the listener goes last.
        while others := asyncio.all_tasks() - {asyncio.current_task()}:
            await asyncio.gather(*others, return_exceptions=True)
        if self._datagrams is not None:
            self._datagrams.close()
        if self._server is not None:
            self._server.close()
            await self._server.wait_closed()

    async def _serve(self, reader: asyncio.StreamReader, writer: asyncio.StreamWriter) -> None:
        line = _Line(Connection(), writer)
        if self._stopping:
            line.end()
        self._lines[id(line.connection)] = line
        self._gateway.connections.append(line.connection)
        try:
            with contextlib.suppress(TimeoutError, ConnectionError):
                await self._talk(line, reader)
            writer.close()
            with contextlib.suppress(ConnectionError):
                await writer.wait_closed()
        finally:
            self._gateway.connections.remove(line.connection)
            del self._lines[id(line.connection)]

    async def _talk(self, line: _Line, reader: asyncio.StreamReader) -> None:
        messages = Reader()
        while True:
            activated = line.connection.tester is not None
            patience = self._patience.message if activated else self._patience.activation
            async with asyncio.timeout(patience):
                data = await reader.read(PIECE)
            if not data:
                return
            line.alive.set()
            for one in messages.feed(data):
                if await self._handle(line, one):
                    return

    async def _handle(self, line: _Line, one: Message | Refusal) -> bool:
        """Answer a message; return whether the connection ends."""
        if isinstance(one, Refusal):
            await line.send(pack(Kind.HEADER_REFUSED, bytes((one.fault,))))
            return one.ends
        if one.kind is Kind.ACTIVATE:
            code = await self._objection(line, one)
            if code is not None:
                await line.send(activation(int.from_bytes(one.payload[:2], "big"), code).send)
                return True
        step = self._gateway.answer(line.connection, one)
        await line.send(step.send)
        return step.ends

    async def _objection(self, line: _Line, one: Message) -> int | None:
        """Return why a routing activation has to be refused because of others, None if not."""
        rival = self._gateway.rival(line.connection, one)
        if rival is not None:
            other = self._lines[id(rival)]
            if await other.is_alive(self._patience.alive):
                return HELD_BY_ANOTHER
            other.end()
            rival.tester = None
        others = [each for each in self._gateway.connections if each is not line.connection]
        if sum(each.tester is not None for each in others) >= MOST_TESTERS:
            return ALL_TAKEN
        return None


@dataclass(slots=True)
class _Line:
    """An open connection and what belongs to it."""

    connection: Connection
    writer: asyncio.StreamWriter
    alive: asyncio.Event = field(default_factory=asyncio.Event)

    async def send(self, data: bytes) -> None:
        """Send bytes."""
        self.writer.write(data)
        await self.writer.drain()

    def end(self) -> None:
        """Cut the connection; whoever reads from it sees its end."""
        self.writer.transport.abort()

    async def is_alive(self, seconds: float) -> bool:
        """Ask the tester whether it is still there."""
        self.alive.clear()
        try:
            async with asyncio.timeout(seconds):
                await self.send(pack(Kind.ALIVE_CHECK))
                await self.alive.wait()
        except (TimeoutError, ConnectionError):
            return False
        return True


class _Announcer(asyncio.DatagramProtocol):
    """Answers single datagrams: identification, status, power mode."""

    def __init__(self, gateway: Gateway) -> None:
        self._gateway = gateway
        self._transport: asyncio.DatagramTransport | None = None

    def connection_made(self, transport: asyncio.BaseTransport) -> None:
        """Keep the socket."""
        # asyncio's own datagram transports are no subclass of the class it documents for them
        self._transport = cast(asyncio.DatagramTransport, transport)

    def datagram_received(self, data: bytes, addr: tuple[str, int]) -> None:
        """Answer the messages in a datagram."""
        for one in Reader().feed(data):
            if isinstance(one, Refusal):
                sent: bytes | None = pack(Kind.HEADER_REFUSED, bytes((one.fault,)))
            else:
                sent = self._gateway.announce(one)
            if sent and self._transport is not None:
                self._transport.sendto(sent, addr)
