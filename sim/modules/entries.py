"""The rules of a module, from the words of a circuit file (`sim.modules.fileshape`) to data."""

from __future__ import annotations

import math
import re
from collections.abc import Callable, Iterable, Mapping
from itertools import pairwise
from typing import TypeVar

from sim.diagnosis.parameters import PARAMETERS, kind_of
from sim.errors import QuantityError
from sim.modules.behaviour import (
    Behaviour,
    Counted,
    Decision,
    Level,
    Measured,
    Output,
    Routine,
    Switched,
)
from sim.modules.conditions import NEVER, Always, Condition, read_condition
from sim.modules.fileshape import (
    DecisionEntry,
    InputEntry,
    LevelEntry,
    ModuleEntry,
    RoutineEntry,
)
from sim.quantity import UNITS, parse

CODE = re.compile(r"[PCBU][0-3][0-9A-F]{3}")  # SAE J2012
NAME = re.compile(r"[^()<>=]+")
Item = TypeVar("Item")
Made = TypeVar("Made")
KEYWORDS = {"and", "or", "not", "is", "always", "never"}


def read_behaviour(module: str, entry: ModuleEntry, pins: Iterable[str]) -> Behaviour:
    """Return what a module does.

    Parameters
    ----------
    module : str
    entry : ModuleEntry
    pins : iterable of str
        The pins that the part has.

    Raises
    ------
    QuantityError
        One clear line, beginning with where in the section the first mistake is.
    """
    behaviour, mistakes = read_rules(module, entry, pins)
    if mistakes:
        raise QuantityError(mistakes[0])
    return behaviour


def read_rules(
    module: str, entry: ModuleEntry, pins: Iterable[str]
) -> tuple[Behaviour, tuple[str, ...]]:
    """Return what a module does as far as it can be read, and a line for every mistake.

    A value that could not be read stands as not a number in what is returned, a condition as never.
    What hangs on an input that could not be read at all is left out and not called wrong as well.
    """
    rules = _Rules(module, entry, tuple(pins))
    return rules.behaviour(), tuple(rules.mistakes)


class _Rules:
    """Reads one module's rules."""

    def __init__(self, module: str, entry: ModuleEntry, pins: tuple[str, ...]) -> None:
        self.module, self.entry, self.pins = module, entry, pins
        self.kinds: dict[str, str] = {}
        self.mistakes: list[str] = []
        self.lost: set[str] = set()

    def behaviour(self) -> Behaviour:
        entry = self.entry
        for pin in (entry.power.supply, entry.power.ground):
            self.check_pin("power", pin)
        self.check_names()
        inputs = self.read(self.input, entry.inputs)
        self.kinds |= dict.fromkeys(entry.decisions, "state")
        decisions = self.read(self.decision, entry.decisions)
        levels = self.read(self.level, entry.levels)
        sleep = entry.sleep
        return Behaviour(
            self.module,
            entry.power.supply,
            entry.power.ground,
            self.quantity("power: works from", entry.power.works_from, "voltage"),
            inputs,
            decisions,
            levels,
            self.read(self.output, entry.outputs),
            self.condition("sleep: awake while", sleep.awake_while) if sleep else None,
            self.quantity("sleep: asleep after", sleep.asleep_after, "time") if sleep else 0.0,
            self.condition("overloads clear while", entry.overloads) if entry.overloads else NEVER,
            entry.bus,
            self.read(self.routine, entry.routines),
        )

    def read(self, one: Callable[[str, Item], Made], items: Mapping[str, Item]) -> tuple[Made, ...]:
        """Read the entries of one kind; what cannot be read is noted, and lost."""
        found = []
        for name, item in items.items():
            try:
                found.append(one(name, item))
            except QuantityError as error:
                self.lost.add(name)
                if not self.hangs_on_lost(str(error)):
                    self.mistakes.append(str(error))
        return tuple(found)

    def hangs_on_lost(self, text: str) -> bool:
        """Tell whether a complaint is about a name that is in the file and could not be read."""
        return any(f"{name!r}; there are" in text for name in self.lost)

    def check_names(self) -> None:
        names = [*self.entry.inputs, *self.entry.decisions, *self.entry.levels]
        for name in names:
            if names.count(name) > 1:
                text = f"{name!r} is given twice; inputs, decisions and levels differ"
                if text not in self.mistakes:
                    self.mistakes.append(text)
            if not NAME.fullmatch(name) or KEYWORDS & set(name.split()):
                words = ", ".join(sorted(KEYWORDS))
                text = f"{name!r}: a name has no ()<>= and none of the words {words}"
                self.mistakes.append(text)

    def check_pin(self, where: str, pin: str) -> None:
        if pin not in self.pins:
            has = ", ".join(self.pins)
            self.mistakes.append(f"{where}: no pin {pin!r}; {self.module} has {has}")

    def quantity(self, where: str, text: str, kind: str) -> float:
        try:
            return parse(text, kind)
        except QuantityError as error:
            self.mistakes.append(f"{where}: {error}")
            return math.nan

    def condition(self, where: str, text: str) -> Condition:
        try:
            return read_condition(text, self.kinds)
        except QuantityError as error:
            if not self.hangs_on_lost(str(error)):
                self.mistakes.append(f"{where}: {error}")
            return NEVER

    def input(self, name: str, item: InputEntry) -> Measured | Switched | Counted:
        where = f"inputs: {name}"
        self.check_pin(where, item.pin)
        if item.table:
            return self.measured(where, name, item)
        if item.edges:
            return self.counted(where, name, item)
        self.kinds[name] = "state"
        pairs = ((item.on_above, item.off_below), (item.on_below, item.off_above))
        given = [pair for pair in pairs if all(pair)]
        if len(given) != 1 or sum(bool(text) for pair in pairs for text in pair) != 2:  # noqa: PLR2004
            raise QuantityError(
                f"{where}: expected a table, or `on above` with `off below`, or `on below` with "
                f"`off above`"
            )
        relative = all(_reads(text, "fraction") for text in given[0])
        kind = "fraction" if relative else "voltage"
        on, off = (self.quantity(where, text, kind) for text in given[0])
        known = not math.isnan(on + off)
        if known and ((on < off) == (given[0] == pairs[0]) or on == off):
            raise QuantityError(
                f"{where}: on and off lie the wrong way round: {', '.join(given[0])}"
            )
        return Switched(name, item.pin, on, off, relative)

    def counted(self, where: str, name: str, item: InputEntry) -> Counted:
        if not (item.rises and item.falls):
            raise QuantityError(f"{where}: counting edges needs `rises above` and `falls below`")
        relative = all(_reads(text, "fraction") for text in (item.rises, item.falls))
        scale = "fraction" if relative else "voltage"
        rises = self.quantity(f"{where}: rises above", item.rises, scale)
        falls = self.quantity(f"{where}: falls below", item.falls, scale)
        edges = self.quantity(f"{where}: edges a turn", item.edges, "number")
        if rises <= falls or edges <= 0.0:
            text = f"{where}: edges are more than 0, and rise above what they fall below, got "
            raise QuantityError(f"{text}{item.edges}, {item.rises} and {item.falls}")
        if item.low_code and not CODE.fullmatch(item.low_code):
            text = f"{where}: low code: {item.low_code!r} is no trouble code, such as P0335"
            self.mistakes.append(text)
        at = f"{where}: turning while"
        turning = self.condition(at, item.turning) if item.turning else NEVER
        after = self.quantity(f"{where}: after", item.after, "time")
        shown = self.parameter(where, item.parameter, "rotation") if item.parameter else None
        self.kinds[name] = "rotation"
        return Counted(
            name, item.pin, edges, rises, falls, turning, item.low_code, after, shown, relative
        )

    def measured(self, where: str, name: str, item: InputEntry) -> Measured:
        relative = all(_reads(text, "fraction") for text in item.table)
        scale = "fraction" if relative else "voltage"
        volts, values, kind = self.table(f"{where}: table", item.table, scale)
        self.kinds[name] = kind
        low = self.quantity(f"{where}: low", item.low, scale) if item.low else -1e9
        high = self.quantity(f"{where}: high", item.high, scale) if item.high else 1e9
        if low >= high:
            text = f"{where}: low must lie below high, got {item.low} and {item.high}"
            self.mistakes.append(text)
        for side, code in (("low", item.low_code), ("high", item.high_code)):
            if code and not CODE.fullmatch(code):
                self.mistakes.append(
                    f"{where}: {side} code: {code!r} is no trouble code, such as P0118"
                )
        last = item.substitute == "last"
        given = item.substitute and not last
        at = f"{where}: substitute"
        substitute = self.quantity(at, item.substitute, kind) if given else None
        return Measured(
            name,
            item.pin,
            kind,
            volts,
            values,
            low,
            high,
            item.low_code,
            item.high_code,
            self.quantity(f"{where}: after", item.after, "time"),
            substitute,
            last,
            relative,
            self.parameter(where, item.parameter, kind) if item.parameter else None,
        )

    def parameter(self, where: str, text: str, kind: str) -> int:
        """Read a parameter id; its kind has to be that of the input."""
        known = {f"{one:02X}": one for one in PARAMETERS if kind_of(one) == kind}
        if text.upper() not in known:
            shown = ", ".join(known) or "none"
            raise QuantityError(f"{where}: parameter {text!r}: of {kind} there are {shown}")
        return known[text.upper()]

    def table(
        self, where: str, table: Mapping[str, str], kind: str
    ) -> tuple[tuple[float, ...], tuple[float, ...], str]:
        """Read a table; the kind of its values is that whose units all of them have."""
        other = next((k for k in UNITS if all(_reads(text, k) for text in table.values())), None)
        if len(table) < 2 or other is None:  # noqa: PLR2004 -- a line has two ends
            raise QuantityError(f"{where}: a table has two points or more, with values of one kind")
        points = [(self.quantity(where, a, kind), parse(b, other)) for a, b in table.items()]
        points.sort()
        if any(one[0] == two[0] for one, two in pairwise(points)):
            raise QuantityError(f"{where}: a table has each point once")
        return tuple(a for a, _ in points), tuple(b for _, b in points), other

    def decision(self, name: str, item: DecisionEntry) -> Decision:
        where = f"decisions: {name}"
        return Decision(
            name,
            self.condition(f"{where}: on", item.on),
            self.condition(f"{where}: off", item.off) if item.off else None,
            self.quantity(f"{where}: on after", item.on_after, "time"),
            self.quantity(f"{where}: off after", item.off_after, "time"),
        )

    def level(self, name: str, item: LevelEntry) -> Level:
        where = f"levels: {name}"
        kind = self.kinds.get(item.of, "state")
        if kind == "state":
            measured = ", ".join(n for n, k in self.kinds.items() if k != "state") or "none"
            raise QuantityError(f"{where}: no measured input {item.of!r}; there are {measured}")
        points, shares, other = self.table(where, item.table, kind)
        if other != "fraction" or min(shares) < 0.0 or max(shares) > 1.0:
            raise QuantityError(f"{where}: a level goes from 0 % to 100 %")
        when = self.condition(f"{where}: when", item.when) if item.when else Always(answer=True)
        return Level(name, item.of, points, shares, when)

    def routine(self, name: str, item: RoutineEntry) -> Routine:
        where, driven = (
            f"routines: {name}",
            {text.removeprefix("not ") for text in self.entry.outputs.values()},
        )
        seconds = self.quantity(f"{where}: takes", item.takes, "time")
        if seconds <= 0.0 or not item.holds:
            raise QuantityError(f"{where}: takes more than 0 s and holds something")
        unknown = [one for one in item.holds if one not in driven]
        if unknown:
            text = f"{where}: no output follows {unknown[0]!r}; there are {', '.join(driven)}"
            raise QuantityError(text)
        holds = {one: self.share(f"{where}: {one}", text) for one, text in item.holds.items()}
        return Routine(name, seconds, tuple(holds.items()))

    def share(self, where: str, text: str) -> float:
        share = {"on": 1.0, "off": 0.0}.get(text)
        share = self.quantity(where, text, "fraction") if share is None else share
        if not (0.0 <= share <= 1.0 or math.isnan(share)):
            self.mistakes.append(f"{where}: expected on, off, or 0 % to 100 %, got {text}")
        return share

    def output(self, pin: str, text: str) -> Output:
        where = f"outputs: {pin}"
        self.check_pin(where, pin)
        follows = text.removeprefix("not ")
        known = [*self.entry.decisions, *self.entry.levels]
        if follows not in known:
            raise QuantityError(
                f"{where}: no decision or level {follows!r}; there are {', '.join(known)}"
            )
        return Output(pin, follows, inverted=follows != text)


def _reads(text: str, kind: str) -> bool:
    try:
        parse(text, kind)
    except QuantityError:
        return False
    return True
