"""`halfsplit score CASE RECORD`: replay a record and print its score sheet."""

from __future__ import annotations

import argparse
import json
import sys
from collections.abc import Sequence
from textwrap import wrap

from grader.errors import AttemptError
from grader.explain import Explained, explain
from grader.prepared import prepare
from grader.score import Sheet, score
from grader.wording import with_outcome
from lessons.command.workorder import add_record, load_case, played_record

WIDTH = 100  # characters a line of a reason
SHOWN = 0.5  # points: from where the sheet's interval is worth a word


def add_to(subparsers: argparse._SubParsersAction) -> None:
    """Add the subcommand."""
    parser = subparsers.add_parser("score", help="replay a record and print its score sheet")
    add_record(parser)
    parser.add_argument("--json", action="store_true", help="print the sheet as JSON")
    parser.add_argument(
        "--waive",
        metavar="ENTRY=REASON",
        action="append",
        default=[],
        help="do not charge the step that this entry of the record belongs to; for instructors",
    )
    parser.set_defaults(run=run)


def run(arguments: argparse.Namespace) -> int:
    """Print the sheet; 1 if the record is not what the simulator would have written."""
    prepared = prepare(load_case(arguments))
    played, drawn = played_record(arguments, prepared.lineup)
    if played.mismatches:
        for mismatch in played.mismatches:
            sys.stderr.write(f"{arguments.record.name}: entry {mismatch.line}: {mismatch.text}\n")
        return 1
    waived = waivers(arguments.waive, len(played.entries))
    sheet = score(prepared, drawn.cause, played.entries, waived)
    reasons = explain(prepared, played.entries, sheet.steps)
    if arguments.json:
        steps = [reason.to_json() for reason in reasons]
        print(json.dumps({**sheet.to_json(), "steps": steps}, indent=2))
    else:
        print(sheet_text(sheet, reasons))
    return 0


def waivers(texts: Sequence[str], count: int) -> dict[int, str]:
    """Return entry -> reason of what the instructor lets pass.

    Raises
    ------
    AttemptError
        No such entry, or no reason.
    """
    found = {}
    for text in texts:
        number, _, reason = text.partition("=")
        if not number.strip().isdecimal() or not 0 < int(number) < count or not reason.strip():
            raise AttemptError(
                f"--waive {text!r}: expected ENTRY=REASON, with an entry from 1 to {count - 1}"
            )
        found[int(number)] = f"waived: {reason.strip()}"
    return found


def sheet_text(sheet: Sheet, reasons: Sequence[Explained]) -> str:
    """Return a sheet as plain text, with the reasons of every step."""
    low, high = sheet.interval
    span = f" ({low:.0f} to {high:.0f})" if high - low >= SHOWN else ""
    points = f"{sheet.points:.0f} points{span}"
    lines = [f"{points} · par {sheet.par:.0f} min · V {sheet.value:.1f} min"]
    for mark in sheet.marks:
        where = f" (entry {mark.step})" if mark.step is not None else ""
        lines.append(f"{mark.points:5.1f} / {mark.of:<4g} {mark.line}{where}: {mark.reason}")
    lines += [*wrap(sheet.standing.words(), WIDTH), ""]
    for number, (step, reason) in enumerate(zip(sheet.steps, reasons, strict=True), 1):
        free = f", free: {step.free}" if step.free and step.regret > 0 else ""
        left = f"{step.before.bit_count()} -> {step.after.bit_count()} suspects"
        told = with_outcome(step.title, step.shown)
        lines.append(f"{number:3}  {step.regret:5.1f} min given away{free}  {told}  ({left})")
        for line in reason.lines():
            lines += wrap(line, WIDTH, initial_indent=" " * 10, subsequent_indent=" " * 12)
    return "\n".join(lines)
