"""What the policy engine answers: regret adds up, order does not matter, ties, refusals."""

import dataclasses
import math
import random
from collections.abc import Callable, Iterator

import pytest
from hypothesis import given
from hypothesis import strategies as st

from grader.errors import ProblemError
from grader.policy import TIE_MINUTES, Policy, solve_problem
from grader.problem import Place, Problem, Suspect, Test, Unit
from tests.grader.policyparts import exact, members, split, tree_cost

Draw = Callable[..., Problem]


# Regret


@dataclasses.dataclass(frozen=True)
class End:
    """Where one path of a random policy ends."""

    suspects: int
    cost: dict[int, float]
    regret: float


class RandomPolicy:
    """Takes any action at all, good or bad, until nothing is left to do; notes every end."""

    def __init__(self, policy: Policy, rng: random.Random) -> None:
        self.policy = policy
        self.rng = rng

    def ends(self, state: tuple[int, int, int], paid: float, regret: float) -> Iterator[End]:
        policy, problem = self.policy, self.policy.problem
        value = exact(policy.value(*state))
        action = self.choose(state)
        if action is None:
            assert value == 0.0
            yield End(state[0], dict.fromkeys(members(state[0]), paid), regret)
            return
        kind, index = action
        if kind == "test":
            regret += exact(policy.quality_of_test(*state, index)) - value
            paid += policy.price_of_test(state[0], index, *state[1:])
            after = policy.places_after(index, *state[1:])
            for part in split(problem, state[0], index):
                yield from self.ends((part, *after), paid, regret)
        else:
            regret += exact(policy.quality_of_replacement(*state, index)) - value
            unit = problem.units[index]
            right = sum(1 << s for s in members(state[0]) if problem.suspects[s].unit == unit.name)
            if right:
                yield End(right, dict.fromkeys(members(right), paid), regret)
            if state[0] & ~right:
                rest = (state[0] & ~right, *state[1:])
                yield from self.ends(rest, paid + unit.minutes, regret)

    def choose(self, state: tuple[int, int, int]) -> tuple[str, int] | None:
        """Draw an action: often a useless one, but not for ever."""
        problem = self.policy.problem
        units = {problem.suspects[s].unit for s in members(state[0])}
        useful = [
            ("test", index)
            for index in range(len(problem.tests))
            if len(split(problem, state[0], index)) > 1
        ]
        if len(units) == 1 and (problem.units or not useful):
            return None
        useful += [("replace", u) for u, unit in enumerate(problem.units) if unit.name in units]
        anything = [("test", index) for index in range(len(problem.tests))]
        anything += [("replace", index) for index in range(len(problem.units))]
        return self.rng.choice(anything if self.rng.random() < 0.3 else useful)


@pytest.mark.parametrize("seed", range(60))
def test_cost_less_regret_is_the_value_whatever_the_policy(
    seed: int, draw_small_problem: Draw
) -> None:
    problem = draw_small_problem(seed)
    policy = Policy(problem)
    walker = RandomPolicy(policy, random.Random(seed))  # noqa: S311
    total = math.fsum(suspect.weight for suspect in problem.suspects)
    balance = math.fsum(
        problem.suspects[s].weight * (cost - end.regret)
        for end in walker.ends((policy.everything, 0, 0), 0.0, 0.0)
        for s, cost in end.cost.items()
    )
    assert balance / total == pytest.approx(exact(policy.value(policy.everything)), abs=1e-9)


@pytest.mark.parametrize("seed", range(40))
def test_no_action_beats_the_value(seed: int, draw_small_problem: Draw) -> None:
    problem = draw_small_problem(seed)
    policy = Policy(problem)
    value = exact(policy.value(policy.everything))
    actions = [
        policy.quality_of_test(policy.everything, 0, 0, t) for t in range(len(problem.tests))
    ]
    actions += [
        policy.quality_of_replacement(policy.everything, 0, 0, u) for u in range(len(problem.units))
    ]
    assert all(exact(quality) >= value - 1e-9 for quality in actions)
    choice = policy.best(policy.everything)
    if choice.kind == "done":
        assert value == 0.0
    else:
        assert value - 1e-9 <= exact(choice.quality) <= value + TIE_MINUTES + 1e-9
        assert min(exact(quality) for quality in actions) == pytest.approx(value, abs=1e-9)


def test_a_composite_action_scores_as_its_small_ones() -> None:
    # Reaching a place is part of the next test there, or a step of its own without a reading.
    problem = Problem(
        tuple(Suspect(f"s{k}", 1.0) for k in range(4)),
        (Test("left", 1.0, tuple("0011"), ("boot",)), Test("right", 1.0, tuple("0101"))),
        (Place("boot", 3.0),),
    )
    policy = Policy(problem)
    whole = policy.everything
    composite = exact(policy.quality_of_test(whole, 0, 0, 0)) - exact(policy.value(whole))
    reach = exact(policy.quality_of_split(whole, [whole], 3.0, 1, 1)) - exact(policy.value(whole))
    taken = exact(policy.quality_of_test(whole, 1, 1, 0)) - exact(policy.value(whole, 1, 1))
    assert composite == pytest.approx(reach + taken, abs=1e-9)


# The order in which a problem is written


@given(seed=st.integers(0, 5000), shuffle=st.randoms(use_true_random=False))
def test_the_order_of_writing_does_not_matter(
    draw_small_problem: Draw, seed: int, shuffle: random.Random
) -> None:
    problem = draw_small_problem(seed)
    other, suspects, places = reordered(problem, shuffle)
    policy, again = Policy(problem), Policy(other)
    state = random_bits(shuffle, len(suspects)), random_bits(shuffle, len(places))
    moved = moved_bits(state[0], suspects), moved_bits(state[1], places)
    for nodes in (None, 2):
        policy, again = Policy(problem, nodes=nodes), Policy(other, nodes=nodes)
        one, two = policy.value(*state, state[1]), again.value(*moved, moved[1])
        assert one.lower == pytest.approx(two.lower, abs=1e-9)
        assert one.upper == pytest.approx(two.upper, abs=1e-9)
        first, second = policy.best(*state, state[1]), again.best(*moved, moved[1])
        assert (first.kind, first.name) == (second.kind, second.name)


def reordered(problem: Problem, shuffle: random.Random) -> tuple[Problem, list[int], list[int]]:
    suspects = shuffle.sample(range(len(problem.suspects)), len(problem.suspects))
    places = shuffle.sample(range(len(problem.places)), len(problem.places))
    tests = shuffle.sample(problem.tests, len(problem.tests))
    other = Problem(
        tuple(problem.suspects[s] for s in suspects),
        tuple(
            dataclasses.replace(test, outcomes=tuple(test.outcomes[s] for s in suspects))
            for test in tests
        ),
        tuple(problem.places[g] for g in places),
        tuple(shuffle.sample(problem.units, len(problem.units))),
    )
    return other, suspects, places


def random_bits(rng: random.Random, count: int) -> int:
    return rng.randrange(1, 1 << count) if count else 0


def moved_bits(old: int, order: list[int]) -> int:
    return sum(1 << new for new, index in enumerate(order) if old >> index & 1)


@pytest.mark.parametrize("factor", [1e-30, 3.0, 1e30])
def test_a_common_factor_of_the_likelihoods_does_not_matter(
    factor: float, draw_small_problem: Draw
) -> None:
    for seed in range(20):
        problem = draw_small_problem(seed)
        scaled = tuple(dataclasses.replace(s, weight=s.weight * factor) for s in problem.suspects)
        other = dataclasses.replace(problem, suspects=scaled)
        assert solve_problem(other)["value"] == pytest.approx(solve_problem(problem)["value"])


def test_asking_again_and_asking_other_things_first_gives_the_same(
    draw_small_problem: Draw,
) -> None:
    for seed in range(30):
        problem = draw_small_problem(seed)
        policy, fresh = Policy(problem), Policy(problem)
        for suspects in range(policy.everything, 0, -1):
            policy.value(suspects)
        for suspects in range(1, policy.everything + 1):
            assert policy.value(suspects).upper == pytest.approx(
                fresh.value(suspects).upper, rel=1e-9
            )


# Special forms


@pytest.mark.parametrize("seed", range(0, 40, 2))
def test_when_coming_back_is_free_the_place_of_the_hands_does_not_matter(
    seed: int, draw_small_problem: Draw
) -> None:
    problem = draw_small_problem(seed + 1)
    free = tuple(dataclasses.replace(place, again=0.0) for place in problem.places)
    policy = Policy(dataclasses.replace(problem, places=free))
    for opened in range(1 << len(free)):
        values = {
            round(exact(policy.value(policy.everything, opened, here)), 12)
            for here in range(1 << len(free))
            if here & ~opened == 0
        }
        assert len(values) == 1


def test_where_the_hands_are_counts_as_reached() -> None:
    places = (Place("hood", 5.0, 1.0), Place("dash", 2.0, 2.0))
    tests = (Test("a", 1.0, ("0", "1"), ("hood",)), Test("b", 1.5, ("0", "1"), ("hood", "dash")))
    policy = Policy(Problem((Suspect("x", 1.0), Suspect("y", 1.0)), tests, places))
    assert policy.price_of_test(0b11, 1, 0, 0) == 8.5
    assert policy.price_of_test(0b11, 1, 1, 0) == 4.5
    assert policy.price_of_test(0b11, 1, 1, 1) == 3.5
    assert policy.places_after(0, 0b10, 0b10) == (0b11, 0b01)
    assert exact(policy.value(0b11)) == 6.0
    assert exact(policy.value(0b11, 0, 1)) == 1.0
    assert exact(policy.value(0b11, 1, 0)) == 2.0


def test_a_test_elsewhere_is_not_cheaper_if_the_hands_must_come_back() -> None:
    # Two ways to the same split: 0.2 at a near place, 0.3 where no place matters. The hands are at
    # the far place, where in two cases of three another test is then needed: coming back costs 5.
    problem = Problem(
        tuple(Suspect(f"s{k}", 1.0) for k in range(3)),
        (
            Test("near", 0.1, tuple("011"), ("near",)),
            Test("anywhere", 0.3, tuple("011")),
            Test("far", 4.0, tuple("001"), ("far",)),
        ),
        (Place("far", 6.0, 5.0), Place("near", 0.2, 0.1)),
    )
    policy = Policy(problem)
    state = 0b111, 0b11, 0b01
    assert exact(policy.value(*state)) == pytest.approx(0.3 + 2 / 3 * 4.0)
    assert exact(policy.quality_of_test(*state, 0)) == pytest.approx(0.2 + 2 / 3 * (5.0 + 4.0))
    assert exact(policy.quality_of_test(*state, 2)) == pytest.approx(4.0 + 2 / 3 * 0.2)


def test_suspects_that_no_test_separates_are_one() -> None:
    problem = Problem(
        (Suspect("a", 1.0), Suspect("b", 2.0), Suspect("c", 1.0)),
        (Test("t", 2.0, ("0", "0", "1")), Test("blank", 0.0, ("x", "x", "x"))),
    )
    policy = Policy(problem)
    assert exact(policy.value(0b111)) == 2.0
    assert exact(policy.value(0b011)) == 0.0
    assert policy.best(0b011).kind == "done"
    # A reading that is not on the list may separate them all the same.
    assert exact(policy.quality_of_split(0b111, [0b101, 0b010], 1.0, 0, 0)) == 1.0 + 0.5 * 2.0


def test_a_unit_without_the_cause_is_paid_in_full() -> None:
    units = (Unit("fuse", 5.0), Unit("relay", 20.0), Unit("lamp", 8.0))
    suspects = (Suspect("a", 1.0, "fuse"), Suspect("b", 1.0, "relay"))
    policy = Policy(Problem(suspects, (), (), units))
    assert exact(policy.value(0b11)) == 2.5
    assert exact(policy.quality_of_replacement(0b11, 0, 0, 0)) == 2.5
    assert exact(policy.quality_of_replacement(0b11, 0, 0, 1)) == 10.0
    assert exact(policy.quality_of_replacement(0b11, 0, 0, 2)) == 8.0 + 2.5
    assert exact(policy.quality_of_replacement(0b01, 0, 0, 0)) == 0.0
    choice = policy.best(0b11)
    assert (choice.kind, choice.index, choice.name) == ("replace", 0, "fuse")


# What is shown


def test_of_nearly_equal_tests_the_one_with_less_handling_is_shown() -> None:
    problem = Problem(
        (Suspect("a", 1.0), Suspect("b", 1.0)),
        (
            Test("best", 1.0, ("0", "1"), ()),
            Test("far", 0.2, ("0", "1"), ("boot",)),
            Test("alike", 1.0, ("1", "0"), ()),
        ),
        (Place("boot", 0.85),),
    )
    policy = Policy(problem)
    assert exact(policy.value(0b11)) == 1.0
    assert policy.best(0b11).name == "far"
    assert exact(policy.best(0b11).quality) == pytest.approx(1.05)
    assert policy.best(0b11, slack=0.01).name == "alike"
    assert policy.best(0b11, 1, 0).name == "far"
    assert solve_problem(problem)["first"] == "alike"


def test_the_first_way_to_where_the_cause_is_mended_is_free() -> None:
    """Half of the time the repair goes under the hood anyway; coming back is paid either way."""
    places = (Place("hood", 6.0, 1.0),)
    tests = (Test("a", 1.0, ("0", "1"), ("hood",)),)
    units = (Unit("u", 50.0, ("hood",)), Unit("v", 70.0))
    suspects = (Suspect("x", 1.0, "u"), Suspect("y", 1.0, "v"))
    policy = Policy(Problem(suspects, tests, places, units))
    assert exact(policy.value(0b11)) == 1.0 + 6.0 / 2
    assert exact(policy.value(0b11, 1, 0)) == 1.0 + 1.0
    assert exact(policy.value(0b11, 1, 1)) == 1.0
    assert policy.price_of_test(0b11, 0) == 4.0
    assert policy.price_of_test(0b01, 0) == 1.0
    assert policy.price_of_test(0b10, 0) == 7.0


# Larger problems


@pytest.mark.parametrize("seed", range(6))
def test_a_circuit_sized_problem_is_solved_exactly(seed: int, make_circuit_problem: Draw) -> None:
    problem = make_circuit_problem(seed)
    policy = Policy(problem)
    bounds = policy.value(policy.everything)
    assert bounds.lower == bounds.upper > 0.0
    total = sum(suspect.weight for suspect in problem.suspects)
    cost = tree_cost(policy, policy.tree(policy.everything), (policy.everything, 0, 0))
    assert cost / total == pytest.approx(bounds.upper, rel=1e-9)


@pytest.mark.parametrize("seed", range(3))
def test_a_budget_narrows_the_bounds_of_a_circuit(seed: int, make_circuit_problem: Draw) -> None:
    problem = make_circuit_problem(seed, (14, 12), 6)
    whole = (1 << len(problem.suspects)) - 1
    value = exact(Policy(problem).value(whole))
    widths = []
    for nodes in (0, 30, 100_000):
        bounds = Policy(problem, nodes=nodes).value(whole)
        assert bounds.lower <= value * (1.0 + 1e-9)
        assert bounds.upper >= value * (1.0 - 1e-9)
        widths.append(bounds.upper - bounds.lower)
    assert widths[0] > widths[-1] == 0.0
    assert Policy(problem, nodes=30).value(whole) == Policy(problem, nodes=30).value(whole)


@pytest.mark.parametrize("seed", range(3))
def test_under_a_budget_the_best_known_policy_is_one(seed: int, make_circuit_problem: Draw) -> None:
    problem = make_circuit_problem(seed, (14, 12), 6)
    whole = (1 << len(problem.suspects)) - 1
    first = Policy(problem, nodes=0).value(whole).upper
    policy = Policy(problem, nodes=60)
    upper = policy.value(whole).upper
    assert upper <= first * (1.0 + 1e-9)
    told = policy.tree(whole)["expected"]  # the tree may do better in states behind
    assert told <= upper * (1.0 + 1e-9)


# What is refused


def a_policy() -> Policy:
    units = (Unit("u", 1.0),)
    tests = (Test("t", 1.0, ("0", "1"), ("p",)),)
    suspects = (Suspect("a", 1.0, "u"), Suspect("b", 1.0, "u"))
    return Policy(Problem(suspects, tests, (Place("p", 1.0),), units))


@pytest.mark.parametrize(
    ("ask", "got"),
    [
        (lambda policy: policy.value(0), "suspects: got 0"),
        (lambda policy: policy.value(4), "suspects: got 4"),
        (lambda policy: policy.value(-1), "suspects: got -1"),
        (lambda policy: policy.value(3, 2), "places: got 2"),
        (lambda policy: policy.value(3, 0, -1), "places: got -1"),
        (lambda policy: policy.best(16), "suspects: got 16"),
        (lambda policy: policy.tree(8), "suspects: got 8"),
        (lambda policy: policy.price_of_test(3, 1), "test: got index 1"),
        (lambda policy: policy.quality_of_test(3, 0, 0, -1), "test: got index -1"),
        (lambda policy: policy.quality_of_replacement(3, 0, 0, 1), "unit: got index 1"),
        (lambda policy: policy.quality_of_split(3, [1], 0.0, 0, 0), "parts: 2 is in none"),
        (lambda policy: policy.quality_of_split(3, [3, 1], 0.0, 0, 0), "parts: 1 is empty, over"),
        (lambda policy: policy.quality_of_split(3, [3, 0], 0.0, 0, 0), "parts: 0 is empty"),
    ],
)
def test_a_question_about_what_is_not_there_is_refused(
    ask: Callable[[Policy], object], got: str
) -> None:
    with pytest.raises(ProblemError, match=f"^{got}") as caught:
        ask(a_policy())
    assert "\n" not in str(caught.value)
