"""A policy problem as data: suspects, tests, places, repair units.

One suspect is the cause. A test shows the same outcome label whenever the same suspect is the
cause, so that it splits the suspects into as many groups as it has labels. Times are minutes of
work, the unit that score sheets use.

- Without units the job is to tell the suspects apart as far as the tests can.
- With units it is to replace the unit that holds the cause. The right replacement is on every path
  and costs nothing here; a wrong one costs the unit's minutes. Nothing is left to do once all
  suspects left are in one unit.
- A test touches places. Being there already costs nothing; coming to a place costs `minutes` the
  first time and `again` later. The hands stay where the last test with a place put them.
"""

from __future__ import annotations

import math
from dataclasses import dataclass
from typing import TYPE_CHECKING

from grader.errors import ProblemError
from grader.jsonfields import Fields, read_json

if TYPE_CHECKING:
    from collections.abc import Iterable

#: Name and version of the format that `read_problem` reads.
FORMAT, VERSION = "policy-problem", 1
#: The tables of the search number outcomes in one byte and places by the bits of one number; the
#: bound looks at every pair of suspects, which sets how many suspects are worth trying.
MOST_SUSPECTS, MOST_OUTCOMES, MOST_PLACES = 1024, 256, 60
#: Likelihoods may be this far apart, so that no share of a belief is lost to rounding to zero.
WIDEST_RATIO = 1e200
#: Minutes beyond this (some 1900 years) are a mistake, and sums of them would lose the small ones.
MOST_MINUTES = 1e9


@dataclass(frozen=True, slots=True)
class Place:
    """Somewhere to be reached: `minutes` the first time, `again` whenever coming back."""

    name: str
    minutes: float
    again: float = 0.0


@dataclass(frozen=True, slots=True)
class Unit:
    """What is replaced as one: `minutes` is the price where it is not the cause.

    `places` are where the replacement goes anyway: where the unit holds the cause, reaching them
    for the first time is on every path and costs a test nothing.
    """

    name: str
    minutes: float
    places: tuple[str, ...] = ()


@dataclass(frozen=True, slots=True)
class Test:
    """Something to be read: `outcomes` has one label for each suspect, in their order."""

    __test__ = False  # not a class of tests for pytest

    name: str
    minutes: float
    outcomes: tuple[str, ...]
    places: tuple[str, ...] = ()


@dataclass(frozen=True, slots=True)
class Suspect:
    """One possible cause; `weight` is its likelihood up to a common factor."""

    name: str
    weight: float
    unit: str | None = None


@dataclass(frozen=True, slots=True)
class Problem:
    """What `grader.policy.Policy` solves.

    Raises
    ------
    ProblemError
        One clear line for the first thing that makes no sense.
    """

    suspects: tuple[Suspect, ...]
    tests: tuple[Test, ...]
    places: tuple[Place, ...] = ()
    units: tuple[Unit, ...] = ()

    def __post_init__(self) -> None:
        """Check everything that a policy relies on."""
        _check_count(self.suspects, self.places)
        _check_names("suspect", [suspect.name for suspect in self.suspects])
        _check_names("test", [test.name for test in self.tests])
        _check_names("place", [place.name for place in self.places])
        _check_names("unit", [unit.name for unit in self.units])
        units = [unit.name for unit in self.units]
        for suspect in self.suspects:
            _check_suspect(suspect, units)
        _check_ratio(self.suspects)
        for place in self.places:
            _check_place(place)
        places = [place.name for place in self.places]
        for unit in self.units:
            _check_minutes(f"unit {unit.name!r}", "minutes", unit.minutes)
            _check_visited(f"unit {unit.name!r}", unit.places, places)
        for test in self.tests:
            _check_test(test, places, len(self.suspects))


def _check_count(suspects: tuple[Suspect, ...], places: tuple[Place, ...]) -> None:
    if not 1 <= len(suspects) <= MOST_SUSPECTS:
        raise ProblemError(
            f"suspects: got {len(suspects)}, allowed 1 to {MOST_SUSPECTS}; merge what acts alike"
        )
    if len(places) > MOST_PLACES:
        raise ProblemError(
            f"places: got {len(places)}, allowed at most {MOST_PLACES}; merge neighbours"
        )


def _check_names(kind: str, names: list[str]) -> None:
    seen = set()
    for name in names:
        if not name.strip():
            raise ProblemError(f"{kind}: got an empty name, every {kind} needs one; name it")
        if name in seen:
            raise ProblemError(f"{kind} {name!r} is there twice; names must differ, rename one")
        seen.add(name)


def _check_minutes(where: str, field: str, value: float) -> None:
    if not 0.0 <= value <= MOST_MINUTES:
        raise ProblemError(f"{where}: {field} is {value!r}, must be from 0 to {MOST_MINUTES:g}")


def _check_suspect(suspect: Suspect, units: list[str]) -> None:
    where = f"suspect {suspect.name!r}"
    if not (math.isfinite(suspect.weight) and suspect.weight > 0.0):
        raise ProblemError(
            f"{where}: likelihood is {suspect.weight!r}, must be a finite number above 0;"
            " leave out what cannot be the cause"
        )
    if suspect.unit is None:
        if units:
            raise ProblemError(f"{where}: has no unit; with units every suspect needs one")
    elif suspect.unit not in units:
        raise ProblemError(f"{where}: unit {suspect.unit!r} is unknown; {_listed(units)}")


def _check_ratio(suspects: tuple[Suspect, ...]) -> None:
    most = max(suspect.weight for suspect in suspects)
    for suspect in suspects:
        if most / WIDEST_RATIO > suspect.weight:
            raise ProblemError(
                f"suspect {suspect.name!r}: likelihood is {suspect.weight!r}, the largest is"
                f" {most!r}; they may differ by a factor of {WIDEST_RATIO:g} at most"
            )


def _check_place(place: Place) -> None:
    where = f"place {place.name!r}"
    _check_minutes(where, "minutes", place.minutes)
    _check_minutes(where, "again", place.again)
    if place.again > place.minutes:
        raise ProblemError(
            f"{where}: again is {place.again!r}, must be at most its minutes, {place.minutes!r}"
        )


def _check_test(test: Test, places: list[str], suspects: int) -> None:
    where = f"test {test.name!r}"
    _check_minutes(where, "minutes", test.minutes)
    if len(test.outcomes) != suspects:
        raise ProblemError(
            f"{where}: outcomes has {len(test.outcomes)} labels, must have {suspects}:"
            " one for each suspect"
        )
    if len(set(test.outcomes)) > MOST_OUTCOMES:
        raise ProblemError(
            f"{where}: outcomes has {len(set(test.outcomes))} different labels, allowed at most"
            f" {MOST_OUTCOMES}; pool readings into bands"
        )
    _check_visited(where, test.places, places)


def _check_visited(where: str, visited: tuple[str, ...], places: list[str]) -> None:
    for name in visited:
        if name not in places:
            raise ProblemError(f"{where}: place {name!r} is unknown; {_listed(places)}")
    if len(set(visited)) < len(visited):
        raise ProblemError(f"{where}: a place stands twice in its places; name each once")


def _listed(names: Iterable[str], most: int = 8) -> str:
    shown = list(names)
    if not shown:
        return "none is listed"
    rest = f" and {len(shown) - most} more" if len(shown) > most else ""
    return f"known: {', '.join(repr(name) for name in shown[:most])}{rest}"


def read_problem(text: str) -> Problem:
    """Read a policy problem from JSON.

    Parameters
    ----------
    text : str
        An object with ``"format": "policy-problem"``, ``"version": 1``, suspects, tests and,
        optionally, places and units. A place may say what coming back costs (``"again"``,
        minutes, 0 if absent), a test where it is taken (``"place"``, one name, or ``"places"``,
        a list), a unit where its replacement goes anyway (``"places"``).

    Returns
    -------
    Problem
        Checked.

    Raises
    ------
    ProblemError
        One clear line for the first mistake.
    """
    data = read_json(text)
    _check_format(data)
    fields = Fields(
        data, "problem", ("format", "version", "suspects", "tests"), ("places", "units")
    )
    places = fields.items("places") if "places" in fields else []
    units = fields.items("units") if "units" in fields else []
    return Problem(
        suspects=tuple(_read_suspect(*item) for item in enumerate(fields.items("suspects"))),
        tests=tuple(_read_test(*item) for item in enumerate(fields.items("tests"))),
        places=tuple(_read_place(*item) for item in enumerate(places)),
        units=tuple(_read_unit(*item) for item in enumerate(units)),
    )


def _check_format(data: object) -> None:
    """Judge name and version first: another version may well have other keys."""
    if isinstance(data, dict):
        data = {key: data[key] for key in ("format", "version") if key in data}
    fields = Fields(data, "problem", ("format", "version"))
    if fields.text("format") != FORMAT:
        raise ProblemError(f"problem.format: got {fields.text('format')!r}, must be {FORMAT!r}")
    version = fields.whole("version")
    if version != VERSION:
        age = "too old" if version < VERSION else "too new"
        raise ProblemError(f"problem.version: {version} is {age}; this program reads {VERSION}")


def _read_suspect(index: int, data: object) -> Suspect:
    fields = Fields(data, f"suspects[{index}]", ("name", "likelihood"), ("unit",))
    unit = fields.text("unit") if "unit" in fields else None
    return Suspect(fields.text("name"), fields.number("likelihood"), unit)


def _read_test(index: int, data: object) -> Test:
    where = f"tests[{index}]"
    fields = Fields(data, where, ("name", "minutes", "outcomes"), ("place", "places"))
    if "place" in fields and "places" in fields:
        raise ProblemError(f"{where}: has both 'place' and 'places'; give one of them")
    places = fields.texts("places") if "places" in fields else ()
    if "place" in fields:
        places = (fields.text("place"),)
    return Test(fields.text("name"), fields.number("minutes"), fields.labels("outcomes"), places)


def _read_place(index: int, data: object) -> Place:
    fields = Fields(data, f"places[{index}]", ("name", "minutes"), ("again",))
    again = fields.number("again") if "again" in fields else 0.0
    return Place(fields.text("name"), fields.number("minutes"), again)


def _read_unit(index: int, data: object) -> Unit:
    fields = Fields(data, f"units[{index}]", ("name", "minutes"), ("places",))
    places = fields.texts("places") if "places" in fields else ()
    return Unit(fields.text("name"), fields.number("minutes"), places)
