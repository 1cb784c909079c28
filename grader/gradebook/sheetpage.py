"""A score sheet as a piece of HTML, for the feedback and for nbgrader's grading page.

Everything that is text is escaped: readings and names come from a record that was handed in.
"""

from __future__ import annotations

from collections.abc import Iterable
from html import escape

from grader.explain import risk_words
from grader.gradebook.marking import Outcome
from grader.gradebook.results import CaseResult
from grader.judge import Judged
from grader.reasonwords import luck_words
from grader.score import Sheet
from sim.language import say
from sim.retold import retold

CELL = 'style="text-align:left;vertical-align:top;padding:2px 8px;border:1px solid #bbb"'
TABLE = 'style="border-collapse:collapse;margin:8px 0"'


def page(result: CaseResult) -> str:
    """Return points, problems, marks with their reasons, and the path step by step."""
    outcome = result.outcome
    title = say(
        "Work order {case}: {points} of {of} points",
        case=escape(outcome.case),
        points=f"{result.points:.1f}",
        of=f"{result.of:g}",
    )
    heading = say("Your path, step by step")
    parts = [
        '<div class="halfsplit-sheet">',
        f"<p><b>{title}</b></p>",
        *problem_lines(outcome),
    ]
    if outcome.sheet is not None:
        parts += [
            summary(outcome.sheet, outcome.cause),
            marks_table(outcome.sheet),
            f"<p><b>{escape(heading)}</b></p>",
            steps_table(outcome.sheet),
        ]
    return "\n".join([*parts, "</div>"])


def problem_lines(outcome: Outcome) -> list[str]:
    """Return a paragraph for every problem."""
    found = []
    for problem in outcome.problems:
        kind = escape(say("Problem, {kind}:", kind=problem.kind))
        found.append(f'<p style="color:#a00"><b>{kind}</b> {escape(problem.text)}</p>')
    return found


def summary(sheet: Sheet, cause: str) -> str:
    """Return cause, par and what was given away, in one paragraph."""
    told = say(
        "The cause was: {cause}. Par: {par} min. Given away by choice: {charged} min. "
        "Luck, not marked: {luck} min.",
        cause=f"<b>{escape(cause)}</b>",
        par=f"{sheet.par:.0f}",
        charged=f"{sheet.charged:.1f}",
        luck=luck_words(sheet.luck),
    )
    return f"<p>{told}</p>\n<p>{escape(sheet.standing.words())}</p>"


def marks_table(sheet: Sheet) -> str:
    """Return the five lines with step and reason."""
    rows = [
        (
            say(mark.line),
            f"{mark.points:.1f} / {mark.of:g}",
            "" if mark.step is None else str(mark.step),
            mark.reason,
        )
        for mark in sheet.marks
    ]
    return table(("", say("points"), say("entry"), say("reason")), rows)


def steps_table(sheet: Sheet) -> str:
    """Return every judged step: what it showed, what it gave away, what would have been best."""
    rows = [step_row(step) for step in sheet.steps]
    heads = (
        say("entry"),
        say("step"),
        say("shown"),
        say("min"),
        say("suspects left"),
        say("given away"),
        say("best choice then"),
    )
    return table(heads, rows)


def step_row(step: Judged) -> tuple[str, ...]:
    """Return one row of the path."""
    given = say("{minutes} min", minutes=f"{step.charged:.1f}")
    if step.free and step.regret > 0:
        given = say("free: {why}", why=say(step.free))
    left = f"{step.before.bit_count()} → {step.after.bit_count()}"
    best = step.better
    harm = "".join(f"; {retold(text)}" for text in step.harm)
    if step.danger and not step.harm:
        harm = f"; {risk_words(step.danger)}"
    number = str(step.numbers[-1]) if step.numbers else ""
    return (number, step.title, retold(step.shown) + harm, f"{step.minutes:.1f}", left, given, best)


def table(heads: Iterable[str], rows: Iterable[Iterable[str]]) -> str:
    """Return a table; every cell is escaped."""
    head = "".join(f"<th {CELL}>{escape(text)}</th>" for text in heads)
    body = "\n".join(
        "<tr>" + "".join(f"<td {CELL}>{escape(text)}</td>" for text in row) + "</tr>"
        for row in rows
    )
    return f"<table {TABLE}><tr>{head}</tr>\n{body}</table>"
