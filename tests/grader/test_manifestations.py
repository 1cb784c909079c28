"""Uncertain readings: the posterior is that of a general library, the value that of expectation."""

import functools
import importlib
import itertools
import random
import warnings
from types import ModuleType

import pytest

from grader.errors import ProblemError
from grader.manifestations import DoubtfulTest, Expansion, expand
from grader.policy import Policy
from grader.problem import MOST_SUSPECTS, Problem, Suspect, Test, Unit

LABELS = ("no", "yes", "dim")


@pytest.fixture(scope="module")
def pyagrum() -> ModuleType:
    with warnings.catch_warnings():
        # Its wrapper warns of itself when it is loaded, and crashes where a warning is an error.
        warnings.simplefilter("ignore")
        return importlib.import_module("pyagrum")


def drawn(seed: int) -> tuple[Problem, list[DoubtfulTest]]:
    """Give three to six suspects, a certain test and two doubtful ones."""
    rng = random.Random(seed)  # noqa: S311
    count = rng.randint(3, 6)
    units = [f"unit {rng.randrange(3)}" for _ in range(count)]
    problem = Problem(
        tuple(Suspect(f"s{k}", rng.uniform(0.1, 1.0), units[k]) for k in range(count)),
        (Test("sure", 1.0, tuple(rng.choice(LABELS) for _ in range(count))),),
        units=tuple(Unit(name, rng.uniform(1.0, 20.0)) for name in sorted(set(units))),
    )
    return problem, [
        DoubtfulTest(f"doubtful {t}", rng.uniform(0.2, 2.0), tuple(chances(rng, count)))
        for t in range(2)
    ]


def chances(rng: random.Random, count: int) -> list[dict[str, float]]:
    found = []
    for _ in range(count):
        shown = rng.sample(LABELS, rng.choice([1, 1, 2, 3]))
        cuts = sorted(rng.random() for _ in shown[1:])
        shares = [b - a for a, b in itertools.pairwise([0.0, *cuts, 1.0])]
        found.append(dict(zip(shown, shares, strict=True)))
    return found


def network(pyagrum: ModuleType, problem: Problem, doubtful: list[DoubtfulTest]):
    """Write the same as a Bayes network: a cause, and tests that depend on nothing else."""
    net = pyagrum.BayesNet()
    net.add(pyagrum.LabelizedVariable("cause", "", [s.name for s in problem.suspects]))
    whole = sum(s.weight for s in problem.suspects)
    net.cpt("cause").fillWith([s.weight / whole for s in problem.suspects])
    sure = [[{label: 1.0} for label in test.outcomes] for test in problem.tests]
    for number, rows in enumerate([*sure, *(list(test.chances) for test in doubtful)]):
        net.add(pyagrum.LabelizedVariable(f"t{number}", "", list(LABELS)))
        net.addArc("cause", f"t{number}")
        for suspect, row in zip(problem.suspects, rows, strict=True):
            net.cpt(f"t{number}")[{"cause": suspect.name}] = [row.get(x, 0.0) for x in LABELS]
    return net


@pytest.mark.parametrize("seed", range(25))
def test_the_posterior_is_that_of_pyagrum(seed: int, pyagrum: ModuleType) -> None:
    # pyAgrum's own variable elimination on the same network, for every reading that may come up.
    problem, doubtful = drawn(seed)
    expansion = expand(problem, doubtful)
    net = network(pyagrum, problem, doubtful)
    seen = 0
    for shown in itertools.product((*LABELS, None), repeat=3):
        readings = {t: label for t, label in enumerate(shown) if label is not None}
        if not expansion.left(readings):
            continue
        engine = pyagrum.VariableElimination(net)
        engine.setEvidence({f"t{t}": label for t, label in readings.items()})
        engine.makeInference()
        theirs = engine.posterior("cause").tolist()
        assert expansion.posterior(readings) == pytest.approx(theirs, abs=1e-12)
        seen += 1
    assert seen > 10


def value_by_expectation(problem: Problem, doubtful: list[DoubtfulTest]) -> float:
    """Give V by brute force over what has been read, with chances and no manifestations."""
    tests = [(t.minutes, [{label: 1.0} for label in t.outcomes]) for t in problem.tests]
    tests += [(t.minutes, list(t.chances)) for t in doubtful]
    suspects = problem.suspects

    @functools.cache
    def least(read: frozenset[tuple[int, str]], gone: frozenset[str]) -> float:
        weight = [
            0.0
            if s.unit in gone
            else functools.reduce(
                lambda p, r: p * tests[r[0]][1][k].get(r[1], 0.0), sorted(read), s.weight
            )
            for k, s in enumerate(suspects)
        ]
        held = {s.unit for s, w in zip(suspects, weight, strict=True) if w > 0.0}
        if len(held) < 2:
            return 0.0
        costs = []
        for t, (minutes, rows) in enumerate(tests):
            if t not in {r for r, _ in read}:
                shown = {x for row, w in zip(rows, weight, strict=True) if w > 0.0 for x in row}
                behind = (least(read | {(t, label)}, gone) for label in sorted(shown))
                costs.append(minutes * sum(weight) + sum(behind))
        for unit in problem.units:
            if unit.name in held:
                away = sum(w for s, w in zip(suspects, weight, strict=True) if s.unit != unit.name)
                costs.append(unit.minutes * away + least(read, gone | {unit.name}))
        return min(costs)

    return least(frozenset(), frozenset()) / sum(s.weight for s in suspects)


@pytest.mark.parametrize("seed", range(40))
def test_the_value_is_the_expectation_over_what_may_be_read(seed: int) -> None:
    problem, doubtful = drawn(seed)
    policy = Policy(expand(problem, doubtful).problem)
    exact = value_by_expectation(problem, doubtful)
    assert policy.value(policy.everything).upper == pytest.approx(exact, rel=1e-9, abs=1e-12)


def test_certain_chances_change_nothing() -> None:
    problem, _ = drawn(3)
    sure = DoubtfulTest("sure too", 1.0, tuple({"yes": 1.0} for _ in problem.suspects))
    expansion = expand(problem, [sure])
    assert expansion.owner == tuple(range(len(problem.suspects)))
    values = [Policy(p).value((1 << len(p.suspects)) - 1) for p in (problem, expansion.problem)]
    assert values[0] == values[1]


def two(*chances: dict[str, float]) -> Expansion:
    problem = Problem((Suspect("a", 1.0), Suspect("b", 1.0)), ())
    return expand(problem, [DoubtfulTest("shake", 1.0, chances)])


def test_an_intermittent_fault_that_does_not_show_is_still_possible() -> None:
    # Bayes by hand: b shows in one of four; seen nothing, b is 0.75 / 1.75.
    expansion = two({"no": 1.0}, {"no": 0.75, "yes": 0.25})
    assert expansion.posterior({0: "no"}) == pytest.approx((1 / 1.75, 0.75 / 1.75))
    assert expansion.posterior({0: "yes"}) == (0.0, 1.0)


@pytest.mark.parametrize(
    ("chances", "named"),
    [
        (({"no": 1.0},), "chances for 1 suspects, must be for 2"),
        (({"no": 0.5}, {"no": 1.0}), "must add up to 1"),
        (({"no": 1.5, "yes": -0.5}, {"no": 1.0}), "must not be negative"),
        (({"no": float("nan")}, {"no": 1.0}), "must not be negative"),
    ],
)
def test_chances_that_are_none_are_refused(chances: tuple, named: str) -> None:
    with pytest.raises(ProblemError, match=named):
        two(*chances)


def test_readings_that_nothing_shows_are_named() -> None:
    with pytest.raises(ProblemError, match="no suspect shows them"):
        two({"no": 1.0}, {"no": 1.0}).posterior({0: "yes"})


def test_too_many_manifestations_are_refused() -> None:
    problem = Problem((Suspect("a", 1.0), Suspect("b", 1.0)), ())
    even = ({"no": 0.5, "yes": 0.5},) * 2
    tests = [DoubtfulTest(f"t{k}", 1.0, even) for k in range(MOST_SUSPECTS.bit_length())]
    with pytest.raises(ProblemError, match="manifestations are too many"):
        expand(problem, tests)
