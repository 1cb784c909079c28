"""A demonstration of one step: a question, the student's prediction, then reading and currents.

There is no record and no score. Nothing of the answer goes to the page before a prediction has been
made.
"""

from __future__ import annotations

from collections.abc import Callable, Mapping, Sequence
from typing import Any

from grader.attempt import step_data
from grader.record import Entry
from grader.wording import describe
from lessons.workbench.desk import TrialDesk
from lessons.workbench.panels.currents import current_view, lane_of
from lessons.workbench.panels.diagram import drawing
from lessons.workbench.standing import standings
from lessons.workbench.words import capital, in_shop_words, reading_words, retold
from sim.action import Action, action_from_json
from sim.bench import Bench
from sim.circuit import Circuit
from sim.errors import ActionError
from sim.language import msg, say

QUESTION = msg("What will it show?")


class ShowDesk(TrialDesk):
    """The desk of a demonstration of one step.

    Parameters
    ----------
    bench, sound : Bench
        The vehicle with its fault, and one without.
    circuit : Circuit
        As the papers have it.
    first : sequence of Action
        What is done on both before the step.
    do : mapping
        The step, as it would stand in a record.
    ask : str
        The question put before it.
    """

    def __init__(
        self,
        bench: Bench,
        sound: Bench,
        circuit: Circuit,
        first: Sequence[Action],
        do: Mapping[str, Any],
        ask: str = "",
    ) -> None:
        super().__init__(bench, circuit, predict=True)
        self.sound, self.ask = sound, ask
        self.action = action_from_json(do)
        self.frame: dict[str, Any] | None = None
        for action in first:
            sound.do(action)
            self._line(action)
        for one in (bench, sound):
            one.try_out(self.action)  # a step that cannot be done is told at once

    def _line(self, action: Action, expected: str = "") -> dict[str, Any]:
        data = step_data(self.bench.do(action))
        self.lines.append(Entry(len(self.lines), "act", {**data, "expected": expected}))
        return data

    def jobs(self) -> Mapping[str, Callable[[Mapping[str, Any]], None]]:
        """Return what can be asked of it: to be shown, after a prediction."""
        return {"predict": self.show}

    def show(self, message: Mapping[str, Any]) -> None:
        """Take the prediction, do the step, keep what there is to see."""
        expected = str(message["predict"]).strip()
        if not expected:
            raise ActionError(say("say first what you expect; then see what it shows"))
        if self.frame is not None:
            raise ActionError(say("this step has been shown; run the cell again to start over"))
        lanes = lane_of(self.bench, self.action), lane_of(self.sound, self.action)
        usual = step_data(self.sound.do(self.action)).get("shown")
        data = self._line(self.action, expected)
        self.frame = {
            "title": self.deed,
            "leads": leads_of(self.action),
            "shown": reading_words(data["shown"]) if "shown" in data else "",
            "usual": reading_words(usual) if usual else "",
            "expected": expected,
            "harm": [retold(harm) for harm in data["harm"]],
            **current_view(self.circuit, drawing(self.circuit), *lanes),
        }

    @property
    def deed(self) -> str:
        """What the step does, in words."""
        return capital(in_shop_words(self.circuit, describe(self.action), self.situation.apart))

    def view(self) -> dict[str, Any]:
        """Return what is drawn; the frame is None until a prediction has been made."""
        done = self.lines[:-1] if self.frame else self.lines
        stood = standings(self.first, done)[-1] if done else self.first
        return {
            "mode": "show",
            "ask": self.ask or say(QUESTION),
            "what": self.deed,
            "leads": leads_of(self.action),
            "conditions": stood.words(self.circuit),
            "frame": self.frame,
            "notice": self.notice,
        }


def leads_of(action: Action) -> dict[str, str]:
    """Return where the leads of an action are: end -> point."""
    ends = {"red": action.red, "black": action.black}
    return {end: point for end, point in ends.items() if point}
