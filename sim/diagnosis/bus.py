"""Control units and a tester on one CAN bus: real frames, nobody's wall clock.

An edge: python-can carries the frames on a virtual bus in this process, and `sim.diagnosis.nodes`
cuts transfers into frames. The bus lets each node take its turn until nobody has anything left to
send, lowest answer identifier first, as arbitration would. Time is the bench's: a frame takes its
bits at 500 kbit/s, a unit answers 2 ms after the request's end.

Identifiers are those of ISO 15765-4: 7DF asks all units; 7E0 to 7E7 and 7E8 to 7EF, or others of a
maker's own, belong to one unit. Frames are filled up to eight bytes.
"""

from __future__ import annotations

import uuid
from collections import deque
from collections.abc import Iterable
from types import TracebackType
from typing import Self

from sim.diagnosis.frames import Frame
from sim.diagnosis.nodes import LONGEST, SINGLE_FRAME, Answer, TesterNode, UnitNode, open_node
from sim.diagnosis.unit import UnitState
from sim.errors import DiagnosisError


class DiagnosticBus:
    """The bus with its units and a tester; a thin mutable shell.

    Parameters
    ----------
    units : iterable of UnitState
        Names and identifiers must differ.
    clock : float
        Seconds on the bench's clock.
    channel : str
        Name under which other nodes of this process can join by python-can, see `poll`; a name of
        its own where empty.
    keep : int, optional
        How many frames are remembered, the last ones; all without it.

    Raises
    ------
    DiagnosisError
        Two units share a name, an identifier or an address.
    """

    def __init__(
        self,
        units: Iterable[UnitState],
        clock: float = 0.0,
        channel: str = "",
        keep: int | None = None,
    ) -> None:
        states = sorted(units, key=lambda unit: unit.answer_id)
        _check_distinct(states)
        self.clock = self.request_end = clock
        self._frames: deque[Frame] = deque(maxlen=keep)
        shared = channel or uuid.uuid4().hex
        self._monitor = open_node(shared)
        self._nodes = {unit.name: UnitNode(self, open_node(shared), unit) for unit in states}
        self._tester = TesterNode(self, open_node(shared), states)

    def __enter__(self) -> Self:
        """Return the bus."""
        return self

    def __exit__(
        self,
        kind: type[BaseException] | None,
        error: BaseException | None,
        trace: TracebackType | None,
    ) -> None:
        """Take all nodes off the bus."""
        self.close()

    def close(self) -> None:
        """Take all nodes off the bus."""
        for node in (*self._nodes.values(), self._tester):
            node.bus.shutdown()
        self._monitor.shutdown()

    @property
    def units(self) -> tuple[UnitState, ...]:
        """The units as they are now, lowest answer identifier first."""
        return tuple(node.unit for node in self._nodes.values())

    @property
    def frames(self) -> tuple[Frame, ...]:
        """Every frame sent so far that is remembered."""
        return tuple(self._frames)

    def unit(self, name: str) -> UnitState:
        """Return one unit; raises `DiagnosisError` for a name that is not there."""
        return self._node(name).unit

    def put(self, unit: UnitState) -> None:
        """Replace the unit of this name: new values, a new way to be reached.

        Raises
        ------
        DiagnosisError
            There is no such unit, or its identifiers differ.
        """
        node = self._node(unit.name)
        for one in ("request_id", "answer_id", "address"):
            if getattr(node.unit, one) != getattr(unit, one):
                raise DiagnosisError(f"{unit.name}: got another {one}; make a new bus for that")
        node.unit = unit

    def ask(self, name: str | None, request: bytes) -> tuple[Answer, ...]:
        """Send a request with the tester and return what was answered.

        Parameters
        ----------
        name : str or None
            The unit asked, None for all (functional addressing).
        request : bytes
            1 to 4095 bytes, 7 for all units.

        Returns
        -------
        tuple of Answer
            Empty where nobody answered; lowest answer identifier first.

        Raises
        ------
        DiagnosisError
            The unit is not there, or the request cannot be sent.
        """
        longest = SINGLE_FRAME if name is None else LONGEST
        if not 1 <= len(request) <= longest:
            raise DiagnosisError(
                f"request to {name or 'all units'}: got {len(request)} bytes, expected 1 to "
                f"{longest}"
            )
        if name is not None:
            self._node(name)
        self._tester.send(name, request)
        self.poll()
        return self._tester.collect()

    def poll(self) -> None:
        """Let everybody take turns until the bus is quiet.

        Called by `ask`; a program that joined the channel by itself calls it after sending.
        """
        self.hear()
        nodes = (*self._nodes.values(), self._tester)
        while sum(node.turn() for node in nodes):
            pass

    def hear(self) -> None:
        """Note what has been sent since the last time, and let its time pass."""
        while (message := self._monitor.recv(0)) is not None:
            frame = Frame(
                self.clock,
                message.arbitration_id,
                bytes(message.data),
                self._acknowledged(message.arbitration_id),
            )
            self._frames.append(frame)
            self.clock += frame.seconds
            if not self._from_unit(frame.identifier):
                self.request_end = self.clock

    def _acknowledged(self, identifier: int) -> bool:
        """Tell whether anybody but the sender is there; the tester always is."""
        return self._from_unit(identifier) or any(unit.reachable for unit in self.units)

    def _from_unit(self, identifier: int) -> bool:
        return any(unit.answer_id == identifier for unit in self.units)

    def _node(self, name: str) -> UnitNode:
        if name not in self._nodes:
            raise DiagnosisError(
                f"control unit {name!r}: not on this bus; there are {', '.join(self._nodes)}"
            )
        return self._nodes[name]


def exchange(
    units: Iterable[UnitState], name: str | None, request: bytes, clock: float
) -> tuple[tuple[Answer, ...], tuple[UnitState, ...], tuple[Frame, ...]]:
    """Send one request over a bus of its own; return answers, units afterwards, and frames."""
    with DiagnosticBus(units, clock) as bus:
        answers = bus.ask(name, request)
        return answers, bus.units, bus.frames


def _check_distinct(units: list[UnitState]) -> None:
    for what, values in (
        ("name", [unit.name for unit in units]),
        ("address", [f"0x{unit.address:04X}" for unit in units]),
        (
            "CAN identifier",
            [f"0x{one:03X}" for unit in units for one in (unit.request_id, unit.answer_id)],
        ),
    ):
        twice = sorted({value for value in values if values.count(value) > 1})
        if twice:
            raise DiagnosisError(f"control units: {what} {twice[0]} is there twice")
