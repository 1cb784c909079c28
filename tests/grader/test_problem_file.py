"""Reading a policy problem: what is well written is taken, every mistake is one clear line."""

import copy
import json
import math
from typing import Any

import pytest

from grader.errors import GraderError, ProblemError
from grader.problem import Place, Problem, Suspect, Test, Unit, read_problem

GOOD: dict[str, Any] = {
    "format": "policy-problem",
    "version": 1,
    "suspects": [
        {"name": "F7=open", "likelihood": 3, "unit": "fuse"},
        {"name": "K3=stuck open", "likelihood": 0.5, "unit": "relay"},
    ],
    "tests": [
        {"name": "click", "minutes": 0.3, "outcomes": ["yes", "no"]},
        {"name": "lamp", "minutes": 1, "place": "panel", "outcomes": [1, 0]},
        {"name": "drop", "minutes": 1, "places": ["panel", "boot"], "outcomes": ["a", "b"]},
    ],
    "places": [{"name": "panel", "minutes": 2, "again": 0.5}, {"name": "boot", "minutes": 4.5}],
    "units": [{"name": "fuse", "minutes": 8}, {"name": "relay", "minutes": 40}],
}


def test_a_well_written_problem_is_read() -> None:
    assert read_problem(json.dumps(GOOD)) == Problem(
        suspects=(Suspect("F7=open", 3.0, "fuse"), Suspect("K3=stuck open", 0.5, "relay")),
        tests=(
            Test("click", 0.3, ("yes", "no")),
            Test("lamp", 1.0, ("1", "0"), ("panel",)),
            Test("drop", 1.0, ("a", "b"), ("panel", "boot")),
        ),
        places=(Place("panel", 2.0, 0.5), Place("boot", 4.5, 0.0)),
        units=(Unit("fuse", 8.0), Unit("relay", 40.0)),
    )


def test_places_and_units_may_be_left_out() -> None:
    small = {
        "format": "policy-problem",
        "version": 1,
        "suspects": [{"name": "a", "likelihood": 1}],
        "tests": [],
    }
    assert read_problem(json.dumps(small)) == Problem((Suspect("a", 1.0),), ())


def changed(path: tuple[str | int, ...], value: object) -> str:
    """Give the good problem with one thing changed, or left out where the value is `...`."""
    data = copy.deepcopy(GOOD)
    place: Any = data
    for key in path[:-1]:
        place = place[key]
    if value is ...:
        del place[path[-1]]
    else:
        place[path[-1]] = value
    return json.dumps(data)


SUSPECT = {"name": "F7=open", "likelihood": 1, "unit": "fuse"}
MISTAKES = [
    (("format",), "policy", "problem.format: got 'policy', must be 'policy-problem'"),
    (("format",), 1, "problem.format: got the number 1, must be a string"),
    (("format",), ..., "problem: key 'format' is missing; add it"),
    (("version",), ..., "problem: key 'version' is missing; add it"),
    (("version",), 0, "problem.version: 0 is too old; this program reads 1"),
    (("version",), 2, "problem.version: 2 is too new; this program reads 1"),
    (("version",), 1.0, "problem.version: got the number 1.0, must be a whole number"),
    (("version",), True, "problem.version: got true, must be a whole number"),
    (("author",), "me", "problem: unknown key 'author'; allowed: format, version, suspects,"),
    (("suspects",), ..., "problem: key 'suspects' is missing"),
    (("tests",), ..., "problem: key 'tests' is missing"),
    (("suspects",), [], "suspects: got 0, allowed 1 to 1024"),
    (("suspects",), {}, "problem.suspects: got an object, must be a list"),
    (("suspects", 0), "F7=open", "suspects[0]: got the string 'F7=open', must be an object"),
    (("suspects", 0, "p"), 1, "suspects[0]: unknown key 'p'; allowed: name, likelihood, unit"),
    (("suspects", 0, "name"), ..., "suspects[0]: key 'name' is missing"),
    (("suspects", 0, "name"), " ", "suspect: got an empty name"),
    (("suspects", 0, "name"), None, "suspects[0].name: got null, must be a string"),
    (("suspects", 0, "likelihood"), 0, "suspect 'F7=open': likelihood is 0.0, must be a finite"),
    (("suspects", 0, "likelihood"), -1, "suspect 'F7=open': likelihood is -1.0, must be"),
    (("suspects", 0, "likelihood"), "3", "suspects[0].likelihood: got the string '3', must be a n"),
    (("suspects", 0, "likelihood"), True, "suspects[0].likelihood: got true, must be a number"),
    (("suspects", 0, "likelihood"), 10**400, "suspects[0].likelihood: the number is too large"),
    (("suspects", 0, "likelihood"), 1e-250, "suspect 'F7=open': likelihood is 1e-250, the largest"),
    (
        ("suspects", 0, "unit"),
        "fuze",
        "suspect 'F7=open': unit 'fuze' is unknown; known: 'fuse', '",
    ),
    (("suspects", 0, "unit"), ..., "suspect 'F7=open': has no unit; with units every suspect ne"),
    (("suspects", 1), SUSPECT, "suspect 'F7=open' is there twice"),
    (("units",), ..., "suspect 'F7=open': unit 'fuse' is unknown; none is listed"),
    (("units", 0, "minutes"), -8, "unit 'fuse': minutes is -8.0, must be from 0 to 1e+09"),
    (("units", 0, "price"), 8, "units[0]: unknown key 'price'; allowed: name, minutes"),
    (("units", 1, "name"), "fuse", "unit 'fuse' is there twice"),
    (("places", 0, "minutes"), -1, "place 'panel': minutes is -1.0, must be from 0 to 1e+09"),
    (("places", 0, "again"), -0.5, "place 'panel': again is -0.5, must be from 0 to 1e+09"),
    (("places", 0, "again"), 2.5, "place 'panel': again is 2.5, must be at most its minutes, 2.0"),
    (("places", 0, "name"), "boot", "place 'boot' is there twice"),
    (("places",), [{"name": f"p{g}", "minutes": 1} for g in range(61)], "places: got 61, allowed"),
    (("tests", 0, "outcomes"), ["yes"], "test 'click': outcomes has 1 labels, must have 2"),
    (("tests", 0, "outcomes"), ["a", "b", "c"], "test 'click': outcomes has 3 labels, must"),
    (("tests", 0, "outcomes"), "yn", "tests[0].outcomes: got the string 'yn', must be a list"),
    (("tests", 0, "outcomes", 1), None, "tests[0].outcomes[1]: got null, must be a string or a w"),
    (("tests", 0, "outcomes", 1), 0.5, "tests[0].outcomes[1]: got the number 0.5, must be"),
    (("tests", 0, "minutes"), -0.1, "test 'click': minutes is -0.1, must be from 0 to 1e+09"),
    (("tests", 0, "minutes"), 2e9, "test 'click': minutes is 2000000000.0, must be from 0 to 1e+0"),
    (("tests", 0, "minutes"), ..., "tests[0]: key 'minutes' is missing"),
    (("tests", 0, "name"), "lamp", "test 'lamp' is there twice"),
    (("tests", 1, "place"), "roof", "test 'lamp': place 'roof' is unknown; known: 'panel', 'boot'"),
    (("tests", 1, "places"), ["boot"], "tests[1]: has both 'place' and 'places'; give one"),
    (("tests", 2, "places"), ["boot", "boot"], "test 'drop': a place stands twice in its places"),
    (("tests", 2, "places"), [3], "tests[2].places[0]: got the number 3, must be a string"),
]


@pytest.mark.parametrize(
    ("path", "value", "line"), MISTAKES, ids=[f"{n} {m[2][:40]}" for n, m in enumerate(MISTAKES)]
)
def test_a_mistake_is_one_clear_line(path: tuple[str | int, ...], value: object, line: str) -> None:
    with pytest.raises(ProblemError) as caught:
        read_problem(changed(path, value))
    assert str(caught.value).startswith(line)
    assert "\n" not in str(caught.value)


@pytest.mark.parametrize(
    ("text", "line"),
    [
        ("", "not JSON at line 1 column 1"),
        ('{"format": "policy-problem",\n "version": 1,,}', "not JSON at line 2 column 15"),
        ("[" * 100_000, "not a policy problem: lists or objects nested too deep"),
        ("[]", "problem: got a list, must be an object"),
        ("null", "problem: got null, must be an object"),
        ("NaN", "NaN is no number in JSON"),
        ('{"version": -Infinity}', "-Infinity is no number in JSON"),
        ('{"version": 1, "version": 1}', "key 'version' stands twice in one object"),
        ("9" * 5000, "not JSON that can be read"),
        ('{"format": "policy-problem", "version": 3, "new": 1}', "problem.version: 3 is too new"),
    ],
    ids=range(10),
)
def test_what_is_no_problem_at_all_is_one_clear_line(text: str, line: str) -> None:
    with pytest.raises(ProblemError) as caught:
        read_problem(text)
    assert str(caught.value).startswith(line)
    assert "\n" not in str(caught.value)


def test_a_name_on_two_lines_still_gives_one_line() -> None:
    with pytest.raises(ProblemError) as caught:
        read_problem(changed(("suspects", 0, "unit"), "no\nsuch"))
    assert "\n" not in str(caught.value)
    with pytest.raises(ProblemError) as caught:
        read_problem(changed(("units", 0, "name"), "fu\nse"))
    assert "\n" not in str(caught.value)


@pytest.mark.parametrize("weight", [math.nan, math.inf, 0.0, -1.0])
def test_a_problem_made_by_hand_is_checked_too(weight: float) -> None:
    with pytest.raises(ProblemError, match=r"^suspect 'a': likelihood is"):
        Problem((Suspect("a", weight),), ())


def test_the_errors_are_one_tree() -> None:
    assert issubclass(ProblemError, GraderError)
