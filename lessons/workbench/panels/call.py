"""Making the call: which unit, which cause, what the repair takes, before it is confirmed."""

from __future__ import annotations

from typing import Any

from grader.casefile import Case, Option, RepairUnit
from grader.hints import LEVELS, next_level
from grader.suspectwords import suspect_words
from lessons.workbench.desk import CaseDesk
from lessons.workbench.panels.verify import check_list
from lessons.workbench.words import in_shop_words, minutes_text
from sim.language import say


def call_view(desk: CaseDesk) -> dict[str, Any]:
    """Return what can be called, what was called, and the list that verifies the repair."""
    case, progress = desk.attempt.case, desk.attempt.progress
    situation = desk.situation
    return {
        "units": [_unit(desk, unit) for unit in case.units if _causes(desk, unit)],
        "tells": any(unit.is_word for unit in case.units),
        "calls": list(progress.calls),
        "checks": check_list(desk),
        "loose": [*situation.apart, *([say("jumper")] if situation.bridge else [])],
        "closed": progress.closed,
        "hints": hints_view(desk),
    }


def hints_view(desk: CaseDesk) -> dict[str, Any] | None:
    """Return what hints cost, and the last if nothing was done since; None if there are none."""
    case = desk.attempt.case
    if case.hint_points is None:
        return None
    level = next_level(desk.entries)
    given = [entry for entry in desk.entries if entry.kind == "hint"]
    text = desk.hint_text(given[-1]) if given and level > 1 else ""
    return {
        "price": _points_each(case.hint_points) if case.hint_points else say("free"),
        "text": in_shop_words(desk.circuit, text),
        "more": not (given and given[-1].data["level"] == len(LEVELS) and level > 1),
    }


def _causes(desk: CaseDesk, unit: RepairUnit) -> list[str]:
    suspects = desk.attempt.lineup.suspects
    return [suspect.name for suspect in suspects if suspect.unit.name == unit.name]


def _unit(desk: CaseDesk, unit: RepairUnit) -> dict[str, Any]:
    case = desk.attempt.case
    return {
        "name": unit.name,
        "told": unit.is_word,
        "labour": f"{unit.labour_minutes:g}",
        "causes": [
            [name, in_shop_words(case.circuit, suspect_words(name))] for name in _causes(desk, unit)
        ],
        "options": [_option(case, unit, option) for option in unit.options],
    }


def _option(case: Case, unit: RepairUnit, option: Option) -> dict[str, Any]:
    """Return one way of repairing; what its parts cost is said in minutes of the shop's work."""
    return {
        "name": option.name,
        "worth": _minutes(option.price / case.rate),
        "days": f"{option.days:g}" if option.days else "",
        "minutes": _minutes(unit.labour_minutes + option.price / case.rate),
    }


def _minutes(minutes: float) -> str:
    return minutes_text(minutes).removesuffix(".0")


def _points_each(points: float) -> str:
    if points == 1.0:
        return say("1 point each")
    return say("{points} points each", points=f"{points:g}")
