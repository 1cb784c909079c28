"""`halfsplit work CASE`: work a case in the terminal, one line an action.

Lines are read from standard input, so that a path can also be played from a file.
"""

from __future__ import annotations

import argparse
import json
import sys
from collections.abc import Callable, Iterable
from pathlib import Path
from typing import Any

from grader.attempt import Attempt
from grader.draw import clean_student
from grader.errors import GraderError
from grader.linedup import lined_up
from grader.prepared import Prepared, prepare
from grader.record import Entry
from lessons.command.workorder import add_case, load_case, student_draw
from sim.access import price, probe_points
from sim.action import FUNCTIONS, Reading, action_from_json
from sim.cautions import cautions
from sim.errors import ActionError, SimError
from sim.handling import check
from sim.instruments.scanning import NEEDS, TASKS
from sim.instruments.stress import TRIGGERS

HELP = """\
set CONTROL=POSITION, ...      operate controls, e.g. set key=run, heater switch=on
volts P P                      also ohms, amps, milliamps, continuity, diode, AC volts, hertz,
                               duty: red point, black point
lamp P P     led P P           test lamp with a filament, or with LEDs, between two points
load SIZE P P                  a load, e.g. load 55 W P P (the bulb), load 100 A P P (carbon pile)
conductance RATING P P         battery tester, e.g. conductance 640 A B1.+ B1.-
clamp wire 8                   current clamp around a wire
zero leads   zero clamp        take the instrument's own reading off; zero off
jack 10 A    jack mA           leave the red lead in a jack; jack with the function
look PLACE   feel PART         eyes at a place, hand on a part
smell PLACE  touch PART        nose at a place, fingers on a part
temperature PART               thermometer
listen RELAY CONTROL=POSITION  ears, while a control is operated
watch EFFECT                   does the vehicle do what it should?
unplug PART  plug PART  pull PART  insert PART  renew FUSE
try PART     untry PART        a known-good part on the plug, and the old one back
swap PART PART   bridge P P   unbridge   wait 5 min
shake PART   warm PART   wet PART   leave PART      make it fail; for PART also everything
scan codes   scan live data A1   scan tool: also maker data, freeze frame, clear; of all units
                               codes and clear only
scan hold A1 fan at 50         hold an output (% of it); scan release A1 fan; scan routine A1 NAME
scan graph A1 NAME over 2 min  a line of live or maker data, ten times in that while
{"scope": {"A": ["P", "P"]}, "time": "100 ms"}       oscilloscope; any line may be JSON
ask QUESTION                   ask the customer
suspects  points  places  units  questions  bench      what there is, and how things stand
strike SUSPECT   restore SUSPECT   note TEXT
predict LINE: WHAT             say what a line will show, before you type it
hint                           a nudge; again: what is possible, what would split it, the answer
call UNIT: SUSPECT             name the cause and have the unit repaired
close                          close the work order
price LINE                     what a line would take, without doing it"""


def add_to(subparsers: argparse._SubParsersAction) -> None:
    """Add the subcommand."""
    parser = subparsers.add_parser(
        "work",
        help="work a case in the terminal",
        formatter_class=argparse.RawDescriptionHelpFormatter,
        epilog=HELP,
    )
    add_case(parser)
    parser.add_argument("--student", required=True, metavar="ID", help="your id in the course")
    parser.add_argument("--record", required=True, type=Path, metavar="FILE")
    parser.set_defaults(run=run)


def run(arguments: argparse.Namespace) -> int:
    """Work a case until the lines end; 2 if a line of a file could not be done."""
    case = load_case(arguments)
    lineup = lined_up(case)
    student = clean_student(arguments.student)
    drawn = student_draw(arguments, lineup, student)
    with Attempt(lineup, drawn, student, arguments.record) as attempt:
        desk = Desk(attempt)
        print(f"Work order {case.order} · {case.circuit.vehicle}")
        print(case.quoted)
        if len(attempt.writer.entries) > 1:
            print(f"taken up after {len(attempt.writer.entries) - 1} entries")
        print("Training simulation; type help for what can be done.")
        bad = sum(not desk.line(line) for line in lines())
    return 2 if bad and not sys.stdin.isatty() else 0


def lines() -> Iterable[str]:
    """Yield the lines of standard input, with a prompt if a person types them."""
    while True:
        if sys.stdin.isatty():
            print("> ", end="", flush=True)
        try:
            line = sys.stdin.readline()
        except UnicodeDecodeError as error:
            raise ActionError(f"standard input: {error.reason}; save the lines as UTF-8") from error
        if not line or line.strip() in ("quit", "exit"):
            return
        if line.strip() and not line.lstrip().startswith("#"):
            yield line.strip()


class Desk:
    """Turns a line of text into an action and a reading into text."""

    def __init__(self, attempt: Attempt) -> None:
        self.attempt = attempt
        self.circuit = attempt.case.circuit
        self.prepared: Prepared | None = None
        self.came_back = False
        self.words: dict[str, Callable[[str], None]] = {
            "help": self.help,
            "suspects": self.suspects,
            "points": self.points,
            "places": self.places,
            "units": self.units,
            "questions": self.questions,
            "bench": self.bench,
            "strike": self.strike,
            "restore": self.restore,
            "note": self.note,
            "predict": self.predict,
            "hint": self.hint,
            "call": self.call,
            "close": self.close,
            "price": self.price,
        }

    def line(self, text: str) -> bool:
        """Carry out one line; False, with one line on stderr, if it cannot be done."""
        word, _, rest = text.partition(" ")
        try:
            if word in self.words:
                self.words[word](rest.strip())
            else:
                self.act(parse_line(text))
        except (SimError, GraderError) as error:
            sys.stderr.write(f"{text}: {error}\n")
            return False
        return True

    def act(self, do: dict[str, Any]) -> None:
        """Do something at the bench and show it."""
        if "ask" not in do:
            bench = self.attempt.vehicle.bench
            for caution in cautions(self.circuit, bench.situation, action_from_json(do)):
                print(f"  caution: {caution.text}")
        print(reading_text(self.attempt.act(do)))

    def help(self, _rest: str) -> None:
        """Show what can be typed."""
        print(HELP)

    def suspects(self, _rest: str) -> None:
        """List the suspects with their likelihoods; struck ones in brackets."""
        lineup = self.attempt.lineup
        for suspect, chance in zip(lineup.suspects, lineup.likelihoods, strict=True):
            struck = suspect.name in self.attempt.progress.struck
            name = f"[{suspect.name}]" if struck else suspect.name
            print(f"  {100 * chance:5.1f} %  {name}")

    def points(self, _rest: str) -> None:
        """List the points a lead can be put on now, by place."""
        found = probe_points(self.circuit, self.attempt.vehicle.bench.situation.apart)
        for place in ("", *self.circuit.places):
            names = [
                f"{p.name}{' (back-probe)' if p.back_probed else ''}"
                for p in found.values()
                if p.place == place
            ]
            if names:
                print(f"  {place or 'anywhere'}: {', '.join(names)}")

    def places(self, _rest: str) -> None:
        """List the places with what it takes to get there from here."""
        situation = self.attempt.vehicle.bench.situation
        for place in self.circuit.places.values():
            minutes = (
                place.again_minutes if place.name in situation.reached else place.reach_minutes
            )
            took = "here" if place.name in situation.here else f"{minutes:g} min"
            print(f"  {place.name}: {took}{f' ({place.note})' if place.note else ''}")

    def units(self, _rest: str) -> None:
        """List what can be repaired, and what it costs."""
        for unit in self.attempt.case.units:
            options = ", ".join(f"{o.name} {o.price:g}" for o in unit.options)
            print(f"  {unit.name}: {unit.labour_minutes:g} min labour; {options}")

    def questions(self, _rest: str) -> None:
        """List what can be asked."""
        for question in self.attempt.case.questions:
            print(f"  {question.ask} ({question.minutes:g} min)")

    def bench(self, _rest: str) -> None:
        """Show how the bench stands."""
        situation = self.attempt.vehicle.bench.situation
        for control in self.circuit.controls:
            print(f"  {control}: {situation.position(self.circuit, control)}")
        verbs = {trigger: verb for verb, trigger in TRIGGERS.items()}
        standing = {
            "apart": ", ".join(situation.apart),
            "exchanged": ", ".join(" and ".join(pair) for pair in situation.swapped),
            "jumper": " to ".join(situation.bridge),
            "known-good": ", ".join(situation.tried),
            "going on": ", ".join(f"{verbs[how]} {part}" for part, how in situation.stressed),
            "red lead in the jack": situation.jack,
            "leads": " and ".join(lead for lead in (situation.red, situation.black) if lead),
            "hands": ", ".join(situation.here),
        }
        for key, value in standing.items():
            if value:
                print(f"  {key}: {value}")
        print(f"  minutes: {situation.minutes + self.attempt.vehicle.extra_minutes:.1f}")

    def strike(self, rest: str) -> None:
        """Strike a suspect off."""
        self.attempt.strike([rest])

    def restore(self, rest: str) -> None:
        """Take a suspect back in."""
        self.attempt.restore([rest])

    def note(self, rest: str) -> None:
        """Write a note."""
        self.attempt.note(rest)

    def predict(self, rest: str) -> None:
        """Write down what a line will show."""
        line, sign, expect = rest.rpartition(": ")
        if not sign:
            raise ActionError("expected predict LINE: WHAT, e.g. predict volts F7.2b body: 12 V")
        self.attempt.predict(parse_line(line), expect)

    def hint(self, _rest: str) -> None:
        """Ask for the next hint."""
        if self.prepared is None:
            self.prepared = prepare(self.attempt.case)
        entry = self.attempt.hint(self.prepared)
        points = self.attempt.case.hint_points or 0.0
        print(f"  {entry.data['text']}" + (f"   [{points:g} points]" if points else ""))

    def call(self, rest: str) -> None:
        """Have a unit repaired."""
        unit, _, cause = rest.partition(":")
        entry = self.attempt.call(unit.strip(), cause.strip())
        print(f"  {entry.data['option']}: {entry.data['minutes']} min; now verify it")

    def close(self, _rest: str) -> None:
        """Close the work order; a customer whose complaint is still there comes back once."""
        said = "" if self.came_back or self.attempt.progress.mended else self.customer_is_back()
        if said:
            self.came_back = True
            print(f"  {said} Close again to leave it so.")
            return
        self.attempt.close()
        print("  closed; `halfsplit score` shows the sheet")

    def customer_is_back(self) -> str:
        """Return what is said where the list holds after a call that was not it."""
        from lessons.workbench.desk import CaseDesk
        from lessons.workbench.panels.order import CLOSE, next_sentence
        from lessons.workbench.panels.verify import check_list

        desk = CaseDesk(self.attempt)
        checks = check_list(desk)
        held = checks and all(check["state"] == "holds" for check in checks)
        return next_sentence(desk, CLOSE, checks) if held else ""

    def price(self, rest: str) -> None:
        """Show what a line would take from here."""
        action, bench = action_from_json(parse_line(rest)), self.attempt.vehicle.bench
        check(self.circuit, bench.situation, action)
        cost = price(self.circuit, bench.situation, action)
        print(f"  {cost.minutes:g} min ({', '.join(cost.places) or 'no way to go'})")


def parse_line(text: str) -> dict[str, Any]:  # noqa: PLR0911 -- one return a kind of line
    """Return the action a line stands for, as in a record.

    Raises
    ------
    ActionError
        The line means nothing.
    """
    if text.startswith("{"):
        return _object(text)
    word, _, rest = text.partition(" ")
    if text.startswith("AC volts "):
        word, rest = "AC volts", text.removeprefix("AC volts ")
    rest = rest.strip()
    if word == "set":
        return {"set": _settings(rest)}
    if word == "listen":
        relay, _, settings = rest.partition(" ")
        return {"listen": relay, "set": _settings(settings)}
    if word in ("lamp", "led", "load", "conductance", *FUNCTIONS) and rest:
        return _with_leads(word, rest)
    if word in ("swap", "bridge"):
        return {word: list(_pair(word, rest))}
    if word == "scan":
        return _scanned(rest)
    if word == "unbridge":
        return {"unbridge": True}
    if not rest:
        raise ActionError("nothing to do it to; type help")
    return {word: rest}


def _object(text: str) -> dict[str, Any]:
    try:
        data = json.loads(text)
    except ValueError as error:
        raise ActionError(f"not JSON: {error}") from error
    if not isinstance(data, dict):
        raise ActionError('expected an object such as {"look": "fuse panel"}')
    return data


def _with_leads(word: str, rest: str) -> dict[str, Any]:
    if word in ("load", "conductance"):
        size, *ends = rest.rsplit(maxsplit=2)
        red, black = _pair(f"{word} {size}", " ".join(ends))
        return {word: size, "red": red, "black": black}
    red, black = _pair(word, rest)
    how = {word: True} if word in ("lamp", "led") else {"measure": word}
    return {**how, "red": red, "black": black}


def _scanned(rest: str) -> dict[str, Any]:
    """Return what a scan tool is to do: a task, of which unit, and what with which of its names."""
    task = next((one for one in TASKS if rest == one or rest.startswith(f"{one} ")), rest)
    words = rest.removeprefix(task).strip()
    needs = NEEDS.get(task, ())
    if "what" not in needs:
        return {"scan": task, "unit": words} if words else {"scan": task}
    unit, _, what = words.partition(" ")
    told = {"scan": task, "unit": unit, "what": what}
    key = next((one for one in ("at", "over") if one in needs), "")
    if key:
        told["what"], _, told[key] = what.rpartition(f" {key} ")
    if not all(told.values()):
        names = {"unit": "UNIT", "what": "NAME", "at": "at VALUE", "over": "over TIME"}
        raise ActionError(f"scan {task}: expected {' '.join(names[one] for one in needs)}")
    return told


def _settings(text: str) -> dict[str, str]:
    found = {}
    for item in text.split(","):
        control, sign, position = item.partition("=")
        if not sign:
            raise ActionError(f"{item.strip()!r}: expected CONTROL=POSITION")
        found[control.strip()] = position.strip()
    return found


def _pair(word: str, text: str) -> tuple[str, str]:
    names = text.split()
    if len(names) != 2:  # noqa: PLR2004 -- two ends
        raise ActionError(f"{word} needs two names, got {len(names)}")
    return names[0], names[1]


def reading_text(entry: Entry) -> str:
    """Return what an entry showed, what it took, and what it broke."""
    data = entry.data
    shown = Reading.from_json(data["shown"]).text() if "shown" in data else "done"
    harm = "".join(f"\n  {text}" for text in data["harm"])
    return f"  {shown}   [{data['minutes']} min, clock {data['clock']}]{harm}"
