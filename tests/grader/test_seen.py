"""What is kept of an action is what the action shows, and is kept for its own moment alone."""

from dataclasses import fields, replace

import numpy as np
import pytest

import grader.seen
from grader.seen import Moment, Observed
from sim.action import Action
from sim.observe import Outcome, observe
from sim.situation import Memory
from tests.grader.foggy import ON, prepared

SET = Action("set", settings=tuple(ON.items()))
READ = Action("measure", "volts", red="C41.1a", black="body")


@pytest.fixture
def observed() -> Observed:
    one = prepared()
    return Observed(one.lineup.fleet, one.healthy, one.start)


def same(one: object, other: object) -> bool:
    """Tell whether two are the same: arrays to the bit, all else by what it holds."""
    if isinstance(one, np.ndarray):
        return isinstance(other, np.ndarray) and one.tobytes() == other.tobytes()
    return bool(one == other)


def remembered(memory: Memory, which: slice) -> list[object]:
    """Return what some of the vehicles remember."""
    every = [getattr(memory, field.name) for field in fields(memory)]
    return [one[which] if isinstance(one, np.ndarray | tuple) else one for one in every]


def shown(outcome: Outcome) -> list[object]:
    """Return what an outcome says."""
    return [getattr(outcome, field.name) for field in fields(outcome)]


def test_what_is_kept_is_what_is_seen(observed: Observed) -> None:
    before = observed.start
    for action in (SET, Action("wait", seconds=300.0), READ):
        first, again = observed.seen(before, action), observed.seen(before, action)
        anew = observe(observed.fleet, before.situation, before.memory, action)
        assert again is first
        assert first.whole.situation == anew.situation
        assert first.whole.price == anew.price
        every = slice(None)
        pairs = zip(
            remembered(first.whole.memory, every), remembered(anew.memory, every), strict=True
        )
        assert all(same(one, other) for one, other in pairs)
        before = first.after()


def test_suspects_and_sound_vehicles_show_together_what_they_show_alone(
    observed: Observed,
) -> None:
    one = prepared()
    fleets = (
        (one.lineup.fleet, observed.suspects, "suspects"),
        (one.healthy, observed.healthy, "healthy"),
    )
    for fleet, which, name in fleets:
        situation, memory = one.start, fleet.fresh_memory(one.start)
        moment = observed.start
        for action in (SET, Action("wait", seconds=300.0), READ):
            together, alone = (
                observed.seen(moment, action),
                observe(fleet, situation, memory, action),
            )
            moment, situation, memory = together.after(), alone.situation, alone.memory
            told = zip(shown(getattr(together, name)), shown(alone.outcome), strict=True)
            assert all(same(ours, theirs) for ours, theirs in told)
            kept = remembered(together.whole.memory, which)
            pairs = zip(kept, remembered(memory, slice(None)), strict=True)
            assert all(same(ours, theirs) for ours, theirs in pairs)


def test_another_bench_or_another_memory_is_looked_at_anew(observed: Observed) -> None:
    before = observed.seen(observed.start, SET).after()
    first = observed.seen(before, READ)
    later = replace(before, situation=replace(before.situation, clock=before.situation.clock + 60))
    blown = np.ones_like(before.memory.blown)
    other = Moment(before.situation, replace(before.memory, blown=blown))
    assert observed.seen(later, READ) is not first
    assert not np.array_equal(observed.seen(other, READ).suspects.numbers, first.suspects.numbers)


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
