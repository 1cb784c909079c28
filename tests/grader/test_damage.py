"""Harm that a step could do is regret whether it happens or not. Rules and prices are ours."""

import pytest

from grader.damage import FUSE_MINUTES, expected_minutes, minutes_of
from grader.explain import Explainer
from grader.judge import Judged
from tests.grader.foggy import OFF, Worker, foggy, prepared

SHORT = "wire 7=short to ground:0.1 ohm"
SOUND_FEED = "K3.30=open"
AMPS = ({"jack": "10 A"}, {"measure": "amps", "red": "B1.+", "black": "B1.-"})
FED = (
    {"set": OFF},
    {"bridge": ["B1.+", "F7.2b"], "fuse": "5 A"},
    {"measure": "volts", "red": "F7.2b", "black": "body"},
)


def last(cause: str, *actions: dict) -> Judged:
    worker = Worker(cause)
    worker.confirm()
    for action in actions:
        worker.do(**action)
    return worker.know().judged[-1]


def test_an_ammeter_across_the_battery_costs_its_fuse_whatever_the_cause():
    assert last(SOUND_FEED, *AMPS).danger == pytest.approx(FUSE_MINUTES)
    assert last(SHORT, *AMPS).danger == pytest.approx(FUSE_MINUTES)
    assert last(SOUND_FEED, *AMPS).regret > FUSE_MINUTES - 1e-9


def test_harm_is_the_expected_one_where_it_happens_and_where_it_does_not():
    """A jumper past the fuse feeds a chafed wire, if it is that: its own fuse blows."""
    spared, struck = last(SOUND_FEED, *FED), last(SHORT, *FED)
    assert spared.harm == ()
    assert struck.harm == ("the jumper's fuse has blown",)
    lineup = prepared().lineup
    chance = lineup.likelihoods[lineup.index(SHORT)]
    assert spared.danger == struck.danger == pytest.approx(FUSE_MINUTES * chance)


def test_what_breaks_things_is_never_free():
    """Battery volts are a free look-over; with the lead in the jack for amps they are none."""
    volts = {"measure": "volts", "red": "B1.+", "black": "B1.-"}
    assert last(SOUND_FEED, volts).free
    wrong_jack = last(SOUND_FEED, {"jack": "10 A"}, volts)
    assert wrong_jack.danger == pytest.approx(FUSE_MINUTES)
    assert not wrong_jack.free


def test_a_part_costs_its_unit_and_what_nobody_mends_is_dear():
    case = foggy()
    assert minutes_of(case, "K3: the output is dead") == case.minutes_of(case.unit("relay K3"))
    assert minutes_of(case, "the belt tensioner may have fired") == case.dear / case.rate


def test_only_suspects_left_count():
    lineup = prepared().lineup
    harm = [()] * len(lineup.suspects) * lineup.corners
    harm[0] = ("F7 has blown",)
    chances = [1.0] * len(lineup.suspects)
    one = FUSE_MINUTES / lineup.corners
    assert expected_minutes(lineup, harm, 0b1, chances) == one
    assert expected_minutes(lineup, harm, 0b11, chances) == one / 2
    assert expected_minutes(lineup, harm, 0b10, chances) == 0.0


def test_the_reason_says_so():
    worker = Worker(SOUND_FEED)
    worker.confirm()
    for action in FED:
        worker.do(**action)
    steps = worker.know().judged
    explained = Explainer(prepared()).explain(worker.entries, steps)[-1]
    assert "can break something: 0." in explained.risk
    assert explained.risk in explained.lines()


def test_what_can_break_nothing_has_no_danger():
    assert last(SOUND_FEED, {"watch": "horn sounds"}).danger == 0.0
