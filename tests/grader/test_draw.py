"""Who gets what: the same again for the same student, as often as the likelihoods say over many."""

import hashlib
import hmac
import math
from collections import Counter
from dataclasses import replace
from functools import cache

import pytest
from hypothesis import given
from hypothesis import strategies as st

from grader.draw import Draw, assignable, clean_student, draw, drawn_circuit, lesson_key
from grader.errors import DrawError
from tests.grader.foggy import foggy, prepared

KEY = lesson_key(b"the course's secret", "06-two-circuits-in-one-can")
STUDENTS = 6000


def drawn(student: str, key: bytes = KEY) -> Draw:
    return draw(prepared().lineup, key, student)


@cache
def crowd() -> tuple[Draw, ...]:
    return tuple(drawn(f"student {number}") for number in range(STUDENTS))


def test_the_same_student_gets_the_same_draw_however_the_id_is_typed():
    assert drawn("kim.örn") == drawn("  Kim.Örn ") == drawn("KIM.O\u0308RN")
    assert drawn("kim") != drawn("ada")


def test_how_often_a_cause_is_drawn_follows_its_likelihood():
    """Pearson's chi-square; its 99.9 % point after Wilson and Hilferty (1931)."""
    count = Counter(one.cause for one in crowd())
    suspects, chances = prepared().lineup.suspects, prepared().likelihoods()
    expected = [STUDENTS * float(p) for p in chances]
    assert min(expected) > 5
    square = sum(
        (count[s.name] - wanted) ** 2 / wanted for s, wanted in zip(suspects, expected, strict=True)
    )
    freedom = len(suspects) - 1
    part = 2 / (9 * freedom)
    assert square < freedom * (1 - part + 3.09 * math.sqrt(part)) ** 3
    assert set(count) <= {s.name for s in suspects}


def test_two_students_share_a_cause_no_more_often_than_the_likelihoods_say():
    pairs = list(zip(crowd()[::2], crowd()[1::2], strict=True))
    alike = sum(one.cause == other.cause for one, other in pairs)
    chance = float((prepared().likelihoods() ** 2).sum())
    spread = math.sqrt(len(pairs) * chance * (1 - chance))  # binomial
    assert abs(alike - len(pairs) * chance) < 3.3 * spread


def test_values_are_spread_over_their_spans_and_do_not_go_with_the_cause():
    for name, (low, high) in foggy().varies.items():
        values = [one.values[name] for one in crowd()]
        assert low <= min(values) <= low + 0.02 * (high - low)
        assert high - 0.02 * (high - low) <= max(values) <= high
        middle = sum(values) / len(values)
        spread = (high - low) / math.sqrt(12 * len(values))  # of a mean of uniform numbers
        assert abs(middle - (low + high) / 2) < 3.3 * spread
        cause = Counter(one.cause for one in crowd()).most_common(1)[0][0]
        own = [one.values[name] for one in crowd() if one.cause == cause]
        spread = (high - low) / math.sqrt(12 * len(own))
        assert abs(sum(own) / len(own) - (low + high) / 2) < 3.3 * spread


def test_small_values_are_not_rounded_away():
    # a cross-section is some 1e-6 m2 inside
    thin = replace(prepared().lineup, case=replace(foggy(), varies={"wire 9.area": (2e-6, 4e-6)}))
    areas = {draw(thin, KEY, f"s{n}").values["wire 9.area"] for n in range(50)}
    assert len(areas) == 50
    assert all(2e-6 <= area <= 4e-6 for area in areas)


def test_a_tag_names_a_draw_and_says_nothing_of_it():
    assert len({one.tag for one in crowd()}) == STUDENTS
    by_cause = {one.cause: one.tag for one in crowd()}
    assert len(set(by_cause.values())) == len(by_cause)
    other = lesson_key(b"another secret", "06-two-circuits-in-one-can")
    assert drawn("kim", other).tag != drawn("kim").tag


def test_another_secret_or_lesson_is_another_draw():
    keys = [
        KEY,
        lesson_key(b"another secret", "06-two-circuits-in-one-can"),
        lesson_key(b"the course's secret", "07-something-else"),
    ]
    draws = [[drawn(f"s{n}", key).cause for n in range(40)] for key in keys]
    assert draws[0] != draws[1] != draws[2] != draws[0]


def test_a_lessons_key_is_an_hmac_of_the_secret():
    """RFC 2104 through the standard library, written out again."""
    wanted = hmac.new(b"s", b"lesson|06", hashlib.sha256).digest()
    assert lesson_key(b"s", "06") == wanted
    with pytest.raises(DrawError, match="at least one byte"):
        lesson_key(b"", "06")


def test_the_draw_is_what_the_hmac_says():
    """A draw worked out by hand from the docstring's formula."""
    message = hmac.new(KEY, b"foggy-window|kim|0", hashlib.sha256).digest()
    share = int.from_bytes(message[:8], "big") / 2**64
    total, found = 0.0, ""
    for suspect, chance in zip(prepared().lineup.suspects, prepared().likelihoods(), strict=True):
        total += float(chance)
        if share < total:
            found = suspect.name
            break
    assert drawn("kim").cause == found


def test_a_case_may_name_what_it_assigns():
    few = ("C41.1=open", "X7=open")
    lineup = replace(prepared().lineup, case=replace(foggy(), assignable=few))
    assert tuple(s.name for s in assignable(lineup)) == few
    causes = Counter(draw(lineup, KEY, f"s{n}").cause for n in range(400))
    assert set(causes) == set(few)
    chance = 2.0 / (2.0 + 0.6)  # likelihoods of the circuit file and of a ground stud
    spread = math.sqrt(400 * chance * (1 - chance))
    assert abs(causes["C41.1=open"] - 400 * chance) < 3.3 * spread


def test_an_assignable_cause_that_is_no_suspect_is_refused():
    lineup = replace(prepared().lineup, case=replace(foggy(), assignable=("F12=open",)))
    with pytest.raises(DrawError, match="'F12=open' does not show the complaint") as caught:
        draw(lineup, KEY, "kim")
    assert "\n" not in str(caught.value)


def test_the_students_van_has_the_cause_and_the_values():
    one = drawn("kim")
    circuit = drawn_circuit(foggy(), prepared().lineup, one)
    faults = tuple(fault for part in circuit.parts.values() for fault in part.faults)
    suspect = prepared().lineup.suspects[prepared().lineup.index(one.cause)]
    assert set(faults) == set(suspect.faults)
    assert circuit.parts["B1"].number("charge") == one.values["B1.charge"]
    assert circuit.temperature == one.values["temperature"]


@pytest.mark.parametrize("text", ["", "   ", "a/b", "a\\b", "a\nb", "a\0b", "x" * 65, "\u200b"])
def test_an_id_that_is_none_is_refused_in_one_line(text):
    with pytest.raises(DrawError, match="expected 1 to 64") as caught:
        clean_student(text)
    assert "\n" not in str(caught.value)


@given(st.text(min_size=1, max_size=20))
def test_cleaning_an_id_twice_changes_nothing_more(text):
    try:
        once = clean_student(text)
    except DrawError:
        return
    assert clean_student(once) == once
