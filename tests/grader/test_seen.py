"""What is kept of an action is what the action shows, and is kept for its own moment alone."""

from dataclasses import fields, replace

import numpy as np
import pytest

import grader.seen
from grader.seen import Moment, Observed
from sim.action import Action
from sim.observe import Observation, observe
from tests.grader.foggy import ON, prepared

SET = Action("set", settings=tuple(ON.items()))
READ = Action("measure", "volts", red="C41.1a", black="body")


@pytest.fixture
def observed() -> Observed:
    one = prepared()
    return Observed(one.lineup.fleet, one.healthy, one.start)


def same(one: Observation, other: Observation) -> bool:
    """Tell whether two have shown the same and leave the same to be remembered, to the bit."""
    arrays = [
        (getattr(one.memory, field.name), getattr(other.memory, field.name))
        for field in fields(one.memory)
    ]
    numbers = (one.outcome.numbers, other.outcome.numbers)
    equal = all(
        np.asarray(a).tobytes() == np.asarray(b).tobytes() if isinstance(a, np.ndarray) else a == b
        for a, b in (*arrays, numbers)
    )
    return equal and one.situation == other.situation and one.price == other.price


def test_what_is_kept_is_what_is_seen(observed: Observed) -> None:
    before = observed.start
    for action in (SET, Action("wait", seconds=300.0), READ):
        first, again = observed.seen(before, action), observed.seen(before, action)
        fleets = ((prepared().lineup.fleet, before.memory), (prepared().healthy, before.sound))
        anew = [observe(fleet, before.situation, memory, action) for fleet, memory in fleets]
        assert again is first
        assert same(first.suspects, anew[0])
        assert same(first.healthy, anew[1])
        before = first.after()


def test_another_bench_or_another_memory_is_looked_at_anew(observed: Observed) -> None:
    before = observed.seen(observed.start, SET).after()
    first = observed.seen(before, READ)
    later = replace(before, situation=replace(before.situation, clock=before.situation.clock + 60))
    blown = np.ones_like(before.memory.blown)
    other = Moment(before.situation, replace(before.memory, blown=blown), before.sound)
    assert observed.seen(later, READ) is not first
    assert not np.array_equal(
        observed.seen(other, READ).suspects.outcome.numbers, first.suspects.outcome.numbers
    )


def test_what_was_looked_at_last_is_kept(
    observed: Observed, monkeypatch: pytest.MonkeyPatch
) -> None:
    monkeypatch.setattr(grader.seen, "KEPT", 2)
    one, two, three = (Action("wait", seconds=float(n)) for n in (1, 2, 3))
    first, second = observed.seen(observed.start, one), observed.seen(observed.start, two)
    assert observed.seen(observed.start, one) is first
    observed.seen(observed.start, three)
    assert observed.seen(observed.start, one) is first
    assert observed.seen(observed.start, two) is not second
