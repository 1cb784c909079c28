"""Solved value -> what the student sees, to the last digit.

A wire that nothing holds shows a few millivolts of hum, and never the same twice: the wander is
drawn from points and clock by a checksum, so that replaying a record shows the same digits.
"""

from __future__ import annotations

import zlib

from sim.action import Action, Reading
from sim.instruments import clamp, multimeter
from sim.observe import Outcome
from sim.situation import Situation

HUM = 0.030  # V, largest pick-up of a loose wire on a 10 Mohm meter; ours


def shown(  # noqa: PLR0911 -- one return an instrument
    action: Action, situation: Situation, outcome: Outcome, lane: int = 0
) -> Reading | None:
    """Return what one variant shows, None for mere handling."""
    if outcome.words is not None:
        return Reading(words=outcome.words[lane])
    if outcome.numbers is None:
        return None
    value = float(outcome.numbers[lane])
    if action.verb == "clamp":
        return clamp.show_clamp(value)
    if action.target == "volts":
        if outcome.floating[lane]:
            return multimeter.show_volts(value + _hum(action, situation), steady=False)
        return multimeter.show_volts(value)
    if action.target == "amps":
        return multimeter.show_amps(value)
    if action.target == "diode":
        return multimeter.show_diode(value)
    return multimeter.show_ohms(value)


def _hum(action: Action, situation: Situation) -> float:
    seed = f"{action.red}|{action.black}|{situation.clock:.1f}"
    return HUM * (zlib.crc32(seed.encode()) / 2**32 - 0.3)
