"""Compiled and in whole arrays the search finds the same states and the same bits."""

from collections.abc import Callable

import numpy as np
import pytest

from grader.policy import Policy
from grader.problem import Problem

Draw = Callable[[int], Problem]
Make = Callable[..., Problem]


def both(problem: Problem, nodes: int | None = None) -> tuple[Policy, Policy]:
    ways = Policy(problem, nodes=nodes, plain=False), Policy(problem, nodes=nodes, plain=True)
    values = [policy.value(policy.everything) for policy in ways]
    assert values[0] == values[1]
    return ways


def assert_same(problem: Problem, nodes: int | None = None) -> int:
    compiled, arrays = (policy._search.states for policy in both(problem, nodes))  # noqa: SLF001
    used = int(compiled.used[0])
    assert used == int(arrays.used[0])
    for name in ("lower", "upper", "action"):
        one, other = (getattr(states, name)[:used] for states in (compiled, arrays))
        assert np.array_equal(one, other), name
    return used


@pytest.mark.parametrize("block", range(6))
def test_small_problems(block: int, draw_small_problem: Draw) -> None:
    looked = [assert_same(draw_small_problem(seed)) for seed in range(block * 30, block * 30 + 30)]
    assert max(looked) > 5


@pytest.mark.parametrize("seed", range(4))
def test_circuits(seed: int, make_circuit_problem: Make) -> None:
    assert assert_same(make_circuit_problem(seed, (11, 10), 6)) > 50


@pytest.mark.parametrize("nodes", [0, 5, 40])
def test_a_budget_stops_both_at_the_same_state(nodes: int, make_circuit_problem: Make) -> None:
    assert_same(make_circuit_problem(5, (7, 6), 4), nodes)


def test_many_outcomes_and_many_states(make_circuit_problem: Make) -> None:
    # more tests than one word of bits has room for, and more outcomes than a handful
    problem = make_circuit_problem(1, (9, 8), 5)
    assert len(problem.tests) > 120
    assert_same(problem, 150)


def test_both_show_the_same_tree(make_circuit_problem: Make) -> None:
    one, other = both(make_circuit_problem(2, (5, 4), 3))
    assert one.tree(one.everything) == other.tree(other.everything)
    assert one.best(one.everything) == other.best(other.everything)


@pytest.mark.long
def test_many_problems(draw_small_problem: Draw, make_circuit_problem: Make) -> None:
    for seed in range(10_000, 13_000):
        assert_same(draw_small_problem(seed))
    for seed in range(20, 35):
        assert_same(make_circuit_problem(seed, (9, 8), 5))
