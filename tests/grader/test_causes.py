"""Causes that are no failed part are suspects like any other: drawn, proven, called, scored.

The two cases are invented. That a lamp for 24 V on 12 V has about a third of its power follows from
the exponents in `sim/parts/lamp.py`, whose sources stand there.
"""

from functools import cache
from pathlib import Path
from tempfile import TemporaryDirectory

import pytest

from grader.attempt import Attempt, Vehicle
from grader.authoring import ambiguity_groups, ruled_out_by_complaint
from grader.besttree import best_tree, tree_lines
from grader.casefile import Case, read_case
from grader.draw import Draw, draw, lesson_key
from grader.errors import CaseFileError
from grader.game import Board, Game
from grader.linedup import lined_up
from grader.prepared import Prepared, prepare
from grader.reasonwords import bare_name, suspects_words
from grader.record import read_record
from grader.replay import replay
from grader.score import score
from grader.solvers import best_path, greedy, parts_swapper, seeded
from grader.suspects import line_up
from grader.suspectwords import suspect_words
from tests.grader.foggy import LESSONS

CIRCUITS = LESSONS / "circuits"
DOOR, TODAY, LORRY = "the rear door stood open", "it does not come today", "lorry bulbs"
BURNS = """
format: case
version: 1
id: burns-all-night
order: "0199"
circuit: cargo-lamp
complaint: >-
  Brill, beekeeper: "The light in the back burns when I come to the van. The button is off."
shows:
  - set: {rear door: closed, cab lamp: off, load-space switch: off}
    sees: {front load lamp glows: yes, rear load lamp glows: yes}
questions:
  - ask: Was the rear door shut?
    minutes: 1
    answer: "It hangs on a strap, for the bees."
    makes likelier: {the rear door stood open: 8}
start: {load-space switch: off, rear door: closed, cab lamp: off}
confirm:
  set: {rear door: closed, cab lamp: off, load-space switch: off}
  sees: {front load lamp glows: yes, rear load lamp glows: yes}
verify:
  - set: {load-space switch: off, rear door: closed}
    do: {watch: front load lamp glows}
    expect: no
varies: {B1.charge: [70 %, 95 %]}
likelihoods:
  bee keepers: {the rear door stood open: 3}
causes:
  the rear door stood open:
    kind: works as designed
    likelihood: 2
    shows: [{set: {rear door: open}, sees: {rear load lamp glows: yes}}]
  it does not come today: {kind: cannot be proven today, likelihood: 1}
units:
  meant to burn then:
    mends: [the rear door stood open]
    labour: 2 min
    options: {explain: {price: 0}}
  come again when it burns:
    mends: [it does not come today]
    labour: 2 min
    options: {lend a logger: {price: 15}}
  dash switch S3: {mends: [S3=stuck closed], labour: 8 min, options: {new: {price: 24}}}
  door contact S8: {mends: [S8=stuck closed], labour: 10 min, options: {new: {price: 12}}}
  wires behind the lining:
    mends: [wire 5=*, wire 6=*, wire 7=*, wire 9=*, E1=*, E2=*]
    labour: 25 min
    options: {repair in place: {price: 3}}
"""
DIM = (LESSONS / "source" / "01-voltage-that-cannot-work" / "dim-load-lamps.case.yaml").read_text(
    encoding="utf-8"
)
DIM += """
  bulbs: {mends: [lorry bulbs], labour: 4 min, options: {new: {price: 6}}}
causes:
  lorry bulbs:
    kind: earlier repair
    likelihood: 2
    sets: {E1.voltage: 24 V, E2.voltage: 24 V}
"""


def written(text: str) -> Case:
    with TemporaryDirectory() as folder:
        file = Path(folder) / "a.case.yaml"
        file.write_text(text, encoding="utf-8")
        return read_case(file, CIRCUITS)


@cache
def burns() -> Prepared:
    return prepare(written(BURNS))


def vehicle(prepared: Prepared, cause: str) -> Vehicle:
    return Vehicle(prepared.lineup, Draw(cause, {"B1.charge": 0.8}, "tag"))


def seen(car: Vehicle, effect: str, door: str) -> str:
    car.act({"set": {"rear door": door}})
    return car.act({"watch": effect})["shown"]["words"]


def test_they_stand_behind_the_faults_of_the_circuit_with_their_likelihoods():
    suspects = burns().lineup.suspects
    assert [s.name for s in suspects][-2:] == [DOOR, TODAY]
    chances = burns().likelihoods()
    stuck = burns().lineup.index("S8=stuck closed")
    assert chances[-2] / chances[stuck] == pytest.approx(2 / 0.8)  # likelihood of the circuit file
    assert suspects[-1].unit.name == "come again when it burns"


def test_a_question_and_an_opinion_can_be_about_one_of_them():
    before, after = burns().likelihoods(), burns().likelihoods(("Was the rear door shut?",))
    ratio = (after / before)[-2] / (after / before)[0]
    assert ratio == pytest.approx(8.0)
    assert burns().case.alternatives == (("bee keepers", ((DOOR, 3.0),)),)


def test_a_vehicle_that_works_as_designed_is_a_sound_one_and_a_call_leaves_it_alone():
    car = vehicle(burns(), DOOR)
    assert seen(car, "rear load lamp glows", "closed") == "no"
    assert seen(car, "rear load lamp glows", "open") == "yes"
    circuit = car.bench.circuit
    told = car.call("meant to burn then", DOOR, "")
    assert (told["option"], told["minutes"]) == ("explain", "2")
    assert car.progress.mended
    assert car.bench.circuit == circuit


def test_a_wrong_part_on_a_vehicle_that_works_as_designed_is_no_cure():
    car = vehicle(burns(), DOOR)
    car.call("door contact S8", "S8=stuck closed", "")
    assert not car.progress.mended


def test_an_earlier_repair_has_other_values_until_it_is_put_right():
    case = written(DIM)
    lineup = line_up(case)
    assert lineup.suspects[-1].sets == (("E1.voltage", 24.0), ("E2.voltage", 24.0))
    values = {name: low for name, (low, _high) in case.varies.items()}
    car = Vehicle(lineup, Draw(LORRY, values, "tag"))
    car.act({"set": {"load-space switch": "on"}})
    clamped = {"clamp": "wire 3"}
    dim = float(car.act(clamped)["shown"]["value"])
    car.call("bulbs", LORRY, "new")
    bright = float(car.act(clamped)["shown"]["value"])
    # I ~ V^0.55: a lamp of the same power for twice the voltage takes 0.5 x 0.5^0.55 of the current
    assert dim / bright == pytest.approx(0.5 * 0.5**0.55, rel=0.05)
    assert car.bench.circuit.parts["E1"].values["voltage"] == 12.0


def test_what_cannot_be_proven_today_need_not_show_the_complaint():
    car = vehicle(burns(), TODAY)
    assert seen(car, "front load lamp glows", "closed") == "no"


def test_two_of_them_on_sound_vehicles_are_told_apart_by_no_reading():
    apart = [group for group in ambiguity_groups(burns()) if DOOR in group.suspects]
    assert [group.suspects for group in apart] == [(DOOR, TODAY)]


@pytest.mark.parametrize("player", [best_path, greedy, parts_swapper])
def test_luck_has_a_mean_of_zero_with_them_too(player):
    board = Board(burns())
    games = [Game(board, truth) for truth in range(len(board.chances))]
    for game in games:
        player(game, seeded(1))
        assert game.mended
        assert game.charged >= 0.0
    without_luck = sum(
        float(p) * (game.excess - game.drift) for p, game in zip(board.chances, games, strict=True)
    )
    start = Game(board, 0)
    value = board.policy.value(start.possible, start.opened, start.here).upper
    assert without_luck == pytest.approx(value, abs=1e-9)
    if player is best_path:
        assert max(game.charged for game in games) < 1e-9


def test_the_best_path_tells_the_customer():
    lines = list(tree_lines(burns(), best_tree(burns())))
    assert any("tell the customer: meant to burn then" in line for line in lines)
    assert (
        lines[-1].strip() == "complaint still there: -> tell the customer: come again when it burns"
    )


def test_they_are_named_in_reasons_by_what_they_are():
    assert suspects_words([DOOR]) == "“the rear door stood open” as the cause"
    both = suspects_words(["S8=stuck closed", DOOR, TODAY])
    assert both == (
        "S8 stuck closed, or with “the rear door stood open” or “it does not come today” as the "
        "cause"
    )


def test_they_are_drawn_as_often_as_they_are_likely():
    lineup, key = burns().lineup, lesson_key(b"secret", "99")
    names = [draw(lineup, key, f"s{n}").cause for n in range(2000)]
    share = names.count(DOOR) / len(names)
    expected = float(burns().likelihoods()[-2])
    assert share == pytest.approx(expected, abs=4 * (expected * (1 - expected) / 2000) ** 0.5)


def test_they_are_kept_by_content_like_the_others(tmp_path):
    case = written(BURNS)
    first, again = lined_up(case, tmp_path), lined_up(case, tmp_path)
    assert [s.name for s in first.suspects] == [s.name for s in again.suspects]
    assert again.suspects[-1].name == TODAY


def test_a_fault_nobody_mends_explains_nothing_where_a_sound_vehicle_shows_the_complaint():
    old = "shows: [{set: {rear door: open}, sees: {rear load lamp glows: yes}}]"
    text = BURNS.replace(
        "{rear door: closed, cab lamp: off, load-space switch: off}\n    sees",
        "{rear door: open, cab lamp: off, load-space switch: off}\n    sees",
        1,
    )
    assert text.count("rear door: open, cab lamp") == 1
    lineup = line_up(written(text.replace(f"    {old}\n", "")))
    assert "B1=high resistance:0.08 ohm" not in [s.name for s in lineup.suspects]
    assert "S8=stuck closed" in [s.name for s in lineup.suspects]
    told = ruled_out_by_complaint(prepare(lineup.case))
    assert "a sound vehicle shows the complaint too" in " ".join(one.would for one in told)


MISTAKES = [
    ("kind: works as designed", "kind: works as planned", "kind is 'works as planned', allowed"),
    ("kind: works as designed", "kind: earlier repair", "needs `sets`"),
    ("likelihood: 2\n", "likelihood: 2\n    sets: {E1.power: 5 W}\n", "leave out `sets`"),
    ("    likelihood: 2\n", "    likelihood: 0\n", "likelihood must be above 0"),
    ("mends: [it does not come today]", "mends: [S3=open]", "no unit mends it"),
    ("  it does not come today: {", "  S3=nothing: {", "reads as a fault or a part"),
    ("  it does not come today: {", "  E1.old: {", "reads as a fault or a part"),
    (
        "{kind: cannot be proven today, likelihood: 1}",
        "{kind: cannot be proven today, likelihood: 1, shows: [{sees: {cab lamp lights: no}}]}",
        "shows nothing today",
    ),
    ("sees: {rear load lamp glows: yes}}]", "sees: {moon shines: yes}}]", "moon shines"),
    (
        "mends: [it does",
        "mends: [it dos not come today, it does",
        "did you mean 'it does not come today'",
    ),
]


@pytest.mark.parametrize(("old", "new", "told"), MISTAKES)
def test_a_mistake_in_one_is_told_with_its_line(old, new, told):
    assert old in BURNS
    with pytest.raises(CaseFileError, match=told) as caught:
        written(BURNS.replace(old, new, 1))
    assert "a.case.yaml:" in str(caught.value)


def test_a_value_that_cannot_differ_is_told():
    with pytest.raises(CaseFileError, match=r"PART\.parameter"):
        written(DIM.replace("E1.voltage: 24 V", "E1.colour: red"))


@pytest.mark.parametrize("pins", ["1", "9"])
def test_a_value_that_would_make_another_network_is_told_with_its_line(pins):
    with pytest.raises(CaseFileError, match=r"a\.case\.yaml:\d+: Z1\.pins, .*other points"):
        written(DIM.replace("E1.voltage: 24 V", f"Z1.pins: {pins}"))
    varied = f"varies: {{Z1.pins: [{pins}, {pins}], B1.charge:"
    with pytest.raises(CaseFileError, match=r"Z1\.pins: .*other points"):
        written(BURNS.replace("varies: {B1.charge:", varied))


def test_what_an_earlier_repair_altered_is_put_right_where_it_is():
    """The way there is no extra cost, as with a part that failed."""
    assert written(DIM).unit("bulbs").places == (written(DIM).circuit.parts["E1"].at,)
    assert written(BURNS).unit("meant to burn then").places == ()


@pytest.mark.parametrize("name", ["latch: left open", "latch + strap", "shut or not; perhaps"])
def test_a_cause_is_named_as_the_case_names_it(name):
    assert bare_name(name) == name
    assert suspect_words(name) == name
    assert suspects_words([name]) == f"“{name}” as the cause"


def test_a_cause_that_would_not_look_like_the_complaint_is_refused():
    with pytest.raises(CaseFileError, match="does not show the complaint"):
        line_up(written(BURNS.replace("shows: [{set: {rear door: open}", "shows: [{set: {}")))
    with pytest.raises(CaseFileError, match="a vehicle with it does not show"):
        line_up(written(DIM.replace("E1.voltage: 24 V, E2.voltage: 24 V", "E1.power: 11 W")))


def test_a_record_that_ends_in_a_word_to_the_customer_is_replayed_and_scored(tmp_path):
    """On the bench, with the questions: the best of the case's points for a call that is proven."""
    ready, path = burns(), tmp_path / "burns.record.jsonl"
    drawn = Draw(DOOR, {"B1.charge": 0.8}, "tag")
    with Attempt(ready.lineup, drawn, "kim", path) as attempt:
        for effect in ("front load lamp glows", "rear load lamp glows"):
            attempt.act({"watch": effect})
        attempt.act({"ask": "Was the rear door shut?"})
        attempt.strike([s.name for s in ready.lineup.suspects if s.faults])
        attempt.call("meant to burn then", DOOR)
        attempt.act({"set": {"load-space switch": "off", "rear door": "closed"}})
        attempt.act({"watch": "front load lamp glows"})
        attempt.close()
    played = replay(ready.lineup, drawn, "kim", read_record(path))
    assert played.mismatches == ()
    sheet = score(ready, drawn.cause, played.entries)
    assert sum(mark.points for mark in sheet.marks) == pytest.approx(100.0)
