"""Nodes on the CAN bus: control units and the tester, with their transfers.

An edge: can-isotp cuts requests and answers into frames and puts them together again
(ISO 15765-2), without a thread: a node works when it is given its turn. A unit answers 2 ms after
the request's end (ours; the standard allows 50 ms). Time-outs of a transfer cannot occur, so they
are set far away; what nobody goes on with is given up when the tester has what it can get.
"""

from __future__ import annotations

import math
from collections import deque
from collections.abc import Iterable
from dataclasses import dataclass
from typing import Protocol

import can
import isotp
from can.interfaces.virtual import VirtualBus

from sim.diagnosis.server import answer
from sim.diagnosis.unit import FUNCTIONAL_CAN_ID, UnitState

ANSWER_TIME = 2e-3  # s from a request's end to the answer's begin; ours
PADDING = 0xCC  # byte that fills a frame up; ISO 15765-2:2016 recommends it, from memory
NOBODY = 0x000  # where a layer that only sends listens
SINGLE_FRAME = 7  # bytes that fit into one frame
LONGEST = 4095  # bytes in one transfer, ISO 15765-2
FAR_AWAY = 24 * 3600 * 1000  # ms
SETTINGS = {
    "tx_padding": PADDING,
    "blocksize": 0,
    "stmin": 0,
    "max_frame_size": LONGEST,
    "rx_flowcontrol_timeout": FAR_AWAY,
    "rx_consecutive_frame_timeout": FAR_AWAY,
    "wait_func": lambda _seconds: None,  # can-isotp tries it out; here nothing ever waits
}


@dataclass(frozen=True, slots=True)
class Answer:
    """What one unit answered."""

    unit: str
    data: bytes


class Link(Protocol):
    """What a node has to know of its bus.

    Attributes
    ----------
    clock : float
        Seconds on the bench's clock.
    request_end : float
        Clock at the end of the last frame that no unit sent.
    """

    clock: float
    request_end: float

    def hear(self) -> None:
        """Note what has been sent, and let its time pass."""


class _Transfer:
    """One transfer layer of a node, and the frames that wait for it."""

    def __init__(self, node: _Node, send_as: int, listen_to: int | None) -> None:
        self._listen_to = listen_to
        self._inbox: deque[can.Message] = deque()
        address = isotp.Address(
            isotp.AddressingMode.Normal_11bits, txid=send_as, rxid=listen_to or NOBODY
        )
        self._logic = isotp.TransportLayerLogic(
            self._next, node.transmit, address, error_handler=_ignore, params=dict(SETTINGS)
        )

    def send(self, data: bytes) -> None:
        """Send a transfer, its first frame when the next turn comes."""
        self._logic.send(data)

    def receive(self) -> bytes | None:
        """Return the next transfer that has arrived, None if there is none."""
        data = self._logic.recv()
        return None if data is None else bytes(data)

    def turn(self, received: Iterable[can.Message]) -> None:
        """Take in those frames that are for it, and send what there is to send."""
        self._inbox.extend(message for message in received if self._is_for_it(message))
        self._logic.process()
        while self._inbox:
            self._logic.process()

    def give_up(self) -> None:
        """Forget transfers that are under way."""
        self._logic.reset()

    def _is_for_it(self, message: can.Message) -> bool:
        """Tell whether it gets a frame; to all units only single frames are allowed."""
        if message.arbitration_id != self._listen_to or message.is_extended_id:
            return False
        if not message.data or message.is_remote_frame or message.is_error_frame:
            return False
        return self._listen_to != FUNCTIONAL_CAN_ID or message.data[0] >> 4 == 0

    def _next(self, _timeout: float) -> isotp.CanMessage | None:
        if not self._inbox:
            return None
        message = self._inbox.popleft()
        return isotp.CanMessage(message.arbitration_id, message.dlc, bytes(message.data))


class _Node:
    """One node: takes frames off the bus, gives them to its transfer layers, sends theirs."""

    def __init__(self, link: Link, bus: VirtualBus) -> None:
        self.link = link
        self.bus = bus
        self.ready = -math.inf  # clock before which it does not send
        self.sent = 0
        self.transfers: list[_Transfer] = []

    def turn(self) -> bool:
        """Take a turn; return whether anything was received or sent."""
        received, sent = self.take(), self.sent
        for transfer in self.transfers:
            transfer.turn(received)
        self.work()
        for transfer in self.transfers:
            transfer.turn(())
        return bool(received) or self.sent > sent

    def work(self) -> None:
        """Do what there is to do with whole transfers."""

    def add(self, send_as: int, listen_to: int | None) -> _Transfer:
        """Return a new transfer layer, which takes part in every turn."""
        transfer = _Transfer(self, send_as, listen_to)
        self.transfers.append(transfer)
        return transfer

    def take(self) -> list[can.Message]:
        """Take off the bus what has arrived."""
        received = []
        while (message := self.bus.recv(0)) is not None:
            received.append(message)
        return received

    def transmit(self, message: isotp.CanMessage) -> None:
        """Send a frame, when the node is ready for it."""
        self.link.clock = max(self.link.clock, self.ready)
        self.sent += 1
        self.bus.send(
            can.Message(
                arbitration_id=message.arbitration_id, data=message.data, is_extended_id=False
            )
        )
        self.link.hear()


class UnitNode(_Node):
    """A control unit on the bus."""

    def __init__(self, link: Link, bus: VirtualBus, unit: UnitState) -> None:
        super().__init__(link, bus)
        self.unit = unit
        self._own = self.add(unit.answer_id, unit.request_id)
        self._all = self.add(unit.answer_id, FUNCTIONAL_CAN_ID)

    def turn(self) -> bool:
        """Take a turn; without power, ground or bus all that arrives is lost."""
        if self.unit.reachable:
            return super().turn()
        for transfer in self.transfers:
            transfer.give_up()
        return bool(self.take())

    def work(self) -> None:
        """Answer requests that have arrived."""
        for transfer in self.transfers:
            while (request := transfer.receive()) is not None:
                found, self.unit = answer(
                    self.unit, request, self.link.request_end, functional=transfer is self._all
                )
                if found is not None:
                    self.ready = self.link.request_end + ANSWER_TIME
                    self._own.send(found)


class TesterNode(_Node):
    """The tester's plug: one transfer layer for each unit, one for asking all."""

    def __init__(self, link: Link, bus: VirtualBus, units: Iterable[UnitState]) -> None:
        super().__init__(link, bus)
        self._by_name = {unit.name: self.add(unit.request_id, unit.answer_id) for unit in units}
        self._all = self.add(FUNCTIONAL_CAN_ID, None)
        self._asking = False

    def turn(self) -> bool:
        """Take a turn; what was not asked for is another tester's affair."""
        return super().turn() if self._asking else bool(self.take())

    def send(self, name: str | None, request: bytes) -> None:
        """Send a request when the next turn comes."""
        self._asking = True
        (self._all if name is None else self._by_name[name]).send(request)

    def collect(self) -> tuple[Answer, ...]:
        """Return what has arrived, and listen no more; what is under way is given up."""
        found = []
        for name, transfer in self._by_name.items():
            while (data := transfer.receive()) is not None:
                found.append(Answer(name, data))
            transfer.give_up()
        self._asking = False
        return tuple(found)


def open_node(channel: str) -> VirtualBus:
    """Return a new place on the bus."""
    return VirtualBus(channel=channel)


def _ignore(_error: Exception) -> None:
    """Let a frame that fits into no transfer be lost, as ISO 15765-2 has it."""
