"""Does the score measure skill? Students of known skill work cases; their scores are compared.

A student is a forgetful solver (`grader.solvers.Forgetful`) whose skill is defined without Q or V.
The score of k cases is the log regret (`grader.skill`), V that of the case from the complaint on.
Luck is what two students of one skill differ by.
"""

import itertools
import random
from collections.abc import Sequence
from dataclasses import dataclass
from functools import cache
from pathlib import Path

import numpy as np

from grader.casefile import read_case
from grader.game import Board, Game
from grader.habits import board_with_habits, ghosts
from grader.prepared import prepare
from grader.skill import FLOOR
from grader.solvers import Forgetful, GhostReader, InOrder, Player, seeded
from tests.validity.statistics import rank_correlation

ROOT = Path(__file__).parents[2]
CASES = sorted((ROOT / "lessons" / "source").glob("*/*.case.yaml"))
DRAWS = 20  # ways to draw the cases of a form


@cache
def worked() -> tuple[tuple[Board, tuple[int, ...]], ...]:
    """Every shipped case, ready to be played, and its readings in order from the battery."""
    circuits = ROOT / "lessons" / "circuits"
    return tuple(board_with_habits(prepare(read_case(file, circuits))) for file in CASES)


@cache
def boards() -> tuple[Board, ...]:
    """Every shipped case, ready to be played."""
    return tuple(board for board, _order in worked())


def in_order(game: Game, chance: random.Random) -> None:
    """Work in order from the battery, whatever the case."""
    InOrder(next(order for board, order in worked() if board is game.board))(game, chance)


@cache
def _ghost_reader(board: Board) -> GhostReader:
    return GhostReader(ghosts(board))


def ghost_reader(game: Game, chance: random.Random) -> None:
    """Take an unloaded supply for proof, whatever the case."""
    _ghost_reader(game.board)(game, chance)


@dataclass(frozen=True, slots=True)
class Play:
    """One case worked by one student: what it gave away and cost, as shares of V; its steps."""

    board: int
    truth: int
    moves: tuple[int, ...]
    regret: float
    cost: float
    steps: int


def play(player: Player, seed: str, number: int) -> Play:
    """Draw a cause, and let somebody work the case; the seed gives draw and choices."""
    chance = seeded(seed)
    board = boards()[number]
    truth = chance.choices(range(len(board.chances)), board.chances.tolist())[0]
    game = Game(board, truth)
    player(game, chance)
    regret, cost = game.charged / board.value, game.excess / board.value
    return Play(number, truth, tuple(game.moves), regret, cost, len(game.moves))


def population(skills: Sequence[float], cases: int, name: str) -> list[list[Play]]:
    """Let a student of each skill work so many cases: the same for all, as in a class, in turn."""
    many = len(boards())
    return [
        [play(Forgetful(skill), f"{name} {student} {n}", n % many) for n in range(cases)]
        for student, skill in enumerate(skills)
    ]


def table(plays: Sequence[Sequence[Play]], what: str) -> np.ndarray:
    """Give one figure of every play: (students, cases)."""
    return np.array([[getattr(play, what) for play in row] for row in plays], dtype=float)


def log_score(regret: np.ndarray) -> np.ndarray:
    """Give the score of each student over all cases of a table."""
    return np.asarray(-np.log(regret + FLOOR).mean(axis=1))


def forms(figures: np.ndarray, cases: int, count: int, seed: int) -> list[np.ndarray]:
    """Give the figures of disjoint forms of `count` cases drawn at random, each case alike often.

    Parameters
    ----------
    figures : array (students, rounds x cases)
        Every case once in each round.
    cases : int
        How many there are.
    """
    chance = np.random.default_rng(seed)
    each = -(-count // cases)  # rounds that a form needs
    found = []
    for first in range(0, figures.shape[1] // cases - each + 1, each):
        order = np.concatenate([chance.permutation(cases) + cases * n for n in range(each)])
        found.append(figures[:, cases * first + order[:count]])
    return found


def scores(figures: np.ndarray, count: int, *, log: bool) -> list[list[np.ndarray]]:
    """Give every student's score on forms of `count` cases, for each of `DRAWS` ways to draw them.

    The score is log regret, or a mean.
    """
    cases = len(boards())
    return [
        [log_score(form) if log else -form.mean(axis=1) for form in forms(figures, cases, count, n)]
        for n in range(DRAWS)
    ]


def by_count(figures: np.ndarray, skills: np.ndarray, count: int, *, log: bool) -> float:
    """Give the mean rank correlation with skill of scores over `count` cases."""
    found = [one for drawn in scores(figures, count, log=log) for one in drawn]
    return float(np.mean([rank_correlation(score, skills) for score in found]))


def parallel(figures: np.ndarray, count: int, *, log: bool) -> float:
    """Give the mean correlation of scores between two forms of `count` cases."""
    drawn = scores(figures, count, log=log)
    pairs = [pair for one in drawn for pair in itertools.combinations(one, 2)]
    return float(np.mean([np.corrcoef(one, two)[0, 1] for one, two in pairs]))


def perturbed(seed: int) -> list[Board]:
    """Give every case with each likelihood off by up to half."""
    chance = np.random.default_rng(seed)
    found = []
    for board in boards():
        chances = board.chances * chance.uniform(0.5, 1.5, len(board.chances))
        found.append(board.with_chances(chances / chances.sum()))
    return found


def judged_again(plays: Sequence[Sequence[Play]], others: Sequence[Board]) -> np.ndarray:
    """Judge the same paths under other likelihoods: regret as a share of V."""
    return np.array([[_again(one, others[one.board]) for one in row] for row in plays])


def _again(one: Play, board: Board) -> float:
    game = Game(board, one.truth)
    for move in one.moves:
        if move < 0:
            game.call(~move)
        else:
            game.take(move)
    return game.charged / board.value
