"""How long the best path takes: published circuits, median and worst of twenty, one core.

Run with ``python -m pytest -m benchmark_study -s -n 0 tests/benchmarks/test_policy_speed.py``.
Processor time of this process; what has to be compiled is compiled before. "In arrays" is what runs
where numba is not installed; it must find the same bits. Nothing is asserted about time. Set
`HALFSPLIT_SEEDS` for fewer seeds than twenty.
"""

import os
import statistics
import tempfile
import time
from collections.abc import Callable
from functools import cache
from pathlib import Path

import matplotlib as mpl
import pytest

from grader.policy import Bounds, Policy
from grader.problem import Problem
from tests.benchmarks.generator import Size, generate

mpl.use("Agg")
from matplotlib import pyplot as plt

Say = Callable[[str], None]
SEEDS = range(int(os.environ.get("HALFSPLIT_SEEDS", "20")))
SMALL, MIDDLE = Size(60, 100, 6), Size(100, 440, 8)
LARGE, PAIRED = Size(300, 1500, 20), Size(40, 400, 10, pairs=True)
#: States looked at before the large ones are stopped, about a minute; the same on any machine.
BUDGET = 2500
GROWTH = (
    ("suspects", [Size(n, 150, 8) for n in (20, 40, 60, 80, 100, 120)]),
    ("tests", [Size(60, n, 8) for n in (25, 50, 100, 200, 300)]),
    ("places", [Size(60, 150, n) for n in (2, 4, 8, 12, 16, 20)]),
)


@cache
def drawn(seed: int, size: Size) -> Problem:
    return generate(seed, size)


def timed(problem: Problem, *, plain: bool, nodes: int | None = None) -> tuple[float, Bounds]:
    policy = Policy(problem, nodes=nodes, plain=plain)
    begun = time.process_time()
    value = policy.value(policy.everything)
    return time.process_time() - begun, value


def told(name: str, seconds: list[float]) -> str:
    return f"{name} {statistics.median(seconds):.3f} s median, {max(seconds):.3f} s worst"


@pytest.mark.parametrize("size", [SMALL, MIDDLE], ids=["60 x 100", "100 x 440"])
def test_exact_values(size: Size, say: Say) -> None:
    timed(drawn(0, Size(20, 30, 4)), plain=False)
    compiled = [timed(drawn(seed, size), plain=False) for seed in SEEDS]
    arrays = [timed(drawn(seed, size), plain=True) for seed in SEEDS]
    assert [value for _, value in compiled] == [value for _, value in arrays]
    assert all(value.lower == value.upper for _, value in compiled)
    say(f"{size.suspects} suspects x {size.tests} tests, {len(SEEDS)} circuits, exact:")
    fast, slow = ([seconds for seconds, _ in each] for each in (compiled, arrays))
    say(f"  {told('compiled', fast)}; {told('in arrays', slow)}")
    say(f"  in arrays / compiled {statistics.median(slow) / statistics.median(fast):.0f}")


@pytest.mark.parametrize("size", [LARGE, PAIRED], ids=["300 x 1500", "pairs of 40"])
def test_bounds_of_large_problems(size: Size, say: Say) -> None:
    timed(drawn(0, Size(20, 30, 4)), plain=False)
    for seed in SEEDS[: max(1, len(SEEDS) // 7)]:
        problem = drawn(seed, size)
        seconds, value = timed(problem, plain=False, nodes=BUDGET)
        gap = value.upper / value.lower - 1.0
        say(
            f"seed {seed}: {len(problem.suspects)} suspects x {len(problem.tests)} tests,"
            f" {len(problem.places)} places, {BUDGET} states: {value.lower:.3f} <="
            f" V <= {value.upper:.3f} min, gap {gap:.1%}, {seconds:.0f} s"
        )
        assert value.lower <= value.upper


def test_how_time_grows(say: Say) -> None:
    figure, axes = plt.subplots(1, 3, figsize=(12, 4), sharey=True)
    timed(drawn(0, Size(20, 30, 4)), plain=False)
    for axis, (name, sizes) in zip(axes, GROWTH, strict=True):
        across = [getattr(size, name) for size in sizes]
        columns = [
            sorted(timed(drawn(seed, size), plain=False)[0] for seed in SEEDS[:7]) for size in sizes
        ]
        axis.plot(across, [statistics.median(column) for column in columns], "o-", label="median")
        axis.plot(across, [column[-1] for column in columns], "v:", label="worst")
        axis.set(xlabel=name, ylabel="s to the exact value", yscale="log")
        ratio = statistics.median(columns[-1]) / statistics.median(columns[0])
        say(f"{name} {across[0]} -> {across[-1]}: median time x {ratio:.1f}")
    axes[0].legend()
    file = Path(tempfile.gettempdir()) / "halfsplit-policy-growth.png"
    figure.tight_layout()
    figure.savefig(file)
    plt.close(figure)
    say(f"plot: {file}")
