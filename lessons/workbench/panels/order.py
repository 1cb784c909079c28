"""The work order: the complaint, the customer's answers, the stages of the job and what is next."""

from __future__ import annotations

from typing import Any

from grader.casefile import Case
from lessons.workbench.desk import CaseDesk
from lessons.workbench.panels.verify import check_list
from lessons.workbench.standing import standings
from lessons.workbench.steps import is_line, step_numbers
from lessons.workbench.words import minutes_text
from sim.language import msg, say

STAGES = (
    msg("Confirm the complaint"),
    msg("Narrow it down"),
    msg("Make the call"),
    msg("Verify"),
    msg("Close"),
)
CONFIRM, NARROW, CALL, VERIFY, CLOSE = range(5)


def order_view(desk: CaseDesk) -> dict[str, Any]:
    """Return the head of the bench."""
    case = desk.attempt.case
    return {
        "number": case.order,
        "vehicle": case.circuit.vehicle,
        "complaint": case.quoted,
        "minutes": minutes_text(desk.minutes),
        "steps": sum(is_line(entry) for entry in desk.entries),
        "questions": questions(desk),
        **stage_view(desk),
    }


def questions(desk: CaseDesk) -> list[dict[str, Any]]:
    """Return what can be asked, with the answers that were given."""
    asked = desk.attempt.progress.asked
    return [
        {
            "ask": question.ask,
            "minutes": minutes_text(question.minutes),
            "answer": question.answer if question.ask in asked else "",
        }
        for question in desk.attempt.case.questions
    ]


def stage_view(desk: CaseDesk) -> dict[str, Any]:
    """Return the stages with what is done, and one sentence on what is next."""
    checks = check_list(desk)
    called = bool(desk.attempt.progress.calls)
    done = [
        not unconfirmed(desk),
        called or len(units_left(desk)) == 1,
        called,
        called and all(check["state"] == "holds" for check in checks),
        desk.attempt.progress.closed,
    ]
    now = next((k for k, is_done in enumerate(done) if not is_done), CLOSE)
    if called:
        now = VERIFY if not done[VERIFY] else CLOSE
    return {
        "stages": [{"name": say(n), "done": d} for n, d in zip(STAGES, done, strict=True)],
        "now": now,
        "next": next_sentence(desk, now, checks),
        "closed": desk.attempt.progress.closed,
    }


def unconfirmed(desk: CaseDesk) -> list[str]:
    """Return the things the customer told of that have not been watched under those conditions."""
    sight = desk.attempt.case.confirm
    wanted = {setting for action in sight.doing for setting in action.settings}
    seen = set()
    stood = standings(desk.first, desk.entries)
    for entry, standing in zip(desk.entries, stood, strict=True):
        watched = entry.data["do"].get("watch") if entry.kind == "act" else None
        if watched and wanted <= set(standing.controls.items()):
            seen.add(str(watched))
    return [effect for effect, _answer in sight.sees if effect not in seen]


def unused_readings(desk: CaseDesk) -> list[int]:
    """Return the steps that have shown something since suspects were last struck or restored.

    That the customer's complaint was seen is none of them: the suspects are those that show it.
    """
    told = {effect for effect, _answer in desk.attempt.case.confirm.sees}
    numbers, found = step_numbers(desk.entries), list[int]()
    for entry in desk.entries:
        if entry.kind in ("strike", "restore"):
            found.clear()
        elif entry.kind == "act" and "shown" in entry.data and is_line(entry):
            do = entry.data["do"]
            if "ask" not in do and do.get("watch") not in told:
                found.append(numbers[entry.number])
    return found


def suspects_left(desk: CaseDesk) -> list[str]:
    """Return the suspects that are not struck."""
    struck = desk.attempt.progress.struck
    return [s.name for s in desk.attempt.lineup.suspects if s.name not in struck]


def units_left(desk: CaseDesk) -> list[str]:
    """Return the repair units with a suspect that is not struck, in order."""
    struck = desk.attempt.progress.struck
    units = (s.unit.name for s in desk.attempt.lineup.suspects if s.name not in struck)
    return list(dict.fromkeys(units))


def next_sentence(desk: CaseDesk, now: int, checks: list[dict[str, Any]]) -> str:
    """Return what a good teacher would say now, knowing only what the student knows."""
    if desk.attempt.progress.closed:
        return say("This work order is closed. Read the score sheet below, step by step.")
    if desk.attempt.progress.calls:
        return _after_the_call(desk, now, checks)
    if now == CONFIRM:
        return _confirming(desk.attempt.case, desk, unconfirmed(desk))
    units, left = units_left(desk), len(suspects_left(desk))
    if len(units) == 1:
        return say(
            "Every suspect left is in one unit: {unit}. Is it proven? Then make the call.",
            unit=units[0],
        )
    if not units:
        return say("You have struck every suspect. One of them it was: restore those you doubt.")
    return _narrowing(desk, len(units), left)


def _narrowing(desk: CaseDesk, units: int, left: int) -> str:
    fresh = unused_readings(desk)
    if len(fresh) == 1:
        return say(
            "Step {n} is taken. What does it rule out among the {left} suspects left? Strike that, "
            "with the step as the reason; if it is nothing, measure on.",
            n=fresh[0],
            left=left,
        )
    if fresh:
        return say(
            "{n} readings, and nothing struck since the first of them. Hold each against the "
            "{left} suspects left: strike what it rules out, or measure on.",
            n=len(fresh),
            left=left,
        )
    return say(
        "{left} suspects in {units} units are left. Take the reading that splits them best "
        "for the least work, then strike what it rules out.",
        left=left,
        units=units,
    )


def _confirming(case: Case, desk: CaseDesk, missing: list[str]) -> str:
    if len(missing) < len(case.confirm.sees):
        return say(
            "Half confirmed. Still to watch for yourself: {effects}.", effects=", ".join(missing)
        )
    if not desk.attempt.progress.asked and len(desk.entries) == 1:
        return say(
            "See it for yourself first. Read the complaint, make the same conditions at the "
            "driver's seat, give the vehicle the time it needs, then watch what the customer told "
            "you about."
        )
    other = otherwise_watched(desk)
    if other:
        return say(
            "You watched, but not as the customer has it: {settings}. Set that, give it time, and "
            "watch again.",
            settings=", ".join(f"{control} {position}" for control, position in other),
        )
    return say(
        "Confirm the complaint: same conditions, enough time, then watch what the customer told "
        "you about."
    )


def otherwise_watched(desk: CaseDesk) -> list[tuple[str, str]]:
    """Return the customer's conditions that are not set, once the complaint was watched without."""
    sight = desk.attempt.case.confirm
    told = {effect for effect, _answer in sight.sees}
    done = [entry.data["do"] for entry in desk.entries if entry.kind == "act"]
    if not any(do.get("watch") in told for do in done):
        return []
    wanted = [setting for action in sight.doing for setting in action.settings]
    stands = standings(desk.first, desk.entries)[-1].controls
    return [(control, position) for control, position in wanted if stands[control] != position]


def _after_the_call(desk: CaseDesk, now: int, checks: list[dict[str, Any]]) -> str:
    unit = desk.attempt.progress.calls[-1]
    loose = ", ".join(
        [*desk.situation.apart, *([say("the jumper")] if desk.situation.bridge else [])]
    )
    if any(check["state"] == "fails" for check in checks):
        if loose:
            return say(
                "The list below does not hold, but {parts} is off its place: see to that first.",
                parts=loose,
            )
        return say(
            "The repair ({unit}) did not cure it: the list below does not hold. Part and labour "
            "are spent. Restore what you struck too early, go on looking, and call again.",
            unit=unit,
        )
    if now == VERIFY:
        return _to_verify(desk.attempt.case, unit)
    if loose:
        return say(
            "The list holds. Something is still off its place: {parts}. Then close.", parts=loose
        )
    return _list_holds(unit, mended=desk.attempt.progress.mended)


def _to_verify(case: Case, unit: str) -> str:
    if case.unit(unit).is_word:
        return say("Told: {unit}. Show that the vehicle does what it should: the list.", unit=unit)
    return say("Repaired: {unit}. Show that the complaint is gone: the list below.", unit=unit)


def _list_holds(unit: str, *, mended: bool) -> str:
    if mended:
        return say(
            "Everything on the list holds. Close the work order and see what your path was worth."
        )
    return say(
        "Everything on the list holds, and yet the customer is back: it is as it was before. "
        "The call ({unit}) was not it. Restore what you struck too early, and call again.",
        unit=unit,
    )
