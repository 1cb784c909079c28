"""The tree of a policy costs what it says, and every path of it ends as it should."""

import json
from collections.abc import Callable

import pytest

from grader.policy import Policy, solve_problem
from grader.problem import Problem, Suspect
from tests.grader.policyparts import exact, tree_cost

Draw = Callable[..., Problem]


@pytest.mark.parametrize("nodes", [None, 0, 3])
def test_the_tree_costs_what_it_says(nodes: int | None, draw_small_problem: Draw) -> None:
    for seed in range(80):
        problem = draw_small_problem(seed)
        result = solve_problem(problem, nodes)
        assert json.loads(json.dumps(result, allow_nan=False)) == result
        policy = Policy(problem)
        total = sum(suspect.weight for suspect in problem.suspects)
        cost = tree_cost(policy, result["tree"], (policy.everything, 0, 0)) / total
        assert result["value"] == result["upper"] == pytest.approx(cost, abs=1e-9)
        value = exact(policy.value(policy.everything))
        assert result["lower"] <= value + 1e-9
        assert result["value"] >= value - 1e-9
        if nodes is None:
            assert result["lower"] == result["upper"]


def test_a_problem_with_nothing_to_do_has_no_first_step() -> None:
    result = solve_problem(Problem((Suspect("only", 3.0),), ()))
    assert result == {
        "format": "policy",
        "version": 1,
        "value": 0.0,
        "lower": 0.0,
        "upper": 0.0,
        "first": None,
        "tree": {"suspects": ["only"], "expected": 0.0},
    }
