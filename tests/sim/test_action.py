"""An action is the same thing as data and as JSON; what makes no sense is one line."""

import json
from pathlib import Path

import pytest
from hypothesis import given
from hypothesis import strategies as st

import sim.action
from sim.action import FUNCTIONS, PART_VERBS, VERBS, Action, Reading, action_from_json
from sim.errors import ActionError, SimError

names = st.text(min_size=1, max_size=12)
pairs = st.lists(names, min_size=2, max_size=2, unique=True)
settings = st.dictionaries(names, names, min_size=1, max_size=3)
actions = st.one_of(
    st.builds(lambda verb, name: {verb: name}, st.sampled_from(PART_VERBS), names),
    st.builds(lambda done: {"set": done}, settings),
    st.builds(lambda name, done: {"listen": name, "set": done}, names, settings),
    st.builds(
        lambda function, red, black: {"measure": function, "red": red, "black": black},
        st.sampled_from(FUNCTIONS),
        names,
        names,
    ),
    st.builds(lambda red, black: {"lamp": True, "red": red, "black": black}, names, names),
    st.builds(lambda verb, two: {verb: two}, st.sampled_from(["swap", "bridge"]), pairs),
    st.just({"unbridge": True}),
)


@given(actions)
def test_what_a_record_holds_reads_back_as_the_same_action(do):
    action = action_from_json(json.loads(json.dumps(do)))
    assert action.to_json() == do
    assert action_from_json(action.to_json()) == action


@given(st.floats(min_value=1e-3, max_value=86400.0))
def test_a_wait_reads_back_to_the_last_bit(seconds):
    # the clock of a replay would differ otherwise, and with it what a loose wire shows
    action = Action("wait", seconds=seconds)
    assert action_from_json(action.to_json()) == action


@pytest.mark.parametrize(("text", "seconds"), [("5 min", 300.0), ("90 s", 90.0), ("24 h", 86400.0)])
def test_waits_are_written_with_a_unit(text, seconds):
    assert action_from_json({"wait": text}).seconds == seconds


@pytest.mark.parametrize(
    ("do", "says"),
    [
        ({}, "expected exactly one of"),
        ({"kick": "E9"}, "expected exactly one of"),
        ({"look": "boot", "feel": "E9"}, "expected exactly one of"),
        ({"look": "boot", "red": "F7.1"}, "unknown key 'red'"),
        ({"look": ""}, "must be a name"),
        ({"look": 7}, "must be a name"),
        ({"measure": "farads", "red": "a", "black": "b"}, "the meter has volts"),
        ({"measure": "volts", "red": "a"}, "'black' must be a name"),
        ({"lamp": True, "black": "b"}, "'red' must be a name"),
        ({"set": {}}, "must give a control"),
        ({"set": "key"}, "must give a control"),
        ({"listen": "K3"}, "must give a control"),
        ({"swap": ["K3"]}, "two different names"),
        ({"swap": ["K3", "K3"]}, "two different names"),
        ({"swap": "K3"}, "two different names"),
        ({"bridge": ["a", 1]}, "two different names"),
        ({"bridge": [["a"], ["b"]]}, "two different names"),
        ({"wait": "0 s"}, "up to 24 h"),
        ({"wait": "25 h"}, "up to 24 h"),
        ({"wait": "-5 min"}, "up to 24 h"),
        ({"wait": "5"}, "expected one of: s, ms, min, h"),
        ({"wait": "soon"}, "expected a number"),
    ],
)
def test_what_makes_no_sense_is_refused_in_one_line(do, says):
    with pytest.raises(SimError, match=says) as caught:
        action_from_json(do)
    assert "\n" not in str(caught.value)


@given(st.dictionaries(st.sampled_from([*VERBS, "red", "black"]), st.text() | st.none()))
def test_whatever_is_written_it_is_an_action_or_one_line(do):
    problem = ""
    try:
        assert action_from_json(do).verb in do
    except SimError as error:
        problem = str(error)
    assert len(problem.splitlines()) <= 1


def test_an_unknown_verb_is_an_error_of_its_own_kind():
    with pytest.raises(ActionError):
        action_from_json({"hammer": "E9"})


@pytest.mark.parametrize(
    ("reading", "shown", "text"),
    [
        (Reading("12.31", "V", "60"), {"value": "12.31", "unit": "V", "range": "60"}, "12.31 V"),
        (
            Reading("3.1", "mV", "600", steady=False),
            {"value": "3.1", "unit": "mV", "range": "600", "steady": False},
            "3.1 mV, wandering",
        ),
        (Reading(words="clicks"), {"words": "clicks"}, "clicks"),
    ],
)
def test_a_reading_is_kept_exactly_as_it_was_shown(reading, shown, text):
    assert reading.to_json() == shown
    assert Reading.from_json(shown) == reading
    assert reading.text() == text


def test_every_verb_stands_in_the_list_of_actions():
    """A stranger who writes a record looks there."""
    listed = sim.action.__doc__ or ""
    missing = [verb for verb in VERBS if f'"{verb}": ' not in listed]
    assert missing == []


def test_the_json_that_the_readme_shows_is_read():
    readme = (Path(__file__).parents[2] / "README.md").read_text("utf-8")
    shown = [line for line in readme.splitlines() if line.startswith("{")]
    assert len(shown) >= 6
    for line in shown:
        assert action_from_json(json.loads(line)).to_json() == json.loads(line)
