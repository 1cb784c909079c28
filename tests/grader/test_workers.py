"""What workers keep: all causes played where that is affordable, else a drawn part, and said so."""

import pytest

from grader.game import Board, Game
from grader.policy import Policy
from grader.solvers import seeded
from grader.workers import DRAWS, SEED, WORKERS, Kept, drawn_causes, mean_of, workers_keep
from tests.grader.foggy import prepared

EVERYTHING = 10**9


def test_workers_keep_less_the_worse_they_are():
    kept = [one.share for one in workers_keep(prepared())]
    assert kept == sorted(kept, reverse=True)
    assert kept[0] > 0.9
    assert kept[-1] < 0.5


def test_where_it_is_affordable_every_cause_counts_by_its_likelihood():
    """Against every cause played one after the other, each value searched to its end."""
    board = Board(prepared())
    for one in workers_keep(prepared()):
        total = 0.0
        for truth, chance in enumerate(board.chances):
            game = Game(board, truth)
            WORKERS[one.worker](game, seeded(SEED + truth))
            total += float(chance) * game.share
        assert one.share == pytest.approx(total, abs=1e-9)
        assert one.played == one.causes == len(board.chances)
        assert (one.proven, one.words()) == (True, "")


def test_beyond_the_work_allowed_a_drawn_part_is_played_and_said_so():
    """With no work allowed at all the first cause drawn is played, and counts alone."""
    fresh = Board(prepared())
    fresh.policy = Policy(fresh.policy.problem)
    told: list[tuple[str, int, int]] = []
    found = list(workers_keep(prepared(), lambda *now: told.append(now), looks=0))
    first = drawn_causes(fresh)[0]
    for one in found:
        game = Game(fresh, first)
        WORKERS[one.worker](game, seeded(SEED + first))
        assert one.share == pytest.approx(game.share, abs=1e-9)
        assert one.words() == f"1 of {len(fresh.chances)} causes played, drawn by likelihood"
    assert told == [(name, 0, len(fresh.chances)) for name in WORKERS]


def test_how_far_a_mean_of_draws_may_be_off_is_said():
    """Of 0, 0, 1, 1 the standard deviation is sqrt(1/3), the standard error half of it."""
    mean, error = mean_of([0.0, 0.0, 1.0, 1.0])
    assert (mean, error) == (0.5, pytest.approx((1 / 3) ** 0.5 / 2))
    told = Kept("greedy", mean, 3, 143, proven=False, error=error).words()
    assert told == (
        "3 of 143 causes played, drawn by likelihood: give or take 29 %; "
        "at most: not every step could be searched to its end"
    )


def test_a_mean_of_some_causes_is_never_said_to_be_exact():
    """64 draws, one of 0.99 and the others 1: s / sqrt(n) is 0.016 %, rounded up 1 %."""
    mean, error = mean_of([0.99] + [1.0] * 63)
    assert error == pytest.approx(0.01 / 64, rel=1e-6)
    told = Kept("greedy", mean, 40, 143, proven=True, error=error).words()
    assert told == "40 of 143 causes played, drawn by likelihood: give or take 1 %"
    mean, error = mean_of([1.0] * 64)
    told = Kept("greedy", mean, 40, 143, proven=True, error=error).words()
    assert told == "40 of 143 causes played, drawn by likelihood: all of these keep the same"


def test_causes_are_drawn_as_often_as_they_are_likely_and_the_same_again():
    board = Board(prepared())
    drawn = drawn_causes(board)
    assert drawn == drawn_causes(board)
    assert len(drawn) == DRAWS
    likely = board.chances >= 0.05
    expected = float(board.chances[likely].sum())
    found = sum(bool(likely[k]) for k in drawn) / DRAWS
    spread = (expected * (1 - expected) / DRAWS) ** 0.5
    assert abs(found - expected) < 3 * spread + 1e-9


def test_a_bounded_policy_proves_what_it_can_and_counts_what_it_gave_up():
    exact = Policy(prepared().policy().problem)
    value = exact.value(exact.everything)
    assert exact.looks > 0
    assert exact.given_up == 0
    short = Policy(exact.problem).bounded(0)
    known = short.value(short.everything)
    assert short.given_up == 1
    assert known.lower <= value.lower <= value.upper <= known.upper
    assert known.lower < known.upper
    ample = Policy(exact.problem).bounded(EVERYTHING)
    assert ample.value(ample.everything) == value
    assert (ample.given_up, ample.looks) == (0, exact.looks)
