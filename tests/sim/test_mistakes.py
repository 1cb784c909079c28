"""Mistakes in order, and near names."""

import pytest

from sim.mistakes import Mistake, in_order, nearest, perhaps


def test_mistakes_come_in_the_order_of_the_file_and_once() -> None:
    late, early = Mistake(9, "late", "a.yaml"), Mistake(2, "early", "a.yaml", warning=True)
    also = Mistake(9, "also", "a.yaml")
    found = in_order([late, early, also, Mistake(9, "late", "a.yaml")])
    assert [str(one) for one in found] == [
        "a.yaml:2: warning: early",
        "a.yaml:9: late",
        "a.yaml:9: also",
    ]


@pytest.mark.parametrize(
    ("word", "known", "near"),
    [
        ("batery", ["battery", "blade fuse"], "battery"),
        ("Battery", ["battery", "blade fuse"], "battery"),
        ("ratting", ["rating", "at"], "rating"),
        ("pump", ["lamp", "horn"], ""),
        ("nowhere", ["blower", "bonnet"], ""),
        ("", ["lamp"], ""),
        ("MOHM", ["Mohm", "mohm", "kohm"], ""),
        ("x", [], ""),
    ],
)
def test_a_near_name_is_offered_unless_there_is_doubt(
    word: str, known: list[str], near: str
) -> None:
    assert nearest(word, known) == near
    assert perhaps(word, known) == (f"; did you mean {near!r}?" if near else "")
