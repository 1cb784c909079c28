"""Every shipped case: who is suspected, what proves it, what a habit costs.

What a case must be is ours.
"""

from collections import Counter

import numpy as np
import pytest

from grader.bands import NO_CURRENT
from grader.draw import assignable, draw, lesson_key
from grader.efficiency import charged_of, share_kept
from grader.game import Board, Game
from grader.judge import Judge
from grader.prepared import Prepared
from grader.score import par_minutes
from grader.solvers import Player, best_path, greedy, half_splitting, parts_swapper, seeded
from grader.suspects import corner_circuits
from sim.action import Reading
from sim.bench import Bench
from sim.faults import possible_faults, with_faults, write_faults
from tests.lessons.shipped import CASES, at_start, case, lineup, number, prepared

FIRST = ("00", "01")  # lessons where one test may be enough
PROVEN = 0.95
EXACT = 1e-9  # min
PAIRS = 1500  # of students, among whom draws are compared

#: Faults that the complaint contradicts -> what the customer saw that they would not let him see.
CONTRADICTED = {
    "dark-load-space": {"F14=open": "cab lamp", "S3=contact open": "door", "E1=open": "rear lamp"},
    "dim-load-lamps": {"X1=high resistance:1.2 ohm": "cab lamp", "E1=open": "rear lamp"},
    "dark-at-the-door": {"C20.1=open": "dash switch", "S3=contact open": "door tried alone"},
    "no-light-by-switch": {"F14=open": "cab lamp", "X7=high resistance:40 ohm": "dash switch"},
    "one-dim-eye": {"E1=open": "it glows", "S4.1=contact burnt:0.8 ohm": "right lamp"},
    "two-candles": {"X2=high resistance:2 ohm": "right lamp", "wire 1=open": "they glow"},
    "ghost-on-main-beam": {"F2=open": "left lamp", "E3=open": "main beam"},
    "weak-main-beam": {"S2.2=contact burnt:0.8 ohm": "dipped beam", "E2=open": "both"},
    "quiet-horn": {"F9=open": "interior lamp", "H1=open": "low horn"},
    "hoarse-horn": {"K5=coil open": "it croaks", "C8.1=open": "it croaks"},
    "no-fog-lamps": {"S2=contact open": "lamp in the switch", "E1=open": "right lamp"},
    "foggy-window": {"F12=open": "lamp in the switch", "S4=contact open": "lamp in the switch"},
    "cold-at-the-lights": {"R4=open": "warning lamp goes out", "wire 12=open": "heater is off"},
    "a-noise-that-will-not-go": {"M1=dead": "it hums", "X2=open": "warning lamp"},
    "no-hum-in-the-queue": {"wire 17=open": "silent", "R4=open": "warning lamp goes out"},
    "hums-before-the-engine": {"A1.8=stuck on": "it hums", "F1=open": "warning lamp"},
}

#: What people fit or mend there without a test.
HABITS = {
    "dark-load-space": ("plug C20", "wire 3"),
    "dim-load-lamps": ("ground X4", "dash switch S3"),
    "dark-at-the-door": ("door contact S8", "ground X7"),
    "no-light-by-switch": ("dash switch S3", "ground X4"),
    "one-dim-eye": ("socket of E1", "ground X2"),
    "two-candles": ("light switch S2", "dip switch S4"),
    "ghost-on-main-beam": ("bulb E4", "ground X3"),
    "weak-main-beam": ("dip switch S4", "holder of F2"),
    "quiet-horn": ("relay K5", "clock spring C8"),
    "hoarse-horn": ("relay K5", "ground X2"),
    "no-fog-lamps": ("relay K4", "relay K5 and socket"),
    "foggy-window": ("relay K3", "window glass"),
    "cold-at-the-lights": ("coolant sensor R4", "pump M1"),
    "a-noise-that-will-not-go": ("coolant sensor R4", "pump M1"),
    "no-hum-in-the-queue": ("coolant sensor R4", "pump M1"),
    "hums-before-the-engine": ("coolant sensor R4", "pump M1"),
}


@pytest.fixture(params=CASES)
def name(request: pytest.FixtureRequest) -> str:
    return request.param


# What a case is made of


def test_the_lessons_with_cases_have_four_each() -> None:
    count = Counter(path.parent.name[:2] for path in CASES.values())
    assert {lesson: count[lesson] for lesson in ("01", "03", "06", "08")} == dict.fromkeys(
        ("01", "03", "06", "08"), 4
    )


def test_cases_differ_in_order_and_words() -> None:
    assert len({case(name).order for name in CASES}) == len(CASES)
    assert len({case(name).complaint for name in CASES}) == len(CASES)


def test_neighbours_can_have_different_faults(name: str) -> None:
    pool = assignable(lineup(name))
    assert len(pool) >= 8
    severe = Counter(fault.point for one in pool for fault in one.faults if fault.severity)
    assert max(severe.values()) >= 2 or len({s.unit.name for s in pool}) >= 8


def test_two_students_share_a_draw_no_more_often_than_the_likelihoods_say(name: str) -> None:
    """Pairs alike are binomial with the sum of squared chances; 3.3 sigma, fixed ids."""
    pool, key = assignable(lineup(name)), lesson_key(b"a secret for tests", name)
    causes = [draw(lineup(name), key, f"student {number}").cause for number in range(2 * PAIRS)]
    alike = sum(one == other for one, other in zip(causes[::2], causes[1::2], strict=True))
    weights = np.array([suspect.likelihood for suspect in pool])
    chance = float(((weights / weights.sum()) ** 2).sum())
    assert abs(alike - PAIRS * chance) < 3.3 * np.sqrt(PAIRS * chance * (1 - chance))


def test_values_differ_between_students(name: str) -> None:
    assert case(name).varies
    assert all(low < high for low, high in case(name).varies.values())


def test_the_customer_can_be_asked(name: str) -> None:
    asked = case(name).questions
    assert len(asked) >= 2
    assert any(question.likelier for question in asked)


def test_the_complaint_rules_out_what_contradicts_it(name: str) -> None:
    circuit = case(name).circuit
    possible = {write_faults(circuit, faults) for faults, _likelihood in possible_faults(circuit)}
    suspected = {suspect.name for suspect in lineup(name).suspects}
    assert CONTRADICTED[name]
    assert set(CONTRADICTED[name]) <= possible
    assert not set(CONTRADICTED[name]) & suspected


def test_every_unit_mends_a_suspect(name: str) -> None:
    used = {suspect.unit.name for suspect in lineup(name).suspects}
    idle = {unit.name for unit in case(name).units} - used
    assert name == "foggy-window" or not idle  # that one lists all that could be mended


# The check after the repair


def failed_items(name: str, bench: Bench) -> list[str]:
    """Go through the case's list and give what does not hold."""
    failed = []
    for item in case(name).verify:
        for action in item.doing:
            bench.do(action)
        shown = bench.do(item.action).reading or Reading()
        if item.between is None:
            good = shown.words == item.expect
        else:
            low, high = item.between
            good = shown.steady and low <= number(shown) <= high
        if not good:
            failed.append(f"{item.action} showed {shown.text()}")
    return failed


def test_a_sound_vehicle_passes_the_check_wherever_values_lie(name: str) -> None:
    solver = lineup(name).fleet.solver
    for circuit in corner_circuits(case(name)):
        assert failed_items(name, at_start(name, circuit, solver)) == []


def test_no_suspect_passes_the_check(name: str) -> None:
    solver = lineup(name).fleet.solver
    (circuit, *_more) = corner_circuits(case(name))
    for suspect in lineup(name).suspects:
        bench = at_start(name, with_faults(circuit, suspect.faults), solver)
        assert failed_items(name, bench), suspect.name


def test_the_check_sees_it_work_stop_and_draw_its_current(name: str) -> None:
    items = case(name).verify
    assert any(item.expect == "yes" for item in items)
    assert any(item.between and item.between[0] > NO_CURRENT for item in items)
    stops = [item.expect == "no" or (item.between and item.between[0] <= 0) for item in items]
    assert any(stops)


# The best path


def expected_tests(ready: Prepared) -> float:
    """Give how many tests the best path takes on average."""
    policy, chances = ready.policy(), ready.likelihoods()
    labels = [parts.labels() for parts in ready.space.splits]
    units = [suspect.unit.name for suspect in ready.lineup.suspects]

    def below(node: dict, left: list[int]) -> float:
        if "test" in node:
            shown = labels[int(str(node["test"]).partition(":")[0])]
            return sum(chances[left]) + sum(
                below(branch, [k for k in left if shown[k] == outcome])
                for outcome, branch in node["outcomes"].items()
            )
        if "replace" in node:
            return below(node["wrong"], [k for k in left if units[k] != node["replace"]])
        return 0.0

    return float(below(policy.tree(policy.everything), list(range(len(units)))))


def test_the_best_path_is_exact_and_takes_some_thought(name: str) -> None:
    ready = prepared(name)
    judge = Judge(ready, ready.lineup.suspects[0].name)
    start = judge.value(judge.possible, judge.situation)
    assert start.upper == pytest.approx(start.lower, abs=1e-9)
    assert start.upper > 0
    assert start.upper < par_minutes(ready, start)
    tests = expected_tests(ready)
    assert tests >= (1 if CASES[name].parent.name.startswith(FIRST) else 2)


@pytest.mark.parametrize("player", [best_path, greedy, half_splitting, parts_swapper])
def test_cost_less_regret_is_v_whoever_works_it(name: str, player: Player) -> None:
    """Luck-free: exactly, over all causes. The best path gives nothing away on any of them."""
    board = Board(prepared(name))
    games = [Game(board, truth) for truth in range(len(board.chances))]
    start = board.policy.value(games[0].possible, games[0].opened, games[0].here).upper
    for game in games:
        player(game, seeded(1))
        assert game.mended
        assert game.charged >= 0.0
        if player is best_path:
            assert game.charged < EXACT
            assert game.drift < EXACT  # below nothing where a lead rested where it was wanted
    cost = sum(p * (g.excess - g.drift) for p, g in zip(board.chances, games, strict=True))
    assert cost == pytest.approx(start, abs=EXACT)


def test_every_fault_a_student_can_get_can_be_proven(name: str) -> None:
    """Among suspects that no plain reading tells from it, its own unit holds 95 %."""
    ready = prepared(name)
    chances, suspects = ready.likelihoods(), ready.lineup.suspects
    seen = np.array([parts.member for parts in ready.space.splits])
    for one in assignable(ready.lineup):
        k = ready.lineup.index(one.name)
        same = np.flatnonzero((seen == seen[:, [k]]).all(axis=0))
        own = [i for i in same if suspects[i].unit == one.unit]
        assert chances[own].sum() / chances[same].sum() >= PROVEN, one.name


def test_a_part_by_habit_costs_more_than_half_of_the_efficiency(name: str) -> None:
    ready = prepared(name)
    judge = Judge(ready, ready.lineup.suspects[0].name)
    start = judge.value(judge.possible, judge.situation)
    for unit in HABITS[name]:
        mask = judge.unit_mask(unit)
        assert mask, unit
        wrong, rest = 1.0 - judge.weight(mask), judge.possible & ~mask
        later = judge.value(rest, judge.situation).lower
        quality = wrong * (case(name).minutes_of(case(name).unit(unit)) + later)
        charged = charged_of(quality - start.upper, start)
        assert share_kept(start.upper, charged) < 0.5, unit
