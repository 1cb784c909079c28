"""Drawn problems: V is brute force's over all policies; bounds are honest; luck cancels out.

hypothesis draws up to seven suspects and eight tests of two to four outcomes: unequal likelihoods
and minutes, repair units that may be called wrongly, places that have to be reached first. The
brute force of `conftest` tries every action in every state.
"""

import math
import random
from collections.abc import Callable, Iterator

import pytest
from hypothesis import HealthCheck, given, settings
from hypothesis import strategies as st

from grader.policy import Bounds, Policy
from grader.problem import Place, Problem, Suspect, Test, Unit

PRICES = st.sampled_from([0.0, 0.2, 0.5, 1.0, 1.0, 3.0, 9.0]) | st.floats(0.0, 20.0)
WEIGHTS = st.sampled_from([1.0, 1.0, 0.5, 0.1, 1e-3]) | st.floats(1e-3, 1.0)
SLIP = 1e-9
Step = tuple[str, int]
Chooser = Callable[[Policy, int, int, int], Step]


@st.composite
def problems(draw: st.DrawFn) -> Problem:
    reach = draw(st.lists(st.tuples(PRICES, st.floats(0.0, 1.0)), max_size=3))
    places = tuple(Place(f"place {g}", m, m * share) for g, (m, share) in enumerate(reach))
    names = [place.name for place in places]
    there = st.lists(st.sampled_from(names), unique=True).map(tuple) if names else st.just(())
    units = tuple(
        Unit(f"unit {u}", draw(PRICES), draw(there)) for u in range(draw(st.integers(0, 4)))
    )
    count = draw(st.integers(2, 7))
    kinds = draw(st.integers(2, 4))
    labels = st.lists(st.sampled_from("abcd"[:kinds]), min_size=count, max_size=count).map(tuple)
    tests = tuple(
        Test(f"test {t}", draw(PRICES), draw(labels), draw(there))
        for t in range(draw(st.integers(0 if units else 1, 8)))
    )
    owner = st.sampled_from([unit.name for unit in units]) if units else st.none()
    suspects = tuple(Suspect(f"suspect {s}", draw(WEIGHTS), draw(owner)) for s in range(count))
    return Problem(suspects, tests, places, units)


def brute_value(brute_force: type, problem: Problem) -> float:
    brute = brute_force(problem)
    left = frozenset(range(len(problem.suspects)))
    return float(brute.least((left, frozenset(), frozenset())) / brute.weight(left))


def check_value(brute_force: type, problem: Problem) -> None:
    exact = brute_value(brute_force, problem)
    bounds = Policy(problem).value((1 << len(problem.suspects)) - 1)
    assert bounds.lower == pytest.approx(exact, rel=SLIP, abs=SLIP)
    assert bounds.upper == pytest.approx(exact, rel=SLIP, abs=SLIP)
    assert bounds.lower == bounds.upper  # to the last bit, where it is exact


def many(examples: int) -> settings:
    calm = [HealthCheck.function_scoped_fixture, HealthCheck.too_slow]
    return settings(
        max_examples=examples, deadline=None, derandomize=True, suppress_health_check=calm
    )


@many(150)
@given(problem=problems())
def test_the_value_is_that_of_brute_force(brute_force: type, problem: Problem) -> None:
    check_value(brute_force, problem)


@pytest.mark.long
@many(4000)
@given(problem=problems())
def test_the_value_is_that_of_brute_force_thousands(brute_force: type, problem: Problem) -> None:
    check_value(brute_force, problem)


@many(60)
@given(problem=problems(), nodes=st.integers(0, 6))
def test_bounds_at_a_budget_are_honest(brute_force: type, problem: Problem, nodes: int) -> None:
    exact = brute_value(brute_force, problem)
    bounds = Policy(problem, nodes=nodes).value((1 << len(problem.suspects)) - 1)
    assert bounds.lower <= exact + SLIP * max(1.0, exact)
    assert bounds.upper >= exact - SLIP * max(1.0, exact)
    assert bounds.lower <= bounds.upper


# -- steps, regret and luck


def steps(policy: Policy, left: int) -> list[Step]:
    """List what may be done with these suspects left: what tells or mends something."""
    problem = policy.problem
    known = [k for k in range(len(problem.suspects)) if left >> k & 1]
    found = [
        ("test", index)
        for index, test in enumerate(problem.tests)
        if len({test.outcomes[k] for k in known}) > 1
    ]
    held = {problem.suspects[k].unit for k in known}
    return found + [("replace", u) for u, unit in enumerate(problem.units) if unit.name in held]


def done(policy: Policy, left: int) -> bool:
    """Tell whether nothing is left to do: one unit, or nothing that tells anything."""
    if policy.problem.units:
        held = {s.unit for k, s in enumerate(policy.problem.suspects) if left >> k & 1}
        return len(held) == 1
    return not steps(policy, left)


def quality(policy: Policy, step: Step, state: tuple[int, int, int]) -> Bounds:
    kind, index = step
    if kind == "test":
        return policy.quality_of_test(*state, index)
    return policy.quality_of_replacement(*state, index)


def walk(policy: Policy, choose: Chooser, truth: int) -> Iterator[tuple[float, float]]:
    """Give what each step really took, and its regret, where `truth` is the cause."""
    problem = policy.problem
    state = (policy.everything, 0, 0)
    while not done(policy, state[0]):
        left, opened, here = state
        step = choose(policy, *state)
        regret = quality(policy, step, state).upper - policy.value(*state).upper
        kind, index = step
        if kind == "replace":
            unit = problem.units[index]
            if problem.suspects[truth].unit == unit.name:
                yield 0.0, regret
                return
            yield unit.minutes, regret
            rest = [
                k
                for k, suspect in enumerate(problem.suspects)
                if left >> k & 1 and suspect.unit != unit.name
            ]
            state = (sum(1 << k for k in rest), opened, here)
            continue
        test = problem.tests[index]
        yield policy.price_of_test(1 << truth, index, opened, here), regret
        same = [
            k
            for k in range(len(problem.suspects))
            if left >> k & 1 and test.outcomes[k] == test.outcomes[truth]
        ]
        state = (sum(1 << k for k in same), *policy.places_after(index, opened, here))


def best(policy: Policy, left: int, opened: int, here: int) -> Step:
    choice = policy.best(left, opened, here, slack=0.0)
    assert choice.index is not None
    return choice.kind, choice.index


def drawn(seed: int) -> Chooser:
    """Choose by lot, the same whenever in the same state, as a policy does."""

    def choose(policy: Policy, *state: int) -> Step:
        lot = random.Random(str((seed, *state)))  # noqa: S311
        return lot.choice(steps(policy, state[0]))

    return choose


def first(policy: Policy, *state: int) -> Step:
    return steps(policy, state[0])[0]


def swapper(policy: Policy, *state: int) -> Step:
    return steps(policy, state[0])[-1]


def luck_free(policy: Policy, choose: Chooser) -> tuple[float, list[float]]:
    """Give the sum of p (cost - regret) over all suspects, and every regret."""
    whole = math.fsum(suspect.weight for suspect in policy.problem.suspects)
    total, regrets = 0.0, []
    for truth, suspect in enumerate(policy.problem.suspects):
        for cost, regret in walk(policy, choose, truth):
            total += suspect.weight / whole * (cost - regret)
            regrets.append(regret)
    return total, regrets


def check_luck(problem: Problem) -> None:
    policy = Policy(problem)
    value = policy.value(policy.everything).upper
    slip = SLIP * max(1.0, value)
    total, regrets = luck_free(policy, best)
    assert total == pytest.approx(value, abs=slip)
    assert max(map(abs, regrets), default=0.0) < slip
    for choose in (first, swapper, drawn(1), drawn(2)):
        total, regrets = luck_free(policy, choose)
        assert total == pytest.approx(value, abs=slip)
        assert min(regrets, default=0.0) > -slip


@many(60)
@given(problem=problems())
def test_cost_less_regret_is_the_value_whatever_the_policy(problem: Problem) -> None:
    check_luck(problem)


@pytest.mark.long
@many(2000)
@given(problem=problems())
def test_cost_less_regret_is_the_value_thousands(problem: Problem) -> None:
    check_luck(problem)


@pytest.mark.parametrize("seed", range(3))
def test_luck_cancels_out_on_circuits(
    seed: int, make_circuit_problem: Callable[..., Problem]
) -> None:
    check_luck(make_circuit_problem(seed, (6, 5), 4))


def check_parts(problem: Problem) -> None:
    """Check that going to a test's places first, then taking it, costs what the test does."""
    policy = Policy(problem)
    left = policy.everything
    start = policy.value(left).upper
    for index, test in enumerate(problem.tests):
        opened, here = policy.places_after(index)
        whole = policy.quality_of_test(left, 0, 0, index).upper - start
        way = policy.price_of_test(left, index) - test.minutes
        going = policy.quality_of_split(left, [left], way, opened, here).upper - start
        there = policy.quality_of_test(left, opened, here, index).upper
        taking = there - policy.value(left, opened, here).upper
        assert going + taking == pytest.approx(whole, abs=SLIP * max(1.0, whole))
        assert going > -SLIP * max(1.0, start)


@many(60)
@given(problem=problems())
def test_a_composite_action_and_its_parts_are_alike(problem: Problem) -> None:
    check_parts(problem)
