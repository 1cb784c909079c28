"""Words: lists, suspects, spans and currents as a mechanic would say them."""

import pytest

from grader.because import Because
from grader.reasonwords import (
    SENTENCES,
    amps_words,
    listed,
    range_words,
    sentence,
    suspects_words,
    way_words,
)


@pytest.mark.parametrize(
    ("names", "words"),
    [
        ([], ""),
        (["a"], "a"),
        (["a", "b"], "a or b"),
        (["a", "b", "c"], "a, b or c"),
        (list("abcdefg"), "a, b, c, d, e, f or g"),
        (list("abcdefgh"), "a, b, c, d, e, f or 2 more"),
    ],
)
def test_lists(names, words):
    assert listed(names) == words


def test_suspects_that_fail_alike_are_told_together_and_severities_once():
    names = ["F7=open", "wire 6=open", "C41.1=high resistance:0.4 ohm"]
    names += ["C41.1=high resistance:2 ohm", "K3=contact open"]
    assert suspects_words(names) == (
        "F7 or wire 6 open, or with a high resistance in C41.1, or with K3 contact open"
    )
    compound = ["wire 8=short to ground:0.1 ohm + F7=open"]
    assert suspects_words(compound) == "wire 8 short to ground and F7 open"


def test_a_severity_is_told_where_it_makes_the_difference():
    """One of them would have shown dim, the other bright: the same words for both tell nothing."""
    names = ["K9=contact burnt:2 ohm", "C41.1=high resistance:0.4 ohm", "wire 6=open"]
    assert suspects_words(names, names) == (
        "K9 contact burnt (2 ohm), or with 0.4 ohm in C41.1, or with wire 6 open"
    )
    assert suspects_words(names, names[:1]) == (
        "K9 contact burnt (2 ohm), or with a high resistance in C41.1, or with wire 6 open"
    )
    compound = ["wire 8=short to ground:0.1 ohm + F7=open"]
    assert suspects_words(compound, compound) == "wire 8 short to ground and F7 open"


def test_voltage_that_is_lost_unseen_is_no_reason_for_what_is_seen():
    because = Because("slight", flows=True)
    names = ["K9=contact burnt:0.5 ohm"]
    whose = suspects_words(names, names)
    text = sentence(because, whose, "“bright”", "C71.3b", 0.0, own=False, current=False)
    assert text == (
        "With K9 contact burnt (0.5 ohm) some of the voltage is lost on its way to C71.3b, but "
        "not enough to be seen. It would have shown “bright”, as a sound vehicle does."
    )


def test_many_suspects_are_cut_but_every_way_of_failing_is_named_first():
    names = [f"wire {n}=open" for n in range(9)] + ["K3=coil open"]
    words = suspects_words(names)
    assert "K3 coil open" in words
    assert words.endswith("or with one of 4 others,")


@pytest.mark.parametrize(
    ("numbers", "words"),
    [
        ([12.38, 12.41], "12.4 V"),
        ([3.8, 8.29], "3.8 to 8.3 V"),
        ([-0.01], "0.0 V"),
        ([float("inf")], ""),
    ],
)
def test_spans(numbers, words):
    assert range_words(numbers, "V") == words


def test_large_resistances_are_in_kilohms():
    assert range_words([25558.0], "ohm") == "26 kohm"


def test_currents():
    assert [amps_words(a) for a in (0.001, 0.145, 9.08, 12.96)] == [
        "none",
        "145 mA",
        "9.1 A",
        "13 A",
    ]


def test_the_way_leaves_out_cables_between_rails():
    assert way_words(("strap 30", "link30", "wire 6", "F7")) == "link 30, wire 6 and F7"
    assert way_words(("strap 30",)) == "the heavy cables"


def test_a_current_that_strays_is_no_current_held_back():
    because = Because("stray", flows=True, amps=1.1)
    text = sentence(because, "X3 open", "“yes”", "E1", 0.0, own=False, current=True)
    assert text == (
        "With X3 open current finds a way through E1 that it should not have: 1.1 A run there, "
        "none on a sound vehicle. It would have shown “yes”."
    )


@pytest.mark.parametrize(("kind", "flows"), SENTENCES)
def test_every_kind_of_reason_makes_a_whole_sentence(kind, flows):
    because = Because(kind, "F7 has blown", flows, 1.5, ("F7", "K3"))
    text = sentence(because, "F7 open", "nothing", "K3.87", 2.0, own=False, current=False)
    assert text.startswith("With F7 open ")
    assert text.endswith(".")
    assert "{" not in text
