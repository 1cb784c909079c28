"""How much of the efficiency people keep, by the way they work.

The order, and which ways lose next to nothing, are those of a study of this very case made in
advance with another program (44 suspects, other likelihoods): classic order 38 of 40; click, fuse,
relay output, drop across the connector 40; straight to the connector 40; into the boot 40;
half-split 40; in order from the battery 36; relay exchanged first 28; grid first 16; relay by
habit 12; relay, then fuse 10; ohms everywhere 10.
"""

from functools import cache

import pytest

from grader.efficiency import charged_of, share_kept
from grader.policy import Bounds
from tests.grader.foggy import Worker, expectation, foggy, prepared
from tests.grader.human_paths import PATHS

SENSIBLE = ("classic", "relay_output", "flexing_connector", "boot", "half_split")
WORSE = ("swap_first", "grid_first", "relay_by_habit", "relay_then_fuse", "ohms_everywhere")


@cache
def played(name: str, cause: str) -> tuple[float, float, float]:
    """Work one cause in one way: charged regret, Q - V summed before floors, excess minutes."""
    worker = Worker(cause)
    worker.confirm()
    PATHS[name](worker)
    worker.go_on_best()
    judge = worker.know()
    steps = [step for step in judge.judged if step.kind != "repaired"]
    raw = sum(
        (step.quality.lower + step.quality.upper - step.value.lower - step.value.upper) / 2
        for step in steps
    )
    return sum(step.charged for step in steps), raw, worker.excess_minutes()


@cache
def start() -> Bounds:
    policy = prepared().policy()
    return policy.value(policy.everything)


def value() -> float:
    return start().upper


def kept(name: str) -> float:
    """Return the expected efficiency mark of a way of working, of 40."""

    def points(cause: str) -> float:
        charged = charged_of(played(name, cause)[0], start())
        return foggy().weights.efficiency * share_kept(value(), charged)

    return expectation(points)


def lost(name: str) -> float:
    """Return the expected regret of a way of working, minutes, before the tolerance."""
    return expectation(lambda cause: played(name, cause)[0])


@pytest.mark.parametrize("name", SENSIBLE)
def test_sensible_ways_lose_next_to_nothing(name):
    assert kept(name) > 0.95 * 40


def test_in_order_from_the_battery_keeps_most():
    """Marks may be the same, as the tolerance hides a little; the minutes lost are not."""
    assert 0.8 * 40 < kept("linear") <= min(kept(name) for name in SENSIBLE)
    assert lost("linear") > max(lost(name) for name in SENSIBLE)


def test_what_is_done_by_habit_costs_more_and_more():
    marks = [kept("linear"), *(kept(name) for name in WORSE)]
    assert marks == sorted(marks, reverse=True)
    assert kept("swap_first") > 0.6 * 40
    assert all(kept(name) < 0.5 * 40 for name in WORSE[1:])


@pytest.mark.parametrize("name", PATHS)
def test_cost_less_regret_is_v_on_average(name):
    """Luck has mean zero: over all causes minutes less regret (before its floor) are V."""
    mean = expectation(lambda cause: played(name, cause)[2] - played(name, cause)[1])
    assert mean == pytest.approx(value(), abs=1e-9)
