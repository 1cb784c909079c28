"""How an action is written as JSON: a few forms that all verbs share.

A form reads the JSON of an action into the fields of a `Doing` and writes them back the same. What
makes no sense is refused here in one line; what is not on this vehicle is refused later.
"""

from __future__ import annotations

from collections.abc import Callable, Mapping, Sequence
from dataclasses import dataclass
from typing import Any

from sim.doing import Doing
from sim.errors import ActionError

Fields = dict[str, Any]
Written = Mapping[str, Any]


@dataclass(frozen=True, slots=True)
class Ask:
    """One thing that an action says, for whoever builds controls for it.

    Attributes
    ----------
    key : str
        Its key in the JSON; empty for the value of the verb itself.
    kind : str
        ``name`` (a part, place or effect), ``unit`` (a part that a scan tool asks), ``word`` (one
        of `words`), ``size`` (a quantity, of which `words` are usual ones), ``item`` (what the unit
        has: an output, a routine, a line of its data), ``point`` (a lead),
        ``tips`` (two points), ``wires``, ``channel`` (two points, or a clamp around a wire),
        ``trigger``, ``while`` (controls).
    words : tuple of str
    needed : bool
        False for what may be left out.
    only : tuple of str
        Words of the verb with which it is said; empty for all of them.
    """

    key: str
    kind: str
    words: tuple[str, ...] = ()
    needed: bool = True
    only: tuple[str, ...] = ()


RED, BLACK = Ask("red", "point"), Ask("black", "point")
MEANWHILE = Ask("while", "while", needed=False)


@dataclass(frozen=True, slots=True)
class Form:
    """One way of writing an action.

    Attributes
    ----------
    read : function of (verb, JSON)
        Fields of the `Doing` besides its verb; raises ActionError.
    write : function of a `Doing`
        The JSON.
    keys : tuple of str
        Keys it may have beside the verb.
    asks : tuple of Ask
        What it says, for controls; empty where hands do without controls.
    """

    read: Callable[[str, Written], Fields]
    write: Callable[[Doing], dict[str, Any]]
    keys: tuple[str, ...] = ()
    asks: tuple[Ask, ...] = ()


def text(data: Written, key: str) -> str:
    """Return a name from the JSON of an action; refuse what is none."""
    value = data.get(key)
    if not isinstance(value, str) or not value:
        message = f"action {dict(data)!r}: {key!r} must be a name, got {value!r}"
        raise ActionError(message)
    return value


def settings(data: Written, key: str = "set") -> tuple[tuple[str, str], ...]:
    """Return controls and their positions from the JSON of an action."""
    value = data.get(key)
    if not isinstance(value, Mapping) or not value:
        message = f"action {dict(data)!r}: {key!r} must give a control and its position"
        raise ActionError(message)
    return tuple((str(control), str(position)) for control, position in value.items())


def meanwhile(data: Written) -> Fields:
    """Return the controls operated while a reading is taken, if any."""
    return {"settings": settings(data, "while")} if "while" in data else {}


def pair(verb: str, data: Written) -> Fields:
    """Return two different names."""
    two = data[verb]
    names = isinstance(two, list) and all(isinstance(name, str) for name in two)
    if not names or len(set(two)) != 2:  # noqa: PLR2004 -- two ends
        message = f"{verb}: expected two different names, got {two!r}"
        raise ActionError(message)
    return {"red": two[0], "black": two[1]}


def _write_while(doing: Doing) -> dict[str, Any]:
    return {"while": dict(doing.settings)} if doing.settings else {}


NAME = Form(
    lambda verb, data: {"target": text(data, verb)},
    lambda doing: {doing.verb: doing.target},
    asks=(Ask("", "name"),),
)
NAME_WHILE = Form(
    lambda verb, data: {"target": text(data, verb), **meanwhile(data)},
    lambda doing: {doing.verb: doing.target, **_write_while(doing)},
    ("while",),
    (Ask("", "name"), MEANWHILE),
)
NOTHING = Form(lambda _verb, _data: {}, lambda doing: {doing.verb: True})
PAIR = Form(pair, lambda doing: {doing.verb: [doing.red, doing.black]})
SETTINGS = Form(
    lambda _verb, data: {"settings": settings(data)}, lambda d: {d.verb: dict(d.settings)}
)
NAME_SETTINGS = Form(
    lambda verb, data: {"target": text(data, verb), "settings": settings(data)},
    lambda doing: {doing.verb: doing.target, "set": dict(doing.settings)},
    ("set",),
)
LEADS = Form(
    lambda _verb, data: {"red": text(data, "red"), "black": text(data, "black")},
    lambda doing: {doing.verb: True, "red": doing.red, "black": doing.black},
    ("red", "black"),
    (RED, BLACK),
)


def choice(words: Sequence[str], has: str) -> Form:
    """Return the form of a verb with one word out of several, `has` saying what has them."""
    return Form(
        lambda verb, data: {"target": one_of(verb, data, words, has)},
        NAME.write,
        asks=(Ask("", "word", tuple(words)),),
    )


def leads(words: Sequence[str], has: str) -> Form:
    """Return the form of a meter: a function out of several, two points, perhaps a `while`."""

    def read(verb: str, data: Written) -> Fields:
        target = one_of(verb, data, words, has)
        ends = {"red": text(data, "red"), "black": text(data, "black")}
        return {"target": target, **ends, **meanwhile(data)}

    asks = (Ask("", "word", tuple(words)), RED, BLACK, MEANWHILE)
    return Form(read, _write_leads, ("red", "black", "while"), asks)


def sized(check: Callable[[str, str], None], usual: Sequence[str]) -> Form:
    """Return the form of a tester with a size, such as ``{"load": "55 W", ...}``, and two points.

    `check` gets verb and text and raises SimError where the size is none; `usual` are sizes to
    offer.
    """

    def read(verb: str, data: Written) -> Fields:
        target = text(data, verb)
        check(verb, target)
        return {"target": target, "red": text(data, "red"), "black": text(data, "black")}

    return Form(read, _write_leads, ("red", "black"), (Ask("", "size", tuple(usual)), RED, BLACK))


def _write_leads(doing: Doing) -> dict[str, Any]:
    ends = {"red": doing.red, "black": doing.black}
    return {doing.verb: doing.target, **ends, **_write_while(doing)}


def one_of(verb: str, data: Written, words: Sequence[str], has: str) -> str:
    """Return one word out of several; refuse others, naming those there are."""
    target = text(data, verb)
    if target not in words:
        message = f"{verb}: got {target!r}, {has} {', '.join(words)}"
        raise ActionError(message)
    return target
