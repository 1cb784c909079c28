"""Readings that people take by habit, found on the circuit: in order along the way of the current.

The way is that of the load the complaint is about, on the sound vehicle. Readings that tell nothing
belong to it: people take them.
"""

from __future__ import annotations

from collections.abc import Iterable, Sequence

from grader.bands import split
from grader.because import Reasoner, solved
from grader.choices import Choice
from grader.currentpath import Lane, way_of
from grader.game import Board, Reading, live_settings
from grader.outcomes import confirmed
from grader.prepared import Prepared
from grader.suspects import play
from grader.told import healthy_number
from sim.access import lead_minutes, probe_points
from sim.action import Action
from sim.circuit import BODY
from sim.effects import load_element
from sim.observe import observe


def complaint_loads(prepared: Prepared) -> tuple[str, ...]:
    """Return the parts that do not do what they should, by the complaint."""
    case = prepared.case
    wanting = [effect for sight in case.shows for effect, answer in sight.sees if answer == "no"]
    told = wanting or [effect for sight in case.shows for effect, _answer in sight.sees]
    return tuple(dict.fromkeys(case.circuit.effects[effect].part for effect in told))


def points_in_order(prepared: Prepared) -> tuple[str, ...]:
    """Return the points on the way of the complaint's current, from the battery on."""
    healthy, circuit = prepared.healthy, prepared.case.circuit
    situation, memory = confirmed(prepared.lineup, healthy)
    network = healthy.solver.network
    solution, _shown = solved(healthy, situation, memory, Action("wait", seconds=1.0))
    sound, points = Lane.of(network, solution, 0), []
    for part in complaint_loads(prepared):
        way = way_of(sound, load_element(circuit, network, part))
        names = [network.nodes[node] for node in way.nodes]
        end = names.index(BODY) if BODY in names else len(names)
        points += names[:end]
    return tuple(dict.fromkeys(points))


def habit_readings(prepared: Prepared, points: Sequence[str]) -> list[Reading]:
    """Return the readings of volts at points under the complaint's conditions, where there are any.

    Whatever they tell, even if nothing, or nothing that a cheaper one does not tell.
    """
    within_reach = probe_points(prepared.case.circuit)
    live = live_settings(prepared.case)
    found = []
    for name in points:
        point = within_reach.get(name)
        if point is not None:
            action = Action("measure", "volts", point.name, BODY)
            places = (point.place,) if point.place else ()
            words = f"volts at {point.name} (complaint's conditions)"
            choice = Choice(words, live, action, lead_minutes(point), places, 1)
            found.append(_reading(prepared, choice))
    return [reading for reading in found if reading is not None]


def _reading(prepared: Prepared, choice: Choice) -> Reading | None:
    lineup, healthy = prepared.lineup, prepared.healthy
    ours = play(lineup.fleet, *confirmed(lineup, lineup.fleet), choice.prepare)[:2]
    theirs = play(healthy, *confirmed(lineup, healthy), choice.prepare)[:2]
    seen = observe(lineup.fleet, *ours, choice.action)
    number = healthy_number(observe(healthy, *theirs, choice.action).outcome)
    parts = split(choice.action, seen.outcome, lineup.corners, number)
    return None if parts is None else Reading.of(choice, parts)


def board_with_habits(prepared: Prepared) -> tuple[Board, tuple[int, ...]]:
    """Return a board that also has the readings in order, and their numbers in that order."""
    habits = habit_readings(prepared, points_in_order(prepared))
    board = Board(prepared, habits)
    first = len(board.readings) - len(habits)
    return board, tuple(range(first, len(board.readings)))


def ghosts(board: Board) -> dict[int, tuple[str, int]]:
    """Return the unloaded readings of supply, and the suspects a careless eye takes for cleared.

    Those are volts with something unplugged or pulled. Cleared he takes every suspect in a part on
    the way of the current to the point; the poor joints among them are still possible.
    """
    found = {}
    for number, reading in enumerate(board.readings):
        choice = reading.choice
        opened = any(action.verb in ("unplug", "pull") for action in choice.prepare)
        label = next((name for name in reading.labels if name == "supply"), "")
        if opened and label and choice.name.startswith("volts at"):
            cleared = _before(board.prepared, choice)
            if cleared & reading.groups[reading.labels.index(label)]:
                found[number] = (label, cleared)
    return found


def _before(prepared: Prepared, choice: Choice) -> int:
    """Return the suspects in parts on the way to a point on the sound vehicle, as bits."""
    healthy, lineup = prepared.healthy, prepared.lineup
    situation, memory = play(healthy, *confirmed(lineup, healthy), choice.prepare)[:2]
    solution, _shown = solved(healthy, situation, memory, choice.action)
    sound = Lane.of(healthy.solver.network, solution, 0)
    reasoner = Reasoner(lineup.case.circuit, choice.action, sound)
    if not reasoner.is_fed(reasoner.way):
        return 0
    way = reasoner.way
    return _suspects_in(prepared, way.owners(0, way.position(reasoner.hot_point())))


def _suspects_in(prepared: Prepared, parts: Iterable[str]) -> int:
    named = set(parts)
    suspects = prepared.lineup.suspects
    return sum(1 << k for k, s in enumerate(suspects) if s.parts and s.parts <= named)
