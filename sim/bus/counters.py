"""Error counters of ISO 11898-1: which units end up taking part in the bus, and who hears whom.

Each unit has a transmit and a receive error counter (TEC, REC)::

    sending, a bit read back wrong or an error flag from others    TEC + 8
    sending, nobody acknowledges: the same while TEC <= 127, then no more
    sending, all well                                              TEC - 1
    receiving, first to notice an error and flagging it            REC + 8
    receiving, all well                                            REC - 1
    TEC or REC > 127: error passive, its flags are recessive and disturb nobody
    TEC > 255: bus off, it sends nothing more

(rules a to h of "fault confinement", from memory; the small print of when a flag itself is
disturbed is left out.) Units send in turn, round after round, until nothing changes any more. A
unit in bus off comes back when anything is changed at the bench: counting begins anew (ours; units
come back by themselves, and go off again while nothing has changed).

What one unit reads when another sends a dominant bit is given: 1 dominant, 0 recessive, -1 neither
for sure. Who reads another's dominant bit as recessive does not give way to it (arbitration), and
sends into its frames whenever it repeats its own.
"""

from __future__ import annotations

import functools
from dataclasses import dataclass, field

DOMINANT, RECESSIVE, UNSURE = 1, 0, -1
PASSIVE, BUS_OFF = 128, 256  # counter at which a unit is error passive, and off
STEP = 8
REMEMBERED = 4096  # outcomes kept
ROUNDS, STEADY = 400, 40  # most rounds, and rounds without a change that end it; ours

Matrix = tuple[tuple[int, ...], ...]


@dataclass(frozen=True, slots=True)
class Wires:
    """What the solved circuit says of n transceivers.

    Attributes
    ----------
    alive : tuple of bool
        Which have supply and are awake.
    idle : tuple of int
        What each reads while all are recessive.
    reads : tuple of tuples of int
        ``reads[s][r]`` is what r reads while s is dominant.
    jams : tuple of tuples of bool
        ``jams[s][c]``: s does not read its own dominant bit while c is dominant too.
    """

    alive: tuple[bool, ...]
    idle: tuple[int, ...]
    reads: Matrix
    jams: tuple[tuple[bool, ...], ...]


@dataclass(frozen=True, slots=True)
class Counted:
    """How it ended.

    Attributes
    ----------
    sent, received : tuples of int
        Transmit and receive error counters.
    off : tuple of bool
        Which are in bus off.
    repeats : tuple of bool
        Which send the same frame over and over, for want of an acknowledgement or of a bus.
    heard : tuple of tuples of bool
        ``heard[s][r]``: r takes in what s sends.
    """

    sent: tuple[int, ...]
    received: tuple[int, ...]
    off: tuple[bool, ...]
    repeats: tuple[bool, ...]
    heard: tuple[tuple[bool, ...], ...]


@functools.lru_cache(maxsize=REMEMBERED)
def count_errors(wires: Wires) -> Counted:
    """Let all units send in turn until nothing changes any more.

    What the circuit says is the same for most faults, and from one look to the next.
    """
    bus = _Bus(wires)
    same, before = 0, bus.standing()
    for _round in range(ROUNDS):
        for sender in range(len(wires.alive)):
            bus.turn(sender)
        now = bus.standing()
        same = same + 1 if now == before else 0
        before = now
        if same == STEADY:
            break
    return Counted(tuple(bus.sent), tuple(bus.received), *before)


@dataclass(slots=True)
class _Bus:
    """The bus while it is counted."""

    wires: Wires
    sent: list[int] = field(init=False)
    received: list[int] = field(init=False)
    repeats: list[bool] = field(init=False)
    heard: list[tuple[bool, ...]] = field(init=False)

    def __post_init__(self) -> None:
        count = len(self.wires.alive)
        self.sent, self.received = [0] * count, [0] * count
        self.repeats = [False] * count
        self.heard = [(False,) * count] * count

    def standing(self) -> tuple[tuple[bool, ...], tuple[bool, ...], tuple[tuple[bool, ...], ...]]:
        """Return who is off, who repeats, who is heard by whom."""
        off = tuple(one >= BUS_OFF for one in self.sent)
        return off, tuple(self.repeats), tuple(self.heard)

    def takes_part(self, unit: int) -> bool:
        """Tell whether a unit has supply, sees the bus idle and is not off."""
        wires = self.wires
        here = wires.alive[unit] and wires.idle[unit] == RECESSIVE
        return here and self.sent[unit] < BUS_OFF

    def turn(self, sender: int) -> None:
        """Let one unit try to send its frame."""
        count = len(self.sent)
        self.heard[sender] = (False,) * count
        if not self.takes_part(sender):
            self.repeats[sender] = False
            return
        if self.wires.reads[sender][sender] != DOMINANT or self._collides(sender):
            self._failed(sender)
            return
        if self._flagged(sender):
            self._failed(sender)
            return
        hearing = tuple(r != sender and self._hears(sender, r) for r in range(count))
        answered = any(
            hears and self.wires.reads[r][sender] == DOMINANT for r, hears in enumerate(hearing)
        )
        if not answered:
            self._unanswered(sender, hearing)
            return
        self.heard[sender], self.repeats[sender] = hearing, False
        self.sent[sender] = max(0, self.sent[sender] - 1)
        for receiver, hears in enumerate(hearing):
            self.received[receiver] = max(0, self.received[receiver] - hears)

    def _hears(self, sender: int, receiver: int) -> bool:
        return self.takes_part(receiver) and self.wires.reads[sender][receiver] == DOMINANT

    def _failed(self, sender: int) -> None:
        self.sent[sender] += STEP
        self.repeats[sender] = self.sent[sender] < BUS_OFF

    def _unanswered(self, sender: int, hearing: tuple[bool, ...]) -> None:
        """Count a frame without acknowledgement; once passive, its own flag disturbs nobody."""
        if self.sent[sender] < PASSIVE:
            self.sent[sender] += STEP
        else:
            self.heard[sender] = hearing
        self.repeats[sender] = True

    def _collides(self, sender: int) -> bool:
        """Tell whether another that does not hear it keeps sending into its frame."""
        reads = self.wires.reads
        return any(
            other != sender
            and self.takes_part(other)
            and self.repeats[other]
            and reads[sender][other] == RECESSIVE
            and (self.wires.jams[sender][other] or reads[other][sender] == DOMINANT)
            for other in range(len(self.sent))
        )

    def _flagged(self, sender: int) -> bool:
        """Tell whether an active receiver that cannot make it out destroys the frame."""
        reads, flagged = self.wires.reads, False
        for other in range(len(self.sent)):
            unsure = other != sender and reads[sender][other] == UNSURE
            if not (unsure and self.takes_part(other)):
                continue
            if self.received[other] < PASSIVE and self.sent[other] < PASSIVE:
                self.received[other] += STEP
                flagged |= reads[other][sender] != RECESSIVE
        return flagged
