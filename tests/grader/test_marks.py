"""Each line of the sheet loses exactly what its rule says, and names step and reason."""

import pytest

from grader.efficiency import LEAST_TOLERANCE, charged_of, share_kept, tolerated
from grader.marks import CONFIRMED, EARLY_STRIKE, Mark
from grader.policy import Bounds
from grader.record import Entry
from grader.verification import action_of, item_words, unverified
from tests.grader.foggy import OFF, ON, Worker, foggy, prepared

HINGE = "C41.1=high resistance:0.8 ohm"
COIL = "K3=coil open"
EFFICIENCY, CALL, REASONING, SAFE, CHECKED = range(5)
WEIGHTS = (40.0, 25.0, 15.0, 10.0, 10.0)
EFFICIENCY_POINTS = WEIGHTS[EFFICIENCY]


def confirmed(cause: str = HINGE) -> Worker:
    worker = Worker(cause)
    worker.confirm()
    return worker


def ended(worker: Worker) -> tuple[Mark, ...]:
    """Go on as well as can be, verify, close; give the lines of the sheet."""
    worker.go_on_best()
    worker.finish()
    return worker.sheet().marks


def test_a_full_path_gets_everything():
    marks = ended(confirmed())
    assert [mark.of for mark in marks] == list(WEIGHTS)
    assert [mark.points for mark in marks] == pytest.approx(list(WEIGHTS))
    assert [mark.line for mark in marks] == [
        "efficiency",
        "right call, proven",
        "reasoning",
        "safe work",
        "complaint and repair checked",
    ]
    assert all(mark.reason for mark in marks)


@pytest.mark.parametrize("cause", [s.name for s in prepared().lineup.suspects][::6])
def test_a_full_path_gets_everything_whatever_the_cause(cause):
    assert sum(mark.points for mark in ended(confirmed(cause))) == pytest.approx(100.0)


# -- without the right repair


def test_without_the_right_repair_there_is_nothing():
    worker = confirmed(COIL)
    worker.strike("E9=all lines open")
    worker.call("hinge joint")
    number = worker.entries[-1].number
    worker.finish()
    marks = worker.sheet().marks
    assert [mark.points for mark in marks] == [0.0] * 5
    assert marks[CALL].step == number
    assert "called hinge joint" in marks[CALL].reason


def test_an_empty_record_is_worth_nothing_and_says_so():
    marks = Worker(HINGE).sheet().marks
    assert [mark.points for mark in marks] == [0.0] * 5
    assert all(mark.reason for mark in marks)


# -- efficiency


@pytest.mark.parametrize(
    ("value", "charged", "share"),
    [(4.0, 0.0, 1.0), (4.0, 4.0, 0.5), (4.0, 12.0, 0.25), (8.0, 8.0, 0.5), (4.0, -1.0, 1.0)],
)
def test_efficiency_is_the_value_over_value_and_what_was_given_away(value, charged, share):
    assert share_kept(value, charged) == share


@pytest.mark.parametrize("value", [0.0, 0.7, 2.0, 4.0])
def test_a_case_of_few_minutes_is_scaled_as_an_ordinary_one(value):
    assert share_kept(value, 4.0) == share_kept(4.0, 4.0)


@pytest.mark.parametrize(
    ("lower", "upper", "minutes"),
    [(1.0, 1.0, 2.0), (8.0, 8.0, 2.0), (12.0, 12.0, 3.0), (4.0, 6.0, 4.0)],
)
def test_two_minutes_a_quarter_of_v_or_twice_the_gap_are_not_charged(lower, upper, minutes):
    start = Bounds(lower, upper)
    assert tolerated(start) == minutes
    assert charged_of(minutes, start) == 0.0
    assert charged_of(minutes + 1.5, start) == pytest.approx(1.5)
    assert tolerated(start) >= LEAST_TOLERANCE


def test_efficiency_names_the_worst_step_and_what_was_better():
    worker = confirmed()
    worker.do(set=OFF)
    worker.do(measure="ohms", red="E9.1b", black="E9.2b")  # nine minutes for the trim
    number = worker.entries[-1].number
    mark = ended(worker)[EFFICIENCY]
    sheet = worker.sheet()
    assert mark.points == pytest.approx(40.0 * share_kept(sheet.value, sheet.charged))
    assert mark.points < 25.0
    assert mark.step == number
    assert "ohms from E9.1b to E9.2b" in mark.reason
    assert "listen to K3" in mark.reason


# -- the call


def test_a_wrong_call_before_takes_four_tenths_of_its_line():
    worker = confirmed()
    worker.call("relay K3")
    mark = ended(worker)[CALL]
    assert mark.points == pytest.approx(0.6 * 25.0)
    assert "In vain before it: called relay K3" in mark.reason
    worker = confirmed()
    for unit in ("relay K3", "fuse F7"):
        worker.call(unit)
    assert ended(worker)[CALL].points == pytest.approx(0.2 * 25.0)
    worker = confirmed()
    for unit in ("relay K3", "fuse F7", "window glass"):
        worker.call(unit)
    assert ended(worker)[CALL].points == 0.0


def test_a_right_call_without_proof_keeps_half_of_its_line():
    worker = confirmed(COIL)
    assert worker.call("relay K3")  # a hunch
    number = worker.entries[-1].number
    worker.finish()
    mark = worker.sheet().marks[CALL]
    assert mark.points == pytest.approx(0.5 * 25.0)
    assert mark.step == number
    chance = sum(
        p
        for p, s in zip(prepared().likelihoods(), prepared().lineup.suspects, strict=True)
        if s.unit.name == "relay K3"
    )
    assert f"only {100 * chance:.0f} % when" in mark.reason


def test_another_cause_named_in_the_right_unit_costs_nothing_and_is_told():
    marks = {}
    for named in (HINGE, "C41.1=high resistance:2 ohm"):
        worker = confirmed()
        worker.do(look="tailgate hinge")
        assert worker.call("hinge joint", named)
        worker.finish()
        marks[named] = worker.sheet().marks[CALL]
    same, other = marks.values()
    assert same.points == other.points == 25.0
    assert "You named" not in same.reason
    told = "You named C41.1 high resistance, 2 Ω; it was C41.1 high resistance, 0.8 Ω."
    assert told in other.reason


def test_an_unproven_call_after_a_wrong_one_keeps_a_tenth():
    worker = confirmed(COIL)
    worker.call("hinge joint")
    worker.call("relay K3")
    worker.finish()
    assert worker.sheet().marks[CALL].points == pytest.approx(0.1 * 25.0)


# -- reasoning


def test_strikes_that_the_evidence_bears_out_lose_nothing():
    worker = confirmed()
    worker.do(set={"key": "run", "heater switch": "off"})
    assert worker.do(listen="K3", set={"heater switch": "on"}) == "clicks"
    worker.strike(COIL, "K3.85=open", "K3.86=open", "wire 5=open")
    mark = ended(worker)[REASONING]
    assert (mark.points, mark.step) == (15.0, None)
    assert "(4)" in mark.reason


def test_each_early_strike_takes_a_fifth_and_the_first_is_named():
    worker = confirmed()
    worker.strike(COIL)
    number = worker.entries[-1].number
    mark = ended(worker)[REASONING]
    assert mark.points == pytest.approx(0.8 * 15.0)
    assert mark.step == number
    assert mark.reason.startswith("K3 coil open was struck")  # as the screen calls it
    worker = confirmed()
    worker.strike(COIL, "F7=open", "X7=open")
    mark = ended(worker)[REASONING]
    assert mark.points == pytest.approx((1 - 3 * EARLY_STRIKE) * 15.0)
    assert "and 2 more" in mark.reason
    worker = confirmed()
    worker.strike(*[s.name for s in prepared().lineup.suspects][:9])
    assert ended(worker)[REASONING].points == 0.0


def test_keeping_a_suspect_is_never_marked():
    mark = ended(confirmed())[REASONING]
    assert (mark.points, mark.reason) == (15.0, "Nothing was struck too early.")


def test_strikes_after_the_right_call_are_not_looked_at():
    worker = confirmed()
    worker.go_on_best()
    worker.strike(HINGE)
    worker.finish()
    assert worker.sheet().marks[REASONING].points == 15.0


# -- safe work


def test_each_thing_broken_takes_half():
    worker = confirmed()
    worker.do(set=OFF)
    worker.do(bridge=["B1.+", "B1.-"])
    number = worker.entries[-1].number
    worker.do(unbridge=True)
    mark = ended(worker)[SAFE]
    assert mark.points == pytest.approx(0.5 * 10.0)
    assert (mark.step, mark.reason) == (number, "the jumper's fuse has blown")


def test_a_caution_gone_against_takes_a_quarter_each_time():
    for times in (1, 2):
        worker = confirmed()
        for _time in range(times):
            worker.do(measure="ohms", red="F9.1b", black="F9.2b")  # live
        mark = ended(worker)[SAFE]
        assert mark.points == pytest.approx((1 - 0.25 * times) * 10.0)
        assert mark.step == 5  # after opening, set, wait and two looks
        assert mark.reason.startswith("Ohms, continuity and diode test only with the key off")


def test_an_ammeter_across_the_battery_is_both():
    worker = confirmed()
    worker.do(measure="amps", red="B1.+", black="B1.-")
    mark = ended(worker)[SAFE]
    assert mark.points == pytest.approx(0.25 * 10.0)
    assert "the meter's fuse has blown; The ammeter goes in series" in mark.reason


def test_careless_work_keeps_its_line_of_efficiency_and_loses_that_of_safe_work():
    """What it may break counts as minutes too, and is named as the step that gave most away."""
    careful, careless = confirmed(), confirmed()
    for worker in (careful, careless):
        worker.do(set=OFF)
        worker.do(measure="volts", red="B1.+", black="B1.-")
        if worker is careless:
            worker.do(measure="amps", red="B1.+", black="B1.-")  # blows the meter's fuse
        worker.do(set=ON)
        if worker is careless:
            worker.do(measure="ohms", red="F9.1b", black="F9.2b")  # live
    with_care, without = ended(careful), ended(careless)
    assert with_care[SAFE].points == 10.0
    assert without[SAFE].points == 0.0
    assert without[SAFE].reason.startswith("the meter's fuse has blown")
    assert 0.4 * EFFICIENCY_POINTS < without[EFFICIENCY].points < with_care[EFFICIENCY].points
    assert [m.points for m in without[1:3]] == [m.points for m in with_care[1:3]]


def test_what_the_fault_blows_is_nobodys_harm():
    worker = confirmed("wire 7=short to ground:0.1 ohm")
    worker.do(look="fuse panel")
    assert ended(worker)[SAFE].points == 10.0


def test_cautions_kept_lose_nothing():
    worker = confirmed()
    worker.do(set=OFF)
    worker.do(measure="ohms", red="F9.1b", black="F9.2b")
    worker.do(measure="amps", red="F9.1b", black="F9.2b")
    worker.do(renew="F9")
    assert ended(worker)[SAFE].points == 10.0


# -- complaint and repair checked


def test_a_complaint_not_confirmed_takes_four_tenths():
    mark = ended(Worker(HINGE))[CHECKED]
    assert mark.points == pytest.approx((1 - CONFIRMED) * 10.0)
    assert "rear window clears, switch lamp lights" in mark.reason
    worker = Worker(HINGE)
    worker.do(set=ON)
    worker.do(watch="switch lamp lights")
    mark = ended(worker)[CHECKED]
    assert mark.points == pytest.approx((1 - CONFIRMED) * 10.0)
    assert "not confirmed before the first call: rear window clears." in mark.reason


def test_a_complaint_looked_at_only_after_a_first_call_is_not_confirmed():
    worker = Worker(HINGE)
    worker.call("relay K3")
    worker.confirm()
    assert ended(worker)[CHECKED].points == pytest.approx((1 - CONFIRMED) * 10.0)


WHOLE = (
    {"set": ON},
    {"wait": "5 min"},
    {"watch": "rear window clears"},
    {"clamp": "wire 8"},
    {"set": {"heater switch": "off"}},
    {"clamp": "wire 8"},
)


@pytest.mark.parametrize(
    ("left_out", "missed"),
    [
        ((), 0),
        ((2,), 1),  # not watched
        ((1,), 1),  # not waited: it does not clear yet
        ((3,), 1),  # not clamped while on
        ((5,), 1),  # not clamped while off
        ((4,), 1),  # never switched off
        ((0,), 2),  # never switched on
        ((2, 3), 2),
        ((0, 1, 2, 3, 4, 5), 3),
    ],
    ids=str,
)
def test_each_item_of_the_verification_left_out_takes_its_share(left_out, missed):
    worker = confirmed()
    worker.go_on_best()
    worker.put_back()
    worker.do(set=OFF)
    for index, do in enumerate(WHOLE):
        if index not in left_out:
            worker.do(**do)
    mark = worker.sheet().marks[CHECKED]
    assert mark.points == pytest.approx((1 - 0.6 * missed / 3) * 10.0)
    assert ("Not verified" in mark.reason) == (missed > 0)


@pytest.mark.parametrize(
    "left", [{"unplug": "H1"}, {"pull": "F9"}, {"swap": ["K3", "K5"]}, {"bridge": ["B1.+", "30"]}]
)
def test_what_is_left_apart_exchanged_or_bridged_takes_one_share(left):
    worker = confirmed()
    worker.go_on_best()
    worker.finish()
    worker.entries.pop()  # the end
    worker.do(**left)
    mark = worker.sheet().marks[CHECKED]
    assert mark.points == pytest.approx((1 - 0.6 / 3) * 10.0)
    assert "something was left unplugged, exchanged or bridged" in mark.reason


def test_what_was_seen_before_the_repair_verifies_nothing():
    worker = confirmed()
    for do in WHOLE:
        worker.do(**do)
    worker.go_on_best()
    assert worker.sheet().marks[CHECKED].points == pytest.approx(CONFIRMED * 10.0)


def test_a_current_is_checked_in_amperes_however_it_is_shown():
    check = foggy().verify[1]
    worker = confirmed()
    worker.go_on_best()
    repair = worker.entries[-1].number
    worker.do(set=ON)
    worker.do(clamp="wire 8")
    situations = [worker.vehicle.bench.situation] * len(worker.entries)
    words = item_words(check)
    assert words.endswith("wire 8 (key run, heater switch on)")
    assert words not in unverified(prepared(), worker.entries, situations, repair)
    data = dict(worker.entries[-1].data)
    for shown, holds in (
        ({"value": "13000", "unit": "mA"}, True),
        ({"value": "13", "unit": "mA"}, False),
        ({"value": "OL", "unit": "A"}, False),
        ({"value": "16.0", "unit": "A"}, True),
        ({"value": "16.1", "unit": "A"}, False),
    ):
        entries = [*worker.entries[:-1], Entry(repair + 2, "act", {**data, "shown": shown})]
        assert (words not in unverified(prepared(), entries, situations, repair)) == holds


def test_asking_is_no_work_at_the_bench():
    assert action_of(Entry(1, "act", {"do": {"ask": "Since when?"}})) is None
    assert action_of(Entry(1, "note", {"text": "x"})) is None
    assert action_of(Entry(1, "act", {"do": {"feel": "E9"}})).verb == "feel"
