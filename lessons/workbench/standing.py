"""How the bench stood at each line of a record, from what was done alone.

A pure walk over the lines, so that evidence shows the conditions of every reading without solving
anything again.
"""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import dataclass, replace
from typing import Any

from grader.record import Entry
from lessons.workbench.words import point_words
from sim.circuit import Circuit
from sim.language import msg, say

STRESSED = {
    "shake": msg("shaking {what}"),
    "warm": msg("warming {what}"),
    "wet": msg("wetting {what}"),
}


@dataclass(frozen=True, slots=True)
class Standing:
    """Controls and handling at one moment.

    Attributes
    ----------
    controls : mapping
        Every control -> its position.
    apart : tuple of str
    swapped : tuple of pairs
    bridge : tuple of two points, or empty
    tried : tuple of str
        Parts with a known-good one on their plug.
    stressed : tuple of (verb, part)
        What is shaken, warmed or wetted.
    since : float
        Minutes on the clock when anything last changed.
    """

    controls: Mapping[str, str]
    apart: tuple[str, ...] = ()
    swapped: tuple[tuple[str, str], ...] = ()
    bridge: tuple[str, ...] = ()
    tried: tuple[str, ...] = ()
    stressed: tuple[tuple[str, str], ...] = ()
    since: float = 0.0

    def words(self, circuit: Circuit) -> str:
        """Return the conditions in one line; what stands at its first position is left out."""
        said = [
            f"{name} {position}"
            for name, position in self.controls.items()
            if position != circuit.controls[name].positions[0]
        ]
        said = said or [say("everything off")]
        said += [say("{part} apart", part=name) for name in self.apart]
        said += [say("{one} and {two} exchanged", one=one, two=two) for one, two in self.swapped]
        if self.bridge:
            one, two = (point_words(circuit, point, self.apart) for point in self.bridge)
            said.append(say("jumper {one} to {two}", one=one, two=two))
        said += [say("known-good {part} on its plug", part=name) for name in self.tried]
        said += [say(STRESSED[verb], what=name) for verb, name in self.stressed]
        return ", ".join(said)


def first_standing(circuit: Circuit, start: Sequence[tuple[str, str]]) -> Standing:
    """Return the bench at hand-over."""
    positions = {name: control.positions[0] for name, control in circuit.controls.items()}
    return Standing({**positions, **dict(start)})


def standings(first: Standing, entries: Sequence[Entry]) -> list[Standing]:
    """Return how the bench stood after each line."""
    found, now, clock = [], first, 0.0
    for entry in entries:
        if entry.kind == "act" and "ask" not in entry.data["do"]:
            then = after(now, entry.data["do"])
            now = then if then == now else replace(then, since=clock)
            clock = float(entry.data["clock"])
        found.append(now)
    return found


def after(now: Standing, do: Mapping[str, Any]) -> Standing:  # noqa: PLR0911 -- one return a kind of verb
    """Return how the bench stands once something was done."""
    if "set" in do:
        return replace(now, controls={**now.controls, **do["set"]})
    for verb in ("unplug", "pull"):
        if verb in do:
            return replace(now, apart=tuple(sorted({*now.apart, do[verb]})))
    for verb in ("plug", "insert", "renew"):
        if verb in do:
            return replace(now, apart=tuple(sorted({*now.apart} - {do[verb]})))
    if "swap" in do:
        pair = (min(do["swap"]), max(do["swap"]))
        left = tuple(p for p in now.swapped if p != pair)
        return replace(now, swapped=left if len(left) < len(now.swapped) else (*left, pair))
    if "bridge" in do:
        return replace(now, bridge=tuple(do["bridge"]))
    if "unbridge" in do:
        return replace(now, bridge=())
    return _stressed(_tried(now, do), do)


def _tried(now: Standing, do: Mapping[str, Any]) -> Standing:
    """Return how it stands with a known-good part put on or taken off; again takes it off."""
    name = do.get("try", do.get("untry"))
    if name is None:
        return now
    apart = tuple(part for part in now.apart if part != name)
    return replace(now, tried=tuple(sorted({*now.tried} ^ {name})), apart=apart)


def _stressed(now: Standing, do: Mapping[str, Any]) -> Standing:
    for verb in STRESSED:
        if verb in do:
            return replace(now, stressed=tuple(sorted({*now.stressed, (verb, do[verb])})))
    if "leave" in do:
        left = tuple(pair for pair in now.stressed if pair[1] != do["leave"])
        return replace(now, stressed=left)
    return now
