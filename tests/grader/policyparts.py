"""Bits of suspects, and exact values: what tests of the policy share."""

import pytest

from grader.policy import Bounds, Policy
from grader.problem import Problem


def exact(bounds: Bounds) -> float:
    assert bounds.lower == pytest.approx(bounds.upper, rel=1e-9, abs=1e-12)
    return bounds.upper


def members(suspects: int) -> list[int]:
    return [s for s in range(suspects.bit_length()) if suspects >> s & 1]


def split(problem: Problem, suspects: int, index: int) -> list[int]:
    parts: dict[str, int] = {}
    for s in members(suspects):
        label = problem.tests[index].outcomes[s]
        parts[label] = parts.get(label, 0) | 1 << s
    return list(parts.values())


def tree_cost(policy: Policy, tree: dict, state: tuple[int, int, int]) -> float:
    """Work a tree's expected minutes times weight out from the problem alone."""
    problem = policy.problem
    suspects, opened, here = state
    weight = sum(problem.suspects[s].weight for s in members(suspects))
    if "test" in tree:
        index = [test.name for test in problem.tests].index(tree["test"])
        after = policy.places_after(index, opened, here)
        assert tree["minutes"] == policy.price_of_test(suspects, index, opened, here)
        cost = tree["minutes"] * weight
        for part in split(problem, suspects, index):
            label = problem.tests[index].outcomes[members(part)[0]]
            cost += tree_cost(policy, tree["outcomes"][label], (part, *after))
        return cost
    if "replace" in tree:
        held = [s for s in members(suspects) if problem.suspects[s].unit == tree["replace"]]
        rest = suspects & ~sum(1 << s for s in held)
        assert tree["right"]["suspects"] == [problem.suspects[s].name for s in held]
        wrong = tree["minutes"] * sum(problem.suspects[s].weight for s in members(rest))
        return wrong + tree_cost(policy, tree["wrong"], (rest, opened, here))
    assert tree["suspects"] == [problem.suspects[s].name for s in members(suspects)]
    if problem.units:
        assert {problem.suspects[s].unit for s in members(suspects)} == {tree["unit"]}
    else:
        assert all(len(split(problem, suspects, t)) == 1 for t in range(len(problem.tests)))
    return 0.0
