"""Conditions of a module's rules: read from words, evaluated over all variants at once.

Grammar, `and` binding tighter than `or`::

    condition := all { "or" all }
    all       := one { "and" one }
    one       := ["not"] "(" condition ")" | ["not"] claim
    claim     := NAME (">=" | "<=" | ">" | "<") QUANTITY      a measured value against a limit
               | NAME "is" ("on" | "off")                     a switch input or another decision
               | NAME "is implausible"                        an input beyond what its sensor gives
               | "always" | "never"

NAME may hold spaces; it is one of the module's inputs or decisions. Nothing is ever executed: a
condition is a tree of the five classes below.
"""

from __future__ import annotations

import operator
import re
from collections.abc import Callable, Iterator, Mapping
from dataclasses import dataclass
from types import MappingProxyType

import numpy as np
import numpy.typing as npt

from sim.errors import QuantityError
from sim.quantity import parse

Flags = npt.NDArray[np.bool_]
Floats = npt.NDArray[np.float64]
DEEPEST = 20  # brackets within brackets
SIGNS: Mapping[str, Callable[[Floats, float], Flags]] = MappingProxyType(
    {">=": operator.ge, "<=": operator.le, ">": operator.gt, "<": operator.lt}
)

_TOKEN = re.compile(
    r"\(|\)|\band\b|\bor\b|\bnot\b|[^()]+?(?=\s*(?:\(|\)|\band\b|\bor\b|\bnot\b|$))"
)
_COMPARE = re.compile(r"(?P<name>.+?)\s*(?P<sign>>=|<=|>|<)\s*(?P<limit>.+)")
_STATE = re.compile(r"(?P<name>.+?) is (?P<state>on|off|implausible)")


@dataclass(frozen=True, slots=True)
class Seen:
    """What conditions look at, an array (V,) for each name.

    Attributes
    ----------
    values : SI value of each measured input
    states : on or off, of switch inputs and decisions
    implausible : whether an input is outside what its sensor can give
    """

    values: Mapping[str, Floats]
    states: Mapping[str, Flags]
    implausible: Mapping[str, Flags]
    count: int


@dataclass(frozen=True, slots=True)
class Always:
    """True, or false, whatever happens."""

    answer: bool

    def holds(self, seen: Seen) -> Flags:
        """Return the answer for every variant."""
        return np.full(seen.count, self.answer)

    def names(self) -> Iterator[tuple[str, str]]:
        """Give (name, how it is looked at) of everything looked at: nothing here."""
        yield from ()


@dataclass(frozen=True, slots=True)
class Compare:
    """A measured value against a limit in SI."""

    name: str
    sign: str
    limit: float

    def holds(self, seen: Seen) -> Flags:
        """Return for every variant whether the comparison is true."""
        value = seen.values[self.name]
        return SIGNS[self.sign](value, self.limit)

    def names(self) -> Iterator[tuple[str, str]]:
        """Give the name that is looked at, as a value."""
        yield self.name, "value"


@dataclass(frozen=True, slots=True)
class Is:
    """A state: on, off or implausible."""

    name: str
    state: str

    def holds(self, seen: Seen) -> Flags:
        """Return for every variant whether the state is so."""
        if self.state == "implausible":
            return seen.implausible[self.name]
        on = seen.states[self.name]
        return on if self.state == "on" else ~on

    def names(self) -> Iterator[tuple[str, str]]:
        """Give the name that is looked at, as a state or for plausibility."""
        yield self.name, "implausible" if self.state == "implausible" else "state"


@dataclass(frozen=True, slots=True)
class Joined:
    """Several conditions of which all, or any, must hold."""

    every: bool
    parts: tuple[Condition, ...]

    def holds(self, seen: Seen) -> Flags:
        """Return for every variant whether they hold."""
        answers = [part.holds(seen) for part in self.parts]
        join = np.logical_and if self.every else np.logical_or
        whole: Flags = join.reduce(answers)
        return whole

    def names(self) -> Iterator[tuple[str, str]]:
        """Give every name that is looked at."""
        for part in self.parts:
            yield from part.names()


@dataclass(frozen=True, slots=True)
class Not:
    """The opposite of a condition."""

    part: Condition

    def holds(self, seen: Seen) -> Flags:
        """Return for every variant whether the condition fails."""
        return ~self.part.holds(seen)

    def names(self) -> Iterator[tuple[str, str]]:
        """Give every name that is looked at."""
        yield from self.part.names()


Condition = Always | Compare | Is | Joined | Not
NEVER = Always(answer=False)


def read_condition(text: str, kinds: Mapping[str, str]) -> Condition:
    """Read a condition.

    Parameters
    ----------
    text : str
    kinds : mapping
        Every name that may be looked at, with the kind of its quantity (see `sim.quantity`), or
        "state" for something that is on or off.

    Raises
    ------
    QuantityError
        One clear line: what was found, and what would be right.
    """
    words = [token.strip() for token in _TOKEN.findall(text) if token.strip()]
    reader = _Reader(text, words, kinds)
    condition = reader.any_of(0)
    if reader.at < len(words):
        raise QuantityError(f"condition {text!r}: {words[reader.at]!r} stands where nothing can")
    return condition


class _Reader:
    """Recursive descent over the tokens of one condition."""

    def __init__(self, text: str, words: list[str], kinds: Mapping[str, str]) -> None:
        self.text, self.words, self.kinds, self.at = text, words, kinds, 0

    def next_is(self, word: str) -> bool:
        if self.at < len(self.words) and self.words[self.at] == word:
            self.at += 1
            return True
        return False

    def any_of(self, depth: int) -> Condition:
        parts = [self.all_of(depth)]
        while self.next_is("or"):
            parts.append(self.all_of(depth))
        return parts[0] if len(parts) == 1 else Joined(every=False, parts=tuple(parts))

    def all_of(self, depth: int) -> Condition:
        parts = [self.one(depth)]
        while self.next_is("and"):
            parts.append(self.one(depth))
        return parts[0] if len(parts) == 1 else Joined(every=True, parts=tuple(parts))

    def one(self, depth: int) -> Condition:
        if depth > DEEPEST:
            raise QuantityError(f"condition {self.text[:40]!r}…: more than {DEEPEST} brackets deep")
        if self.next_is("not"):
            return Not(self.one(depth + 1))
        if self.next_is("("):
            inner = self.any_of(depth + 1)
            if not self.next_is(")"):
                raise QuantityError(f"condition {self.text!r}: a bracket is not closed")
            return inner
        if self.at >= len(self.words) or self.words[self.at] in ("and", "or", ")"):
            raise QuantityError(
                f"condition {self.text!r}: a claim is missing, such as `NAME is on`"
            )
        self.at += 1
        return self.claim(self.words[self.at - 1])

    def claim(self, words: str) -> Condition:
        if words in ("always", "never"):
            return Always(words == "always")
        compared, stated = _COMPARE.fullmatch(words), _STATE.fullmatch(words)
        if compared:
            kind = self.known(compared["name"], words)
            if kind == "state":
                raise QuantityError(f"{words!r}: {compared['name']} is on or off, it has no value")
            return Compare(compared["name"], compared["sign"], parse(compared["limit"], kind))
        if stated:
            kind = self.known(stated["name"], words)
            if kind != "state" and stated["state"] != "implausible":
                raise QuantityError(
                    f"{words!r}: {stated['name']} has a value, compare it: >= or <="
                )
            return Is(stated["name"], stated["state"])
        raise QuantityError(
            f"{words!r}: expected `NAME >= VALUE`, `NAME is on|off|implausible`, always or never"
        )

    def known(self, name: str, words: str) -> str:
        if name not in self.kinds:
            raise QuantityError(f"{words!r}: no {name!r}; there are {', '.join(self.kinds)}")
        return self.kinds[name]
