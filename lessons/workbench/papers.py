"""What a student takes away from the bench: the evidence as a table, and a work-order report.

Both are made in the kernel from the record, as the evidence panel is; the report is one HTML page
with nothing loaded from anywhere, which a browser prints or keeps as PDF.
"""

from __future__ import annotations

import csv
import io
from html import escape
from typing import Any

from grader.case import Case
from grader.suspectwords import suspect_words
from lessons.workbench.desk import CaseDesk, Desk
from lessons.workbench.panels.evidence import evidence_view
from lessons.workbench.panels.verify import check_list
from lessons.workbench.words import in_shop_words, minutes_text
from sim.diagram import draw
from sim.errors import ActionError
from sim.language import msg, say, spoken

KINDS = ("csv", "report")
COLUMNS = (
    msg("step"),
    msg("done"),
    msg("conditions"),
    msg("expected"),
    msg("showed"),
    msg("minutes"),
    msg("broken"),
    msg("note"),
)
STYLE = """
body { font: 14px/1.45 system-ui, "DejaVu Sans", sans-serif; color: #1b2530; max-width: 980px;
  margin: 24px auto; padding: 0 16px }
h1 { font-size: 22px; margin: 0 0 2px }
h2 { font-size: 15px; margin: 22px 0 6px; border-bottom: 1px solid #9aa5b1 }
p { margin: 4px 0 }
table { border-collapse: collapse; width: 100% }
th, td { text-align: left; vertical-align: top; padding: 4px 8px 4px 0;
  border-bottom: 1px solid #d3d9df }
th, dt, .small, .sign span { color: #566270 }
th { font-weight: 600 }
figure { margin: 8px 0 }
svg { max-width: 100%; height: auto }
dl { display: grid; grid-template-columns: auto 1fr; gap: 2px 16px; margin: 8px 0 }
dd { margin: 0 }
.sign { display: flex; gap: 40px; margin-top: 40px }
.sign span { flex: 1; border-top: 1px solid #1b2530; padding-top: 4px }
.small { font-size: 12px }
@media print {
  body { margin: 0; max-width: none }
  h2, tr, figure { break-inside: avoid }
}
"""


def paper(desk: Desk, kind: object) -> dict[str, str]:
    """Return a paper as a file to be saved: its name, media type and text.

    Raises
    ------
    ActionError
        There is no such paper, or none of a demonstration.
    """
    name = desk.attempt.case.name if isinstance(desk, CaseDesk) else desk.circuit.name
    if kind == "csv":
        return {"name": f"{name}-evidence.csv", "type": "text/csv", "text": evidence_csv(desk)}
    if kind == "report" and isinstance(desk, CaseDesk):
        text = report_html(desk)
        return {"name": f"{name}-work-order.html", "type": "text/html", "text": text}
    raise ActionError(f"save: got {kind!r}; there are {', '.join(KINDS)}, a report of work orders")


def evidence_csv(desk: Desk) -> str:
    """Return the evidence as comma-separated values, one line a step, headed."""
    out = io.StringIO()
    writer = csv.writer(out)
    writer.writerow([say(column) for column in COLUMNS])
    for line in evidence_view(desk):
        cells = [line["n"], line["what"], line["conditions"], line["expected"], line["reading"]]
        cells += [line["minutes"], "; ".join(line["harm"]), line["note"]]
        writer.writerow([plain(str(cell)) for cell in cells])
    return out.getvalue()


def plain(cell: str) -> str:
    """Return a cell that no spreadsheet takes for a formula; numbers stay as they are."""
    if not cell.startswith(("=", "+", "-", "@", "\t", "\r")):
        return cell
    try:
        float(cell.partition(" ")[0])
    except ValueError:
        return f"'{cell}"
    return cell


def report_html(desk: CaseDesk) -> str:
    """Return the work order as a page that a customer can be handed."""
    case = desk.attempt.case
    calls = [entry.data for entry in desk.entries if entry.kind == "call"]
    parts = [
        _head(desk),
        "<h2>What was found, step by step</h2>",
        _evidence(evidence_view(desk)),
        _title(say("Cause and repair")),
        *([_call(case, call) for call in calls] or [_line(say("No cause has been named yet."))]),
    ]
    checks = check_list(desk)
    if checks:
        parts += [_title(say("After the repair")), _checks(checks)]
    parts += [_title(say("Circuit")), f"<figure>{draw(case.circuit).svg}</figure>", _foot()]
    title = escape(say("Work order {number}", number=case.order))
    return (
        f'<!doctype html><html lang="{spoken()}"><head><meta charset="utf-8"><title>{title}</title>'
        f"<style>{STYLE}</style></head><body>{''.join(parts)}</body></html>"
    )


def _head(desk: CaseDesk) -> str:
    case = desk.attempt.case
    rows = {
        say("Vehicle"): case.circuit.vehicle,
        say("Complaint"): case.quoted,
        say("Time on the bench"): say("{minutes} min", minutes=minutes_text(desk.minutes)),
        say("State"): say("closed") if desk.attempt.progress.closed else say("still open"),
    }
    answers = [
        (question.ask, question.answer)
        for question in case.questions
        if question.ask in desk.attempt.progress.asked
    ]
    pairs = [
        *rows.items(),
        *((say("Asked: {question}", question=ask), f"“{answer}”") for ask, answer in answers),
    ]
    listed = "".join(f"<dt>{escape(name)}</dt><dd>{escape(text)}</dd>" for name, text in pairs)
    heading = say("Work order {number}", number=case.order)
    return f"<h1>{escape(heading)}</h1><dl>{listed}</dl>"


def _evidence(lines: list[dict[str, Any]]) -> str:
    if not lines:
        return _line(say("Nothing has been done yet."))
    rows = [
        [str(line["n"]), line["what"], line["conditions"], line["reading"], line["note"]]
        for line in lines
    ]
    return _table(
        (say("Step"), say("Done"), say("Conditions"), say("Showed"), say("What it tells")), rows
    )


def _table(heads: tuple[str, ...], rows: list[list[str]]) -> str:
    top = "".join(f'<th scope="col">{escape(head)}</th>' for head in heads)
    body = "".join(
        f"<tr>{''.join(f'<td>{escape(cell)}</td>' for cell in row)}</tr>" for row in rows
    )
    return f"<table><thead><tr>{top}</tr></thead><tbody>{body}</tbody></table>"


def _call(case: Case, call: dict[str, Any]) -> str:
    cause = in_shop_words(case.circuit, suspect_words(str(call["cause"])))
    unit = str(call["unit"])
    done = say("Repair: {option}.", option=call["option"])
    if case.unit(unit).is_word:
        done = say("To the customer: {option}.", option=call["option"])
    return f"<p><b>{escape(unit)}</b>: {escape(cause)}. {escape(done)}</p>"


def _checks(checks: list[dict[str, Any]]) -> str:
    said = {
        "holds": say("as it should be"),
        "fails": say("not as it should be"),
        "open": say("not checked yet"),
    }
    rows = [[c["do"], c["conditions"], c["expect"], said[c["state"]]] for c in checks]
    return _table((say("Check"), say("Conditions"), say("Should show"), say("Result")), rows)


def _title(text: str) -> str:
    return f"<h2>{escape(text)}</h2>"


def _line(text: str) -> str:
    return f"<p>{escape(text)}</p>"


def _foot() -> str:
    signs = "".join(
        f"<span>{escape(who)}</span>" for who in (say("Technician"), say("Customer"), say("Date"))
    )
    small = say("A training simulation of an invented vehicle: no statement about a real one.")
    return f'<div class="sign">{signs}</div><p class="small">{escape(small)}</p>'
