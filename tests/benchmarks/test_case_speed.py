"""What every shipped case takes: prepared afresh, loaded, its best path, steps off the path.

Run with ``python -m pytest -m benchmark_study -s -n 0 tests/benchmarks/test_case_speed.py``.
Processor time; nothing is asserted about time. Off the path: beliefs that readings drawn by lot
lead to, each judged by a policy that has answered nothing but V before.
"""

import random
import statistics
import time
from collections.abc import Callable
from pathlib import Path

import pytest

from grader.casefile import read_case
from grader.policy import Policy
from grader.prepared import prepare

Say = Callable[[str], None]
CASES = sorted((Path(__file__).parents[2] / "lessons/source").rglob("*.case.yaml"))
CIRCUITS = Path(__file__).parents[2] / "lessons/circuits"
WALKS = 10


def off_path(policy: Policy, seed: int) -> list[float]:
    """Judge readings drawn by lot until one unit is left; give the seconds of each."""
    rng = random.Random(seed)  # noqa: S311
    problem = policy.problem
    truth = rng.randrange(len(problem.suspects))
    left, opened, here, seconds = policy.everything, 0, 0, []
    for index in rng.sample(range(len(problem.tests)), len(problem.tests)):
        test = problem.tests[index]
        known = [k for k in range(len(problem.suspects)) if left >> k & 1]
        if len({test.outcomes[k] for k in known}) < 2:
            continue
        begun = time.process_time()
        quality = policy.quality_of_test(left, opened, here, index)
        value = policy.value(left, opened, here)
        seconds.append(time.process_time() - begun)
        assert quality.upper - value.upper > -1e-9
        assert quality.lower == pytest.approx(quality.upper, rel=1e-9)
        left = sum(1 << k for k in known if test.outcomes[k] == test.outcomes[truth])
        opened, here = policy.places_after(index, opened, here)
    return seconds


@pytest.mark.parametrize("file", CASES, ids=[file.name.partition(".")[0] for file in CASES])
def test_a_shipped_case(file: Path, tmp_path: Path, say: Say) -> None:
    case = read_case(file, CIRCUITS)
    begun = time.process_time()
    prepared = prepare(case, tmp_path)
    made = time.process_time()
    policy = prepared.policy()
    value = policy.value(policy.everything)
    solved = time.process_time()
    again = prepare(case, tmp_path)
    loaded = time.process_time()
    assert value.lower == value.upper
    assert again.space.choices == prepared.space.choices
    steps = []
    for seed in range(WALKS):
        fresh = Policy(policy.problem)
        fresh.value(fresh.everything)
        steps += off_path(fresh, seed)
    say(
        f"{case.name}: {len(policy.problem.suspects)} suspects x {len(policy.problem.tests)} tests,"
        f" V {value.upper:.2f} min exact; prepared {made - begun:.2f} s, best path"
        f" {solved - made:.2f} s, loaded {loaded - solved:.2f} s; {len(steps)} steps off the path:"
        f" {statistics.median(steps):.4f} s median, {max(steps):.3f} s worst"
    )
