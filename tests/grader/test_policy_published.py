"""The policy engine against values from outside: published ones, and older theory."""

import heapq
import itertools
import math
import random

import pytest

from grader.policy import Policy, solve_problem
from grader.problem import Problem, Suspect, Test, Unit


def huffman(weights: list[float]) -> float:
    """Least expected number of yes-no questions, any question allowed (Huffman 1952)."""
    heap = list(weights)
    heapq.heapify(heap)
    total = 0.0
    while len(heap) > 1:
        merged = heapq.heappop(heap) + heapq.heappop(heap)
        total += merged
        heapq.heappush(heap, merged)
    return total / math.fsum(weights)


def all_questions(count: int, minutes: float = 1.0) -> tuple[Test, ...]:
    """Give every way to split in two."""
    return tuple(
        Test(f"q{bits}", minutes, tuple(str(bits >> k & 1) for k in range(count)))
        for bits in range(1, 2 ** (count - 1))
    )


def chain(count: int) -> Problem:
    """Equal suspects along one path, a probe between any two neighbours."""
    suspects = tuple(Suspect(f"joint {k}", 1.0) for k in range(count))
    probes = tuple(
        Test(f"probe {cut}", 1.0, tuple("live" if k >= cut else "dead" for k in range(count)))
        for cut in range(1, count)
    )
    return Problem(suspects, probes)


@pytest.mark.parametrize("seed", range(12))
def test_with_every_question_at_one_price_the_value_is_huffmans(seed: int) -> None:
    # Huffman, "A method for the construction of minimum-redundancy codes", Proc. IRE 40(9), 1952.
    rng = random.Random(seed)  # noqa: S311
    weights = [rng.random() ** 3 + 0.01 for _ in range(2 + seed % 5)]
    suspects = tuple(Suspect(f"s{k}", weight) for k, weight in enumerate(weights))
    policy = Policy(Problem(suspects, all_questions(len(weights), minutes=0.7)))
    assert policy.value(policy.everything).upper == pytest.approx(0.7 * huffman(weights), rel=1e-9)


@pytest.mark.parametrize("seed", range(20))
def test_with_fewer_questions_the_value_is_not_below_huffmans(seed: int) -> None:
    rng = random.Random(seed)  # noqa: S311
    weights = [rng.random() + 0.01 for _ in range(6)]
    some = tuple(rng.sample(all_questions(6), 8))
    whole = (
        *some,
        *(Test(f"only {k}", 1.0, tuple("01"[k == j] for j in range(6))) for k in range(6)),
    )
    problem = Problem(tuple(Suspect(f"s{k}", w) for k, w in enumerate(weights)), whole)
    policy = Policy(problem)
    assert policy.value(policy.everything).lower >= huffman(weights) * (1.0 - 1e-12)


@pytest.mark.parametrize(
    ("count", "mean"),
    # Arithmetic: a uniform chain halved; 2**k suspects take exactly k tests.
    [(2, 1.0), (4, 2.0), (5, 12 / 5), (8, 3.0), (16, 4.0), (32, 5.0), (64, 6.0), (128, 7.0)],
)
def test_a_uniform_chain_is_halved(count: int, mean: float) -> None:
    policy = Policy(chain(count))
    bounds = policy.value(policy.everything)
    assert bounds.upper == pytest.approx(mean, rel=1e-9)
    assert bounds.lower == bounds.upper


@pytest.mark.parametrize("count", [5, 8, 16])
def test_halving_never_takes_more_than_the_logarithm(count: int) -> None:
    def deepest(tree: dict) -> int:
        return 1 + max(map(deepest, tree["outcomes"].values())) if "outcomes" in tree else 0

    assert deepest(solve_problem(chain(count))["tree"]) == math.ceil(math.log2(count))


def test_the_example_of_pattipati_and_alexandridis() -> None:
    # Pattipati & Alexandridis, IEEE Trans. SMC 20(4), 1990: six system states, five tests.
    # Matrix from memory; least expected number of tests 2.18, first test t2.
    signatures = ["00000", "01001", "00110", "10011", "11000", "11110"]
    likelihoods = [0.70, 0.01, 0.02, 0.10, 0.05, 0.12]
    problem = Problem(
        tuple(Suspect(f"s{k}", p) for k, p in enumerate(likelihoods)),
        tuple(Test(f"t{k + 1}", 1.0, tuple(s[k] for s in signatures)) for k in range(5)),
    )
    result = solve_problem(problem)
    assert result["value"] == pytest.approx(2.18, abs=1e-9)
    assert result["lower"] == result["upper"] == result["value"]
    assert result["first"] == "t2"
    policy = Policy(problem)
    assert policy.quality_of_test(policy.everything, 0, 0, 1).upper == pytest.approx(2.18, abs=1e-9)
    assert policy.best(policy.everything).name == "t2"


@pytest.mark.parametrize("single", [0.1, 0.01, 0.001])
def test_the_polybox_of_de_kleer_and_williams(single: float) -> None:
    # de Kleer & Williams, "Diagnosing multiple faults", Artificial Intelligence 32, 1987: inputs
    # A=3 B=2 C=2 D=3 E=3, outputs F=10 (12 expected) and G=12. Circuit from memory: X = A C,
    # Y = B D, Z = C E, F = X + Y by A1, G = Y + Z by A2. Minimal candidates [M1], [A1], [M2, M3]
    # and [M2, A2]; each leaves one value for every probe that fits both outputs. Best probe: X.
    candidates = {
        "M1": (single, {"X": 4, "Y": 6, "Z": 6}),
        "A1": (single, {"X": 6, "Y": 6, "Z": 6}),
        "M2, M3": (single**2, {"X": 6, "Y": 4, "Z": 8}),
        "M2, A2": (single**2, {"X": 6, "Y": 4, "Z": 6}),
    }
    problem = Problem(
        tuple(Suspect(name, weight) for name, (weight, _) in candidates.items()),
        tuple(
            Test(probe, 1.0, tuple(str(values[probe]) for _, values in candidates.values()))
            for probe in "XYZ"
        ),
    )
    result = solve_problem(problem)
    assert result["first"] == "X"
    # X, then Y unless X tells M1, then Z for the pairs: one probe each for all, and so on.
    whole = 2 * single + 2 * single**2
    expected = (whole + single + 2 * single**2 + 2 * single**2) / whole
    assert result["value"] == pytest.approx(expected, rel=1e-12)


@pytest.mark.parametrize(("count", "checks"), [(5, 3), (8, 3), (11, 4), (16, 4), (20, 5)])
def test_half_splitting_takes_the_checks_of_the_army_course(count: int, checks: int) -> None:
    # Half-split on a linear path, US Army Intelligence Center subcourse IT0338 ed. A, May 1996:
    # each check halves what is between the brackets. The counts are ceil(log2 n), arithmetic.
    def deepest(tree: dict) -> int:
        return 1 + max(map(deepest, tree["outcomes"].values())) if "outcomes" in tree else 0

    assert deepest(solve_problem(chain(count))["tree"]) == checks


def bracketed(good: str, bad: str) -> Problem:
    """Give a linear path between brackets: good at one point, bad at a later one."""
    points = [chr(code) for code in range(ord(good), ord(bad) + 1)]
    stages = [f"{one}-{two}" for one, two in itertools.pairwise(points)]
    checks = tuple(
        Test(point, 1.0, tuple("bad" if place < cut else "good" for place in range(len(stages))))
        for cut, point in enumerate(points[1:-1], start=1)
    )
    return Problem(tuple(Suspect(stage, 1.0) for stage in stages), checks)


@pytest.mark.parametrize(
    ("good", "bad", "check"), [("A", "H", "D"), ("E", "I", "G"), ("E", "J", "G")]
)
def test_the_brackets_of_the_army_course_are_checked_in_their_middle(
    good: str, bad: str, check: str
) -> None:
    # Same course, frames 9 and 10: at or just before the midpoint of the brackets; first check at
    # D, and with the left bracket moved to E the next one at G. Right brackets are ours, so that no
    # other check is as good: of six stages two and four take as many checks as three and three.
    assert solve_problem(bracketed(good, bad))["first"] == check


def first_tests(tree: dict) -> set[str]:
    """Give the names of all tests in a tree."""
    below = [first_tests(one) for one in tree.get("outcomes", {}).values()]
    return {tree["test"]}.union(*below) if "test" in tree else set()


def test_on_a_divergent_path_any_one_other_output_tells_all() -> None:
    # Same course, frame 16: on a divergent path check any output. One stage feeds three, the first
    # of which is bad: the other two outputs tell the same, so one of them is checked, never both.
    suspects = tuple(Suspect(name, 1.0) for name in ("common 1", "common 2", "own 1", "own 2"))
    other = ("bad", "bad", "good", "good")
    within = (
        Test("between common 1 and 2", 1.0, ("bad", "good", "good", "good")),
        Test("between own 1 and 2", 1.0, ("bad", "bad", "bad", "good")),
    )
    outputs = (Test("output 2", 1.0, other), Test("output 3", 1.0, other))
    both, one = (solve_problem(Problem(suspects, (*within, *outputs[:n]))) for n in (2, 1))
    assert both["value"] == one["value"] == pytest.approx(2.0)
    assert both["first"] == "output 2"
    assert "output 3" not in first_tests(both["tree"])


def test_on_a_convergent_path_each_input_is_checked() -> None:
    # Same course, frame 16: on a convergent path check each input. With the stage itself in
    # question too, each of three inputs is checked on some way to a cause.
    names = ("input 1", "input 2", "input 3")
    suspects = tuple(Suspect(name, 1.0) for name in (*names, "stage"))
    checks = tuple(
        Test(name, 1.0, tuple("bad" if name == suspect.name else "good" for suspect in suspects))
        for name in names
    )
    found = solve_problem(Problem(suspects, checks))
    assert first_tests(found["tree"]) == set(names)
    assert found["value"] == pytest.approx((1 + 2 + 3 + 3) / 4)


def replacement_problem(rng: random.Random, count: int) -> Problem:
    units = tuple(Unit(f"u{k}", rng.uniform(1.0, 60.0)) for k in range(count))
    suspects = tuple(
        Suspect(f"s{k}", rng.random() + 0.01, unit.name) for k, unit in enumerate(units)
    )
    return Problem(suspects, (), (), units)


def excess(problem: Problem, order: tuple[int, ...]) -> float:
    """Give the expected minutes of wrong replacements when units go in this order."""
    weights = [suspect.weight for suspect in problem.suspects]
    paid = sum(
        problem.units[unit].minutes * sum(weights[later] for later in order[place + 1 :])
        for place, unit in enumerate(order)
    )
    return paid / sum(weights)


@pytest.mark.parametrize("seed", range(20))
def test_without_tests_units_go_by_likelihood_per_minute(seed: int) -> None:
    # Heckerman, Breese & Rommelse, CACM 38(3), 1995: replacements one after the other go by
    # likelihood / cost, largest first. There every replacement is paid; here only wrong ones, which
    # takes sum p c off every order alike, so the order is the same (checked below).
    problem = replacement_problem(random.Random(seed), 2 + seed % 5)  # noqa: S311
    count = len(problem.units)
    by_ratio = sorted(
        range(count), key=lambda u: problem.units[u].minutes / problem.suspects[u].weight
    )
    value = solve_problem(problem)["value"]
    assert value == pytest.approx(excess(problem, tuple(by_ratio)), rel=1e-9)
    assert value == pytest.approx(
        min(excess(problem, order) for order in itertools.permutations(range(count))), rel=1e-9
    )
    total = sum(suspect.weight for suspect in problem.suspects)
    always_paid = sum(
        problem.units[unit].minutes
        * sum(problem.suspects[later].weight for later in by_ratio[place:])
        for place, unit in enumerate(by_ratio)
    )
    right_ones = sum(problem.units[u].minutes * problem.suspects[u].weight for u in range(count))
    assert value == pytest.approx((always_paid - right_ones) / total, rel=1e-9)


def test_the_tree_without_tests_is_the_ratio_order() -> None:
    problem = replacement_problem(random.Random(99), 40)  # noqa: S311
    by_ratio = sorted(
        range(40), key=lambda u: problem.units[u].minutes / problem.suspects[u].weight
    )
    tree = solve_problem(problem)["tree"]
    replaced = []
    while "replace" in tree:
        replaced.append(tree["replace"])
        tree = tree["wrong"]
    assert replaced == [f"u{u}" for u in by_ratio[:-1]]
    assert tree["unit"] == f"u{by_ratio[-1]}"
