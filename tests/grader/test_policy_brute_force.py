"""The policy engine against brute force over all policies, on hundreds of small problems."""

import math
import random
from collections.abc import Callable
from typing import Protocol

import numpy as np
import pytest

from grader.outlook import action_number, look
from grader.policy import Bounds, Policy
from grader.problem import Problem, Test, Unit
from grader.search import Search
from grader.tables import Order, make_tables

Draw = Callable[[int], Problem]
After = tuple[float, list[tuple]]
BLOCKS = range(16)
EACH = 50


def names(problem: Problem, places: int) -> frozenset[str]:
    return frozenset(place.name for g, place in enumerate(problem.places) if places >> g & 1)


def random_state(rng: random.Random, problem: Problem) -> tuple[int, int, int]:
    suspects = rng.randrange(1, 1 << len(problem.suspects))
    here = rng.randrange(1 << len(problem.places)) & rng.randrange(1 << len(problem.places))
    return suspects, here | rng.randrange(1 << len(problem.places)), here


def named(problem: Problem, state: tuple[int, int, int]) -> tuple:
    suspects, opened, here = state
    left = frozenset(s for s in range(len(problem.suspects)) if suspects >> s & 1)
    return left, names(problem, opened), names(problem, here)


def agree(bounds: Bounds, exact: float) -> bool:
    slip = 1e-9 * max(1.0, exact)
    return abs(bounds.lower - exact) <= slip and abs(bounds.upper - exact) <= slip


@pytest.mark.parametrize("block", BLOCKS)
def test_value_and_quality_are_those_of_brute_force(
    block: int, draw_small_problem: Draw, brute_force: type
) -> None:
    for seed in range(block * EACH, (block + 1) * EACH):
        problem = draw_small_problem(seed)
        rng = random.Random(seed)  # noqa: S311
        brute = brute_force(problem)
        policy = Policy(problem)
        states = [(policy.everything, 0, 0), *(random_state(rng, problem) for _ in range(3))]
        for state in states:
            exact = named(problem, state)
            weight = brute.weight(exact[0])
            assert agree(policy.value(*state), brute.least(exact) / weight), (seed, state)
            for index, test in enumerate(problem.tests):
                quality = brute.quality(brute.after_test(test, exact)) / weight
                assert agree(policy.quality_of_test(*state, index), quality), (seed, state, test)
            for index, unit in enumerate(problem.units):
                quality = brute.quality(brute.after_replacing(unit, exact)) / weight
                found = policy.quality_of_replacement(*state, index)
                assert agree(found, quality), (seed, state, unit)


@pytest.mark.parametrize("block", range(6))
def test_tests_that_separate_nothing_never_pay(
    block: int, draw_small_problem: Draw, brute_force: type
) -> None:
    # They may move the hands; the engine leaves them out, brute force tries them here.
    for seed in range(1000 + block * 20, 1020 + block * 20):
        problem = draw_small_problem(seed)
        brute = brute_force(problem, idle=True)
        policy = Policy(problem)
        state = random_state(random.Random(seed), problem)  # noqa: S311
        exact = named(problem, state)
        value = brute.least(exact) / brute.weight(exact[0])
        assert agree(policy.value(*state), value), (seed, state)


@pytest.mark.parametrize("nodes", [0, 1, 3, 1000])
def test_bounds_under_a_budget_are_honest(
    nodes: int, draw_small_problem: Draw, brute_force: type
) -> None:
    gaps = 0
    for seed in range(2000, 2150):
        problem = draw_small_problem(seed)
        state = ((1 << len(problem.suspects)) - 1, 0, 0)
        exact = named(problem, state)
        brute = brute_force(problem)
        value = brute.least(exact) / brute.weight(exact[0])
        bounds = Policy(problem, nodes=nodes).value(*state)
        assert bounds.lower <= value + 1e-9, (seed, state)
        assert bounds.upper >= value - 1e-9, (seed, state)
        gaps += bounds.lower < bounds.upper
    assert (gaps > 0) == (nodes < 100)  # so the budgets do bind, and are enough in the end


def test_one_look_bounds_every_action(draw_small_problem: Draw, brute_force: type) -> None:
    # The pair dual by itself, before any search: each bound is at most the exact quality.
    met = seen = 0
    for seed in range(3000, 3300):
        problem = draw_small_problem(seed)
        brute = brute_force(problem)
        tables, order = make_tables(problem)
        search = Search(tables)
        left, opened, here = exact = named(problem, random_state(random.Random(seed), problem))  # noqa: S311
        if brute.done(left):
            continue
        rows = sorted(order.suspects.index(suspect) for suspect in left)
        places = [[problem.places[g].name for g in order.places].index(name) for name in opened]
        hands = [[problem.places[g].name for g in order.places].index(name) for name in here]
        row = search.enter(np.array(rows), bits(places), bits(hands))
        outlook = look(tables, search.states, row, search.all_tests)
        heaviest = max(suspect.weight for suspect in problem.suspects)
        assert search.states.lower[row] * heaviest <= brute.least(exact) * (1.0 + 1e-9), seed
        for action, bound in enumerate(outlook.bound * heaviest):
            after = step(problem, brute, order, int(action_number(outlook, action)), exact)
            if after is None:
                assert bound == math.inf
                continue
            quality = brute.quality(after)
            assert bound <= quality * (1.0 + 1e-9), (seed, action)
            met += bound >= quality * (1.0 - 1e-9)
            seen += 1
    assert met > 0.3 * seen  # good bounds, not just true ones


class Brute(Protocol):
    """What is used of the brute force here."""

    def after_test(self, test: Test, state: tuple) -> After: ...

    def after_replacing(self, unit: Unit, state: tuple) -> After: ...


def step(problem: Problem, brute: Brute, order: Order, action: int, state: tuple) -> After | None:
    """Take an action of the engine by brute force; None for a unit that cannot be replaced."""
    if action >= 0:
        return brute.after_test(problem.tests[order.tests[action]], state)
    if problem.units:
        return brute.after_replacing(problem.units[order.units[-2 - action]], state)
    return None


def bits(numbers: list[int]) -> int:
    return sum(1 << number for number in numbers)
