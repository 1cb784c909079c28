"""A mouse that does at the bench on the screen what an action says, and works a case with it.

What an action is clicked with is read off the controls themselves: a button carries the action it
does, a list the points it offers. So a path that is worked out can be worked on the screen.
"""

import json
from collections.abc import Mapping
from typing import Any

from playwright.sync_api import Locator

from grader.choices import Choice as Plain
from grader.judge import Judge
from grader.policy import Choice
from grader.prepared import prepare
from grader.record import Entry, read_record
from grader.replay import replay
from lessons.course import Setup
from lessons.workbench.kit import kit
from sim.action import Action, action_from_json
from sim.parts import FAMILIES
from sim.situation import Situation
from tests.browser.waits import until_answered


class Mouse:
    """Hands that have a mouse, at one bench."""

    def __init__(self, bench: Locator, setup: Setup) -> None:
        self.bench, self.setup = bench, setup
        self.circuit = setup.case.circuit

    def entries(self) -> list[Entry]:
        """Give what the record holds by now, without the line that opens it."""
        return read_record(self.setup.record)[1:] if self.setup.record.is_file() else []

    def click(self, target: Locator) -> None:
        """Click; when the bench has answered, the record holds a line more."""
        before = len(self.entries())
        target.click()
        until_answered(self.bench)
        assert len(self.entries()) > before, f"{target} did nothing: {self.notice()}"

    def notice(self) -> str:
        return " ".join(self.bench.get_by_role("alert").all_inner_texts())

    def do(self, action: Action) -> None:
        """Do one thing."""
        data = action.to_json()
        if action.verb == "set" and action.verb in data:
            for control, position in data["set"].items():
                self.turn(control, position)
        elif action.verb == "wait":
            self.wait(action)
        elif action.verb in kit():
            self.read(action.verb, data)
        else:
            self.offered(data, action)

    def turn(self, control: str, position: str) -> None:
        group = self.bench.get_by_role("group", name=control, exact=True)
        button = group.locator(f'[data-key="{position}"]')
        if button.get_attribute("aria-pressed") == "false":
            self.click(button)

    def wait(self, action: Action) -> None:
        row = self.bench.locator('.hs-control[data-key="wait"]')
        times = {one: one.partition(" (")[0] for one in row.locator("option").all_inner_texts()}
        (label,) = [one for one in times if action_from_json({"wait": times[one]}) == action]
        row.locator("select").select_option(label=label)
        self.click(row.get_by_role("button", name="Wait", exact=True))

    def offered(self, data: Mapping[str, Any], action: Action) -> None:
        """Press the button that carries the action, where it is offered."""
        place = action.target if action.verb in ("look", "smell") else None
        if place is None and action.target in self.circuit.parts:
            place = self.circuit.parts[action.target].place
        if place is not None:
            self.bench.locator(f'.hs-place[data-key="{place}"]').click()
        key = json.dumps(data, separators=(",", ":"), ensure_ascii=False)
        button = self.bench.locator("button").and_(self.bench.locator(f"[data-key='{key}']"))
        lid = self.bench.locator("details:not([open])", has=button.first)
        if lid.count():
            lid.first.locator("summary").click()
        self.click(button.first)

    def read(self, verb: str, data: Mapping[str, Any]) -> None:
        """Take the instrument up, set it, put its leads down, take the reading."""
        meter = self.bench.locator(".hs-meter")
        meter.get_by_role("group", name="Instrument").locator(f'[data-key="{verb}"]').click()
        for knob in kit()[verb].knobs:
            if knob.name in data:
                self.set_knob(
                    meter.locator(f'.hs-knob[data-key="{knob.name}"]'), str(data[knob.name])
                )
        for end in ("red", "black"):
            if end in data:
                meter.locator(f'.hs-end[data-key="{end}"] select').select_option(data[end])
        if verb == "clamp":
            meter.get_by_label("Around", exact=True).select_option(data["clamp"])
        if verb == "bridge":
            for end, point in zip(("one", "other"), data["bridge"], strict=True):
                meter.locator(f'.hs-end[data-key="{end}"] select').select_option(point)
        self.click(meter.locator('[data-key="take"]'))

    @staticmethod
    def set_knob(knob: Locator, word: str) -> None:
        if knob.locator("select").count():
            knob.locator("select").select_option(word)
        elif knob.locator("input").count():
            knob.locator("input").fill(word)
            knob.locator("input").press("Enter")
        else:
            knob.locator(f'button[data-key="{word}"]').click()

    def situation(self) -> Situation:
        """Give how the student's bench stands, by its record."""
        setup = self.setup
        played = replay(setup.lineup, setup.drawn, setup.student, read_record(setup.record))
        assert played.mismatches == ()
        return played.vehicle.bench.situation

    def put_back(self) -> None:
        """Plug, insert, exchange and take off whatever is not as it was."""
        situation = self.situation()
        for pair in situation.swapped:
            self.do(action_from_json({"swap": list(pair)}))
        if situation.bridge:
            self.do(action_from_json({"unbridge": True}))
        for name in situation.tried:
            self.do(action_from_json({"untry": name}))
        for name in situation.apart:
            removable = FAMILIES[self.circuit.parts[name].kind].removable
            self.do(action_from_json({"insert" if removable else "plug": name}))

    def call(self, unit: str, cause: str) -> None:
        """Call a unit by one of its causes."""
        button = self.bench.locator
        button('.hs-call [data-key="call"]').click()
        self.bench.get_by_label("Unit to repair").select_option(unit)
        self.bench.get_by_label("Cause", exact=True).select_option(cause)
        self.click(button('.hs-call [data-key="confirm"]'))

    def close(self) -> None:
        self.bench.get_by_role("button", name="Close the work order", exact=True).click()
        self.click(self.bench.get_by_role("button", name="Close for good", exact=True))


def work_best_path(mouse: Mouse) -> None:
    """Confirm, take the best choice until the right unit is called, verify, close."""
    case = mouse.setup.case
    for action in case.confirm.doing:
        mouse.do(action)
    for effect, _seen in case.confirm.sees:
        mouse.do(action_from_json({"watch": effect}))
    prepared, truth = prepare(case), mouse.setup.drawn.cause
    judge, known = Judge(prepared, truth), 0
    right = prepared.lineup.suspects[prepared.lineup.index(truth)].unit.name
    called = ""
    while called != right:
        entries = mouse.entries()
        judge.walk(entries[known:])
        known = len(entries)
        choice = best_choice(judge)
        if choice.kind == "test":
            take(mouse, prepared.space.choices[choice.index])
            continue
        called = choice.name or judge.units(judge.possible)[0]
        mouse.call(called, likeliest(judge, called))
    mouse.put_back()
    for check in case.verify:
        for action in check.doing:
            mouse.do(action)
        mouse.do(check.action)
    mouse.close()


def best_choice(judge: Judge) -> Choice:
    """Give the best choice as the bench stands."""
    names = [place.name for place in judge.policy.problem.places]
    opened, here = (
        sum(1 << names.index(place) for place in places)
        for places in (judge.situation.reached, judge.situation.here)
    )
    return judge.policy.best(judge.possible, opened, here, slack=0.0)


def take(mouse: Mouse, plain: Plain) -> None:
    """Take a plain reading: set up, read, and put back what was taken apart."""
    for action in plain.prepare:
        mouse.do(action)
    mouse.do(plain.action)
    mouse.put_back()


def likeliest(judge: Judge, unit: str) -> str:
    """Give the likeliest cause of a unit among those that are still possible."""
    lineup = judge.prepared.lineup
    left = set(judge.names(judge.possible))
    inside = [s for s in lineup.suspects if s.unit.name == unit]
    return max(inside, key=lambda s: (s.name in left, s.likelihood)).name
