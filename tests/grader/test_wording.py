"""How figures and deeds are written, wherever a student reads them."""

import pytest

from grader.reasonwords import luck_words, percent_words
from grader.wording import with_outcome


@pytest.mark.parametrize(
    ("share", "words"),
    [(1.0, "100 %"), (0.141, "14 %"), (0.0994, "9.9 %"), (0.0996, "10 %"), (0.004, "0.4 %")],
)
def test_per_cent_stands_off_its_number(share: float, words: str) -> None:
    assert percent_words(share) == words  # ISO 80000-1:2009, 7.1.2: a space before the sign


@pytest.mark.parametrize(
    ("minutes", "words"),
    [(-0.04, "0.0"), (0.04, "0.0"), (-0.0, "0.0"), (-0.06, "-0.1"), (3.5, "+3.5")],
)
def test_no_luck_has_no_sign(minutes: float, words: str) -> None:
    assert luck_words(minutes) == words


@pytest.mark.parametrize(
    ("deed", "shown", "words"),
    [
        ("asked: Since when?", "Since May.", "asked: Since when? Since May."),
        ("volts at K3.87 socket", "12.1 V", "volts at K3.87 socket: 12.1 V"),
        ("unplugged C41", " ", "unplugged C41"),
    ],
)
def test_an_answer_stands_behind_its_question(deed: str, shown: str, words: str) -> None:
    assert with_outcome(deed, shown) == words
