"""A closed work order played again, step by step: what was done, what it showed, who carried what.

The student's vehicle is played from the record; beside it a sound vehicle with the same values goes
through the same steps, so that every moment can be held against one without the fault. Solved anew,
nothing is looked up.
"""

from __future__ import annotations

from collections.abc import Mapping
from typing import Any

from grader.attempt import Attempt, Vehicle
from grader.currentpath import Lane
from grader.draw import sound_circuit
from grader.record import Entry
from lessons.workbench.panels.currents import current_view, lane_of
from lessons.workbench.panels.evidence import outcome, what
from lessons.workbench.showing import leads_of
from lessons.workbench.standing import Standing, first_standing, standings
from lessons.workbench.steps import is_line, step_numbers
from lessons.workbench.words import retold
from sim.action import Action, action_from_json
from sim.bench import Bench
from sim.circuit import Circuit
from sim.errors import SimError


def replay_frames(attempt: Attempt, drawn: Mapping[str, Any]) -> list[dict[str, Any]]:
    """Return a frame for every line of the evidence at which the vehicle was looked at."""
    entries = list(attempt.writer.entries)
    player = Player(attempt, drawn)
    stood = standings(first_standing(attempt.case.circuit, attempt.case.start), entries)
    numbers = step_numbers(entries)
    frames = []
    for index, entry in enumerate(entries[1:], start=1):
        frame = player.play(entry, stood[index])
        if frame is not None:
            frames.append({"n": numbers[entry.number], **frame})
    return frames


class Player:
    """The student's vehicle and a sound one, taken through a record line by line."""

    def __init__(self, attempt: Attempt, drawn: Mapping[str, Any]) -> None:
        self.circuit: Circuit = attempt.case.circuit
        self.drawn = drawn
        self.vehicle = Vehicle(attempt.lineup, attempt.drawn)
        lineup = attempt.lineup
        truth = lineup.suspects[lineup.index(attempt.drawn.cause)]
        bench = self.vehicle.bench
        sound = truth.mended(bench.circuit, sound_circuit(attempt.case, attempt.drawn))
        self.sound: Bench | None = Bench(sound, bench.fleet.solver, bench.situation)

    def play(self, entry: Entry, standing: Standing) -> dict[str, Any] | None:
        """Do a line again; return its frame, None for what is no deed at the vehicle."""
        if entry.kind != "act" or "ask" in entry.data["do"]:
            self.vehicle.repeat(entry)
            return None
        action = action_from_json(entry.data["do"])
        lanes = self._lanes(action) if is_line(entry) else None
        self.vehicle.repeat(entry)
        self._on_the_sound_one(action)
        if lanes is None:
            return None
        return {
            "title": what(entry, self.circuit, standing.apart),
            "shown": outcome(entry),
            "conditions": standing.words(self.circuit),
            "leads": leads_of(action),
            "harm": [retold(harm) for harm in entry.data["harm"]],
            **current_view(self.circuit, self.drawn, *lanes),
        }

    def _lanes(self, action: Action) -> tuple[Lane, Lane | None]:
        ours = lane_of(self.vehicle.bench, action)
        if self.sound is None:
            return ours, None
        try:
            return ours, lane_of(self.sound, action)
        except SimError:
            self.sound = None
            return ours, None

    def _on_the_sound_one(self, action: Action) -> None:
        """Do it there too; where it cannot be done, there is no sound vehicle from then on."""
        if self.sound is None:
            return
        try:
            self.sound.do(action)
        except SimError:
            self.sound = None
