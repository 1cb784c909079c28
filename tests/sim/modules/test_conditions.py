"""Conditions: what the words mean, and that no text does anything but mean or be refused."""

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st

from sim.errors import QuantityError
from sim.modules.conditions import Seen, read_condition

KINDS = {"coolant": "temperature", "speed": "rotation", "ignition": "state", "fan wanted": "state"}
SEEN = Seen(
    values={"coolant": np.array([20.0, 97.0, 120.0]), "speed": np.zeros(3)},
    states={"ignition": np.array([True, True, False]), "fan wanted": np.array([False, True, True])},
    implausible={"coolant": np.array([False, False, True]), "speed": np.zeros(3, dtype=bool)},
    count=3,
)


@pytest.mark.parametrize(
    ("text", "expected"),
    [
        ("coolant >= 97 degC", [False, True, True]),
        ("coolant > 97 degC", [False, False, True]),
        ("coolant <= 293.15 K", [True, False, False]),
        ("not ignition is on", [False, False, True]),
        ("fan wanted is off", [True, False, False]),
        ("coolant is implausible", [False, False, True]),
        ("ignition is on and coolant >= 97 degC or coolant is implausible", [False, True, True]),
        ("ignition is on and (coolant >= 97 degC or coolant is implausible)", [False, True, False]),
        ("not (ignition is on and fan wanted is on)", [True, False, True]),
        ("always", [True] * 3),
        ("never or speed < 10 rpm", [True] * 3),
    ],
)
def test_words_mean(text: str, expected: list[bool]) -> None:
    assert read_condition(text, KINDS).holds(SEEN).tolist() == expected


@pytest.mark.parametrize(
    ("text", "said"),
    [
        ("", "a claim is missing"),
        ("coolant", "expected `NAME >= VALUE`"),
        ("coolant >= 97 V", "got unit 'V'"),
        ("coolant is on", "has a value, compare it"),
        ("ignition > 3 V", "is on or off, it has no value"),
        ("oil >= 3 degC", "no 'oil'; there are coolant, speed, ignition, fan wanted"),
        ("(ignition is on", "a bracket is not closed"),
        ("ignition is on)", "')' stands where nothing can"),
        ("ignition is on and", "a claim is missing"),
        ("(" * 40 + "always" + ")" * 40, "more than 20 brackets deep"),
        ("__import__('os')", "expected `NAME"),
    ],
)
def test_what_means_nothing_is_refused_in_one_line(text: str, said: str) -> None:
    with pytest.raises(QuantityError) as caught:
        read_condition(text, KINDS)
    assert said in str(caught.value)
    assert "\n" not in str(caught.value)


WORDS = st.lists(
    st.sampled_from(
        [*KINDS, "and", "or", "not", "(", ")", "is on", "is off", ">= 5 degC", "< 3 rpm", "always"]
    ),
    max_size=12,
)


@given(st.one_of(WORDS.map(" ".join), st.text(max_size=60)))
def test_any_text_is_a_condition_or_is_refused(text: str) -> None:
    try:
        condition = read_condition(text, KINDS)
    except QuantityError:
        return
    assert condition.holds(SEEN).shape == (3,)
    assert {name for name, _how in condition.names()} <= set(KINDS)
