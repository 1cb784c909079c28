"""Mistakes in a file: where, what, and whether they stop it from being used; near names."""

from __future__ import annotations

import difflib
from collections.abc import Iterable
from dataclasses import dataclass, field

NEAR = 0.7  # likeness from which a known name is offered instead; ours


@dataclass(frozen=True, slots=True, order=True)
class Mistake:
    """One mistake in one line of a file; they sort in the order of the file.

    Attributes
    ----------
    line : int
        Line of the file, from 1.
    text : str
        One line: what is wrong, what was written, what would be right.
    source : str
        Name of the file.
    warning : bool
        True if the file can be used all the same.
    """

    line: int
    text: str = field(compare=False)
    source: str = field(compare=False)
    warning: bool = field(default=False, compare=False)

    def __str__(self) -> str:
        """Return ``file:line: text``, or ``file:line: warning: text``."""
        return f"{self.source}:{self.line}: {'warning: ' if self.warning else ''}{self.text}"


def in_order(mistakes: Iterable[Mistake]) -> tuple[Mistake, ...]:
    """Return mistakes in the order of the file, each once."""
    once = {str(mistake): mistake for mistake in mistakes}
    return tuple(sorted(once.values()))


def nearest(word: str, known: Iterable[str]) -> str:
    """Return the known name most like a word, or nothing if none is like it, or two are equally."""
    folded: dict[str, list[str]] = {}
    for name in known:
        folded.setdefault(name.casefold(), []).append(name)
    close = difflib.get_close_matches(word.casefold(), folded, n=1, cutoff=NEAR)
    names = folded[close[0]] if close else []
    return names[0] if len(names) == 1 else ""


def perhaps(word: str, known: Iterable[str]) -> str:
    """Return ``; did you mean 'x'?`` for the known name most like a word, or nothing."""
    near = nearest(word, known)
    return f"; did you mean {near!r}?" if near else ""


def with_article(kind: str) -> str:
    """Return a kind of part with its article: an LED lamp, a low side driver."""
    return f"{'an' if kind[0] in 'aeiouL' else 'a'} {kind}"
