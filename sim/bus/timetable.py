"""Who sends when: the frames of every pair, one after the other, bit by bit.

Every unit has its message ready once a period, the n-th at ``(n + place / count) * period`` on the
bench's clock, `place` being its place among the transceivers (ours: so they do not all begin at
once). When the pair is free, of those that wait the lowest identifier is sent (arbitration of ISO
11898-1; the bits that the losers send until then are those of the winner). A frame that nobody
acknowledges is followed by a recessive error flag and delimiter of 14 bits, and sent again.

A pair is a group of transceivers that read each other's dominant bits.
"""

from __future__ import annotations

import math
from dataclasses import dataclass

from sim.bus.message import message

ERROR_BITS = 14  # flag of 6 and delimiter of 8, ISO 11898-1
ACK_FROM_END = 12  # of a frame's bits: pause 3, end 7, delimiter 1, acknowledge itself


@dataclass(frozen=True, slots=True)
class Speaker:
    """One transceiver that sends.

    Attributes
    ----------
    number : int
        Its place among the transceivers.
    identifier : int
    period, bit : float
        s between two messages, and s that a bit takes.
    volts : float
        Supply of its unit, for the message.
    acknowledged, repeats : bool
        Whether somebody acknowledges, and whether it sends over and over.
    """

    number: int
    identifier: int
    period: float
    bit: float
    volts: float
    acknowledged: bool
    repeats: bool


@dataclass(frozen=True, slots=True)
class Edges:
    """What a pair does: from each time in s on, who is dominant.

    `who` holds -1 for nobody, 2 n for transceiver n, 2 n + 1 for those that acknowledge it.
    """

    times: tuple[float, ...]
    who: tuple[int, ...]


def timetable(speakers: list[Speaker], count: int, begin: float, end: float) -> Edges:
    """Return what a pair does from `begin` to `end`, in s on the bench's clock.

    Parameters
    ----------
    speakers : list of Speaker
        Those on this pair.
    count : int
        How many transceivers there are in all.
    """
    times, who = [begin - 1.0], [-1]
    ahead = begin - 4.0 * max(one.period for one in speakers)
    sent = {one.number: _first(one, count, ahead) for one in speakers}
    clock = ahead
    while clock < end:
        ready = {one.number: _ready(one, count, sent[one.number], clock) for one in speakers}
        waiting = [one for one in speakers if ready[one.number] <= clock]
        if not waiting:
            clock = min(ready.values())
            continue
        one = min(waiting, key=lambda speaker: speaker.identifier)
        clock = _send(one, sent[one.number], clock, times, who)
        sent[one.number] += 1
    return Edges(tuple(times), tuple(who))


def _first(one: Speaker, count: int, clock: float) -> int:
    return max(0, math.ceil(clock / one.period - one.number / count))


def _ready(one: Speaker, count: int, number: int, clock: float) -> float:
    """Return when a message is ready; one that is repeated always is."""
    return clock if one.repeats else (number + one.number / count) * one.period


def _send(one: Speaker, number: int, start: float, times: list[float], who: list[int]) -> float:
    """Note the edges of a frame; return when the pair is free again."""
    frame = message(one.identifier, one.volts, number, acknowledged=one.acknowledged)
    bits = frame.bits()
    slot = len(bits) - ACK_FROM_END
    for place, bit in enumerate(bits):
        now = -1
        if bit == 0:
            now = 2 * one.number + (place == slot)
        if now != who[-1]:
            times.append(start + place * one.bit)
            who.append(now)
    rest = 0 if one.acknowledged else ERROR_BITS
    return start + (len(bits) + rest) * one.bit
