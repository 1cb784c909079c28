"""Reasons: what a step ruled out and by what way of current, read as a teacher would."""

import json
from functools import cache

import pytest

from grader.explain import Explained, explain
from grader.judge import Judged
from tests.grader.foggy import OFF, ON, Worker, prepared
from tests.grader.human_paths import PATHS

HINGE = "C41.1=high resistance:0.8 ohm"


@cache
def explained(cause: str, *acts: str) -> list[tuple[Judged, Explained]]:
    """Do these actions, JSON each, and explain them."""
    worker = Worker(cause)
    for act in acts:
        worker.do(**json.loads(act))
    steps = worker.know().judged
    return list(zip(steps, explain(prepared(), worker.entries, steps), strict=True))


def last(cause: str, *acts: dict) -> tuple[Judged, Explained]:
    return explained(cause, *(json.dumps(act) for act in acts))[-1]


def volts(red: str, black: str = "body") -> dict:
    return {"measure": "volts", "red": red, "black": black}


def at_the_unplugged_hinge(**reading: object) -> Explained:
    """Take a reading from C41.1a, unplugged and switched on, to the body."""
    apart = ({"set": OFF}, {"unplug": "C41"}, {"set": ON})
    return last("X7=open", *apart, {**reading, "red": "C41.1a", "black": "body"})[-1]


def text_of(found: Explained, suspect: str) -> str:
    """Return the one reason that a suspect is in."""
    (reason,) = [r for r in (*found.ruled_out, *found.fits) if suspect in r.suspects]
    return reason.text


def test_every_suspect_ruled_out_and_every_one_left_has_one_reason():
    step, found = last(HINGE, {"set": ON}, volts("K3.87"))
    names = [s.name for s in prepared().lineup.suspects]
    out = {name for k, name in enumerate(names) if (step.before & ~step.after) >> k & 1}
    left = {name for k, name in enumerate(names) if step.after >> k & 1}
    assert sorted(n for r in found.ruled_out for n in r.suspects) == sorted(out)
    assert sorted(n for r in found.fits for n in r.suspects) == sorted(left)
    assert out
    assert left


def test_a_break_before_the_point_lets_nothing_through():
    _step, found = last(HINGE, {"set": ON}, volts("K3.87"))
    text = text_of(found, "wire 7=open")
    assert text == text_of(found, "F7=open")
    assert "there is no way for current to K3.87" in text
    assert "nothing (0.0 V)" in text


def test_a_break_behind_the_point_leaves_the_full_supply_there():
    _step, found = last("F7=open", {"set": ON}, volts("K3.87"))
    text = text_of(found, "wire 10=open")
    assert "no way for current on from K3.87 to ground" in text
    assert "None flows, so none of the voltage is lost" in text
    assert "full supply (12" in text


def test_a_poor_joint_before_the_point_loses_voltage():
    _step, found = last("X7=open", {"set": ON}, volts("C41.1b"))
    text = text_of(found, HINGE)
    assert "loses voltage on its way to C41.1b" in text
    assert "some of the supply (" in text


def test_voltage_that_is_lost_where_a_lamp_does_not_show_it_is_no_reason():
    """A test lamp of 5 W draws 0.4 A: at 1 ohm it still has 97 % of the volts, and is bright."""
    text = text_of(at_the_unplugged_hinge(lamp="test lamp"), "wire 7=high resistance:1 ohm")
    assert "some of the voltage is lost on its way to C41.1a, but not enough to be seen" in text
    assert "“bright”, as a sound vehicle does" in text


def test_voltage_that_is_lost_where_the_same_lamp_shows_it_is_the_reason():
    """Plugged in the heater's 13 A run as well: at 1 ohm half of the volts are lost."""
    lamp = {"lamp": "test lamp", "red": "C41.1b", "black": "body"}
    _step, found = last("X7=open", {"set": ON}, lamp)
    text = text_of(found, "wire 7=high resistance:1 ohm")
    assert "loses voltage on its way to C41.1b" in text
    assert "not enough to be seen" not in text
    assert "“dim”" in text


def test_voltage_that_a_meter_shows_is_seen_though_it_is_in_the_same_band():
    found = at_the_unplugged_hinge(load="2.5 A")
    text = text_of(found, "F7.1=high resistance:0.4 ohm")
    assert "loses voltage on its way to C41.1a" in text
    assert "full supply" in text


def test_how_bad_is_said_only_of_those_that_would_show_otherwise_if_they_were_not():
    """At 2.5 A 0.4 ohm lose 1 V and 1.2 ohm lose 3 V; a wire has the one 1 ohm only."""
    found = at_the_unplugged_hinge(load="2.5 A")
    worse = text_of(found, "F7.1=high resistance:1.2 ohm")
    assert worse == text_of(found, "wire 6=high resistance:1 ohm")
    assert "With 1.2 ohm in F7.1, F7.2 or K3.30" in worse
    assert "with K3 contact burnt (2 ohm), or with a high resistance in wire 6" in worse
    assert "some of the supply" in worse
    better = text_of(found, "F7.1=high resistance:0.4 ohm")
    assert "With 0.4 ohm in F7.1, F7.2, K3.30 or K3.87, or with K3 contact burnt (0.5 ohm)" in (
        better
    )
    alike = text_of(found, "E9.1=high resistance:0.4 ohm")  # behind the plug: 1.2 ohm shows no less
    assert alike == text_of(found, "E9.1=high resistance:1.2 ohm")
    assert "a high resistance in X1 or E9.1" in alike


def test_a_contact_that_stays_open_is_followed_to_its_coil():
    _step, found = last(HINGE, {"set": ON}, volts("K3.87"))
    assert "K3 does not pull in" in text_of(found, "wire 3=open")
    assert "K3 does not pull in" not in text_of(found, "K3=contact open")


def test_a_short_is_told_by_the_fuse_it_has_blown():
    _step, found = last(HINGE, {"set": ON}, volts("K3.87"))
    assert "F7 has blown" in text_of(found, "wire 8=short to ground:0.1 ohm")


def test_what_is_apart_is_said_and_the_way_ends_there():
    _step, found = last(HINGE, {"set": OFF}, {"unplug": "C41"}, {"set": ON}, volts("C41.1a"))
    assert found.stood == "As the vehicle stood: C41 apart."
    assert "current gets to C41.1a by way of link 30, wire 6, F7, wire 7, K3 and wire 8" in (
        found.way
    )
    assert "E9" not in found.way  # with C41 apart there is no way on
    fits = text_of(found, "wire 10=open")
    assert "nothing is in the way to C41.1a" in fits


def test_a_drop_is_told_by_what_lies_between_the_leads():
    _step, found = last("X7=open", {"set": ON}, volts("C41.1a", "C41.1b"))
    assert "lost between the two leads" in text_of(found, HINGE)
    assert "broken between the two leads" in text_of(found, "C41.1=open")
    assert "Where none flows nothing is lost" in text_of(found, "wire 10=open")


def test_a_clamp_is_told_by_the_current():
    _step, found = last("X7=open", {"set": ON}, {"clamp": "wire 8"})
    assert "no way for current through wire 8" in text_of(found, "wire 6=open")
    assert "only 9.1 A get through, 13 A on a sound vehicle" in text_of(
        found, "E9.1=high resistance:0.4 ohm"
    )


def test_an_ohmmeter_is_told_by_its_own_current():
    _step, found = last("E9=all lines open", {"set": OFF}, volts("B1.+"))
    assert found.ruled_out == ()
    ohms = {"measure": "ohms", "red": "E9.1b", "black": "E9.2b"}
    _step, found = last("X7=open", {"set": OFF}, ohms)
    assert found.way == "The meter sends its own current by way of E9."
    assert "has no way from lead to lead" in text_of(found, "E9=all lines open")


def test_an_ohmmeter_on_a_live_circuit_is_not_believed():
    ohms = {"measure": "ohms", "red": "F7.1b", "black": "F7.2b"}
    _step, found = last(HINGE, {"set": OFF}, ohms)
    assert "cannot be believed" in text_of(found, "K3=wrong part")


def test_a_relay_that_is_silent_is_told_by_its_coils_current():
    _step, found = last(HINGE, {"set": {**ON, "heater switch": "off"}}, {"listen": "K3", "set": ON})
    text = text_of(found, "K3=coil open")
    assert "no way for current through the coil of K3" in text
    assert "“silent”" in text


def test_what_eyes_find_is_told_as_found():
    _step, found = last("X7=open", {"look": "tailgate hinge"})
    assert "broken strands and a browned terminal" in text_of(found, HINGE)


def test_a_reading_from_the_body_to_a_point_is_told_like_the_other_way_round():
    _step, one = last(HINGE, {"set": ON}, volts("K3.87"))
    _step, two = last(HINGE, {"set": ON}, volts("body", "K3.87"))
    assert [r.text for r in one.ruled_out] == [r.text for r in two.ruled_out]


def test_what_it_could_have_shown_adds_up_to_one():
    step, found = last(HINGE, {"set": ON}, volts("C41.1b"))
    assert sum(could.chance for could in found.could) == pytest.approx(1.0)
    assert sum(could.suspects for could in found.could) == step.before.bit_count()
    (was,) = [could for could in found.could if could.was]
    assert was.shows == "part"


def test_the_better_choice_and_what_it_saves_are_named():
    worker = Worker("wire 9=open")
    worker.confirm()
    worker.call("relay K3")
    steps = worker.know().judged
    found = explain(prepared(), worker.entries, steps)[-1]
    assert found.saved == steps[-1].charged
    assert found.better.startswith("Better: listen to K3")
    assert f"It would have saved {steps[-1].charged:.1f} min on average." in found.better


def test_nothing_is_better_than_the_best_path_nor_than_a_free_step():
    worker = Worker(HINGE)
    worker.confirm()
    worker.go_on_best()
    steps = worker.know().judged
    found = explain(prepared(), worker.entries, steps)
    assert steps[0].regret > 0.1  # confirming is not the cheapest, and is free
    assert [one.better for one in found] == [""] * len(steps)


@pytest.mark.parametrize("name", PATHS)
def test_every_step_of_every_human_path_is_explained_in_plain_words(name):
    """No formula, no internal name, no empty or doubled word in anything that is said."""
    worker = Worker("wire 8=short to ground:0.1 ohm + F7=open")
    worker.confirm()
    PATHS[name](worker)
    worker.go_on_best()
    steps = worker.know().judged
    found = explain(prepared(), worker.entries, steps)
    assert [one.numbers for one in found] == [step.numbers for step in steps]
    said = [line for one in found for line in one.lines()]
    assert said
    for line in said:
        assert line.endswith((".", "”"))
        for ugly in ("  ", "strap", "None)", "{", "}", "()", "=", "nan", "inf ", ".."):
            assert ugly not in line, line
    assert json.loads(json.dumps([one.to_json() for one in found]))


def test_a_hand_on_a_poor_joint_is_told_by_the_current_that_heats_it():
    _step, found = last("wire 8=open", {"set": ON}, {"wait": "1 min"}, {"feel": "K3"})
    text = text_of(found, "K3=contact burnt:0.5 ohm")
    assert "have to get through a poor contact in K3, and heat it" in text
    assert "no way for current through K3" in text_of(found, "wire 8=open")
