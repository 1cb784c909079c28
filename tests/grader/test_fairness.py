"""Good habits lose nothing, and each allowance ends where it would become a loophole."""

import pytest

from grader.casefile import read_case
from grader.fairness import CHECKING, CONFIRMING, LOOKING, PROVING, REPAIRED, Allowance
from grader.judge import Judged
from lessons.catalogue import CIRCUITS, case_path
from sim.action import action_from_json
from sim.situation import Situation
from tests.grader.foggy import OFF, ON, Worker

HINGE = "C41.1=high resistance:0.8 ohm"
GLASS = "E9=all lines open"
COIL = "K3=coil open"
CLEARS, LIGHTS = "rear window clears", "switch lamp lights"
BATTERY = {"measure": "volts", "red": "B1.+", "black": "B1.-"}


def volts(red: str, black: str = "body") -> dict:
    return {"measure": "volts", "red": red, "black": black}


def judged(*actions: dict, cause: str = HINGE) -> list[Judged]:
    """Do these things from the start and judge them."""
    worker = Worker(cause)
    for do in actions:
        worker.do(**do)
    return worker.know().judged


def last(*actions: dict, cause: str = HINGE) -> Judged:
    return judged(*actions, cause=cause)[-1]


# -- confirming the complaint


def test_confirming_is_free_once_for_each_thing_to_be_seen():
    steps = judged({"set": ON}, {"wait": "5 min"}, {"watch": CLEARS}, {"watch": LIGHTS})
    assert [step.free for step in steps] == [CONFIRMING, CONFIRMING]
    assert steps[0].regret > 0.0  # it takes minutes and tells nothing, and is not charged
    assert [step.charged for step in steps] == [0.0, 0.0]


def test_confirming_is_free_also_after_a_first_reading():
    readings = [volts("K5.30"), {"wait": "5 min"}, {"watch": CLEARS}]
    assert last({"set": ON}, *readings).free == CONFIRMING


def test_a_second_confirmation_is_charged():
    step = last(
        {"set": ON},
        {"wait": "5 min"},
        {"watch": CLEARS},
        volts("K5.30"),  # ends the look-over
        {"watch": CLEARS},
    )
    assert step.free == ""
    # 0.5 back to the rear of the van, 0.2 to watch; and the hands may be wanted at the fuse panel
    assert 0.7 <= step.charged <= 0.7 + 0.5


def test_nothing_is_confirmed_before_it_could_show():
    # even a healthy window is fogged after a minute
    step = last({"set": ON}, volts("K5.30"), {"watch": CLEARS})
    assert step.free == ""
    worker = Worker(HINGE)
    worker.do(set=ON)
    worker.do(watch=CLEARS)
    assert worker.know().allowance.confirmed == set()


def test_nothing_is_confirmed_with_the_key_off():
    worker = Worker(HINGE)
    worker.do(set=OFF)
    worker.do(wait="5 min")
    worker.do(watch=CLEARS)
    worker.do(watch=LIGHTS)
    assert worker.know().allowance.confirmed == set()


def test_nothing_else_is_carried_along_free_with_a_confirmation():
    """Going everywhere first, to have been there: 9 min of trim are not part of confirming."""
    worker = Worker(HINGE)
    worker.do(unplug="E9")
    worker.do(plug="E9")
    worker.confirm()
    first, second = worker.know().judged
    assert (first.free, second.free) == ("", CONFIRMING)
    assert first.charged > 5.0


def test_what_is_put_back_may_come_before_a_confirmation():
    worker = Worker(HINGE)
    worker.do(**volts("F9.1b"))
    worker.do(pull="F9")
    worker.do(**volts("F9.1b"))
    worker.do(insert="F9")
    worker.confirm()
    assert [step.free for step in worker.know().judged[-2:]] == [CONFIRMING, CONFIRMING]


def test_watching_something_else_confirms_nothing():
    worker = Worker(HINGE)
    worker.do(set=ON)
    worker.do(**volts("K5.30"))
    worker.do(watch="horn sounds")
    assert worker.know().judged[-1].free == ""


# -- the look-over


def test_an_opening_look_over_loses_nothing():
    steps = judged(
        BATTERY,
        {"look": "engine bay"},
        {"set": {"key": "run"}},
        {"listen": "K3", "set": {"heater switch": "on"}},
        {"look": "fuse panel"},
        {"wait": "1 min"},
        {"feel": "E9"},
    )
    assert all(step.free == LOOKING for step in steps)
    assert sum(step.minutes for step in steps) <= 5.0
    assert sum(step.charged for step in steps) == 0.0
    assert sum(step.regret for step in steps) > 1.0


def test_what_is_seen_in_the_look_over_counts():
    assert last({"look": "tailgate hinge"}).after.bit_count() < 10


def test_the_look_over_ends_after_five_minutes():
    steps = judged({"look": "fuse panel"}, {"look": "engine bay"}, {"look": "tailgate hinge"})
    assert [step.free for step in steps] == [LOOKING, LOOKING, ""]  # 2.3, 1.3; 3.3 is too much
    # what still fits is not free any more: the look-over is over
    after = last(
        {"look": "fuse panel"},
        {"look": "engine bay"},
        {"look": "tailgate hinge"},
        {"watch": "horn sounds"},
        cause=COIL,
    )
    assert after.free == ""


def test_the_look_over_ends_with_the_first_reading():
    steps = judged(BATTERY, volts("K5.30"), {"look": "engine bay"})
    assert [step.free for step in steps] == [LOOKING, "", ""]


def test_fuse_tops_belong_to_the_look_over_by_meter_or_by_lamp():
    """Every technician goes over the fuses first; their tops are bare, nothing is taken apart."""
    fuses = ["F7.1b", "F7.2b", "F12.1b", "F12.2b"]
    for how in (volts, lambda p: {"lamp": True, "red": p, "black": "body"}):
        steps = judged({"set": ON}, *map(how, fuses))
        assert [step.free for step in steps] == [LOOKING] * 4
        assert sum(step.minutes for step in steps) <= 5.0
        assert sum(step.charged for step in steps) == 0.0
        assert sum(step.regret for step in steps) > 0.0


def test_holders_and_drops_are_no_fuse_tops():
    assert last({"pull": "F7"}, volts("F7.1")).free == ""
    assert last(volts("F7.1b", "F7.2b")).free == ""
    assert last(volts("F7.1b", "C41.1b")).free == ""


def test_of_volts_the_batterys_and_the_fuses_belong_to_the_look_over():
    for do in (volts("30"), volts("K3.30"), volts("B1.+", "K3.30"), volts("X1.ring")):
        assert last(do).free == "", do
    for do in (volts("B1.+"), volts("B1.+", "B1.-"), volts("body", "B1.+"), volts("31", "B1.-")):
        assert last(do).free == LOOKING, do
    assert last({"measure": "ohms", "red": "B1.+", "black": "B1.-"}).free == ""
    assert last({"clamp": "wire 12"}).free == ""
    assert last({"lamp": True, "red": "B1.+", "black": "body"}).free == ""


@pytest.mark.parametrize(
    "apart", [{"pull": "F7"}, {"unplug": "C41"}, {"swap": ["K3", "K5"]}, {"renew": "F7"}], ids=str
)
def test_nothing_is_taken_apart_in_a_look_over(apart):
    step = last(apart, {"look": "fuse panel"})
    assert step.free == ""
    assert step.charged > 0.0


def test_a_jumper_is_no_part_of_a_look_over():
    assert last({"bridge": ["B1.+", "F9.1b"]}, {"look": "fuse panel"}).free == ""


# -- proving before buying


def at_the_unit(cause: str) -> tuple[Worker, int]:
    """Work until all suspects left are in one unit, and no further; give the steps so far."""
    worker = Worker(cause)
    worker.confirm()
    while True:
        judge = worker.know()
        if len(judge.units(judge.possible)) == 1:
            return worker, len(judge.judged)
        names = [place.name for place in judge.policy.problem.places]
        opened, here = (
            sum(1 << names.index(place) for place in places)
            for places in (judge.situation.reached, judge.situation.here)
        )
        choice = judge.policy.best(judge.possible, opened, here, slack=0.0)
        assert choice.kind == "test"
        worker.take(judge.prepared.space.choices[choice.index])


def test_one_proof_of_a_cheap_unit_is_free_and_a_second_is_charged():
    worker, count = at_the_unit(HINGE)
    worker.do(**volts("C41.1a", "C41.1b"))
    worker.do(**volts("K3.87", "C41.1a"))
    proof, again = worker.know().judged[count:]
    assert (proof.free, proof.charged) == (PROVING, 0.0)
    assert proof.regret > 0.0
    assert again.free == ""
    assert again.charged == pytest.approx(again.minutes, abs=1e-9)


def test_a_dear_unit_may_be_proved_twice_and_no_more():
    worker, count = at_the_unit(GLASS)
    for point in ("E9.1b", "E9.2b", "X7.ring"):
        worker.do(measure="ohms", red=point, black="E9.1")
    frees = [step.free for step in worker.know().judged[count:] if step.kind == "test"]
    assert frees == [PROVING, PROVING, ""]


def test_nothing_is_proof_while_two_units_are_left():
    worker = Worker(HINGE)
    worker.confirm()
    worker.do(**volts("K5.30"))
    worker.do(**volts("K5.87"))
    assert all(step.free == "" for step in worker.know().judged[2:])


def test_a_path_with_every_habit_loses_nothing():
    """Look over, confirm, ask, find, prove, repair, verify: a good technician, start to end."""
    worker = Worker(HINGE)
    worker.do(**BATTERY)
    worker.do(look="engine bay")
    worker.confirm()
    worker.do(ask="Since when?")
    worker.go_on_best()
    called = worker.entries.pop()  # once more before buying
    worker = replay_without(worker, called.number)
    worker.do(**volts("C41.1a", "C41.1b"))
    assert worker.call("hinge joint")
    worker.finish()
    sheet = worker.sheet()
    assert sum(step.charged for step in sheet.steps) == pytest.approx(0.0, abs=1e-9)
    assert sheet.points == pytest.approx(100.0)


def replay_without(worker: Worker, number: int) -> Worker:
    """Give a worker who has done the same up to an entry."""
    again = Worker(worker.drawn.cause)
    for entry in worker.entries[1:number]:
        again.do(**entry.data["do"])
    return again


# -- left against right, and the codes, on vehicles that have them


def used(case: str, *actions: dict, minutes: float = 1.5) -> list[str]:
    """Use a shipped case's allowance, action by action, the bench as it stands at hand-over."""
    allowance = Allowance(read_case(case_path(case), CIRCUITS))
    done = (action_from_json(do) for do in actions)
    return [allowance.use([one], Situation(), minutes, None) for one in done]


LEFT, RIGHT = volts("E1.1"), volts("E3.1")  # dipped beams of the headlamps


def test_the_first_reading_once_more_on_the_other_side_is_free():
    assert used("one-dim-eye", LEFT, RIGHT) == ["", LOOKING]
    assert used("one-dim-eye", RIGHT, LEFT) == ["", LOOKING]


def test_left_against_right_is_one_reading_and_has_to_come_at_once():
    assert used("one-dim-eye", LEFT, RIGHT, RIGHT) == ["", LOOKING, ""]
    assert used("one-dim-eye", LEFT, volts("E1.2"), RIGHT) == ["", "", ""]
    assert used("one-dim-eye", LEFT, volts("E4.1")) == ["", ""]  # a main beam is no like of it


def test_left_against_right_comes_out_of_the_five_minutes():
    assert used("one-dim-eye", LEFT, RIGHT, minutes=6.0) == ["", ""]


def test_a_vehicle_without_sides_has_no_other_side():
    assert used("foggy-window", volts("C41.1a"), volts("C41.1b")) == ["", ""]


@pytest.mark.parametrize(
    "do",
    [
        {"look": "fuse panel"},
        {"smell": "engine bay"},
        {"touch": "X7"},
        {"feel": "E9"},
        {"listen": "K3", "set": {"heater switch": "on"}},
        {"watch": "horn sounds"},
    ],
    ids=lambda do: next(iter(do)),
)
def test_eyes_ears_nose_and_hand_belong_to_the_look_over_and_end_with_it(do):
    assert used("foggy-window", do) == [LOOKING]
    assert used("foggy-window", volts("K5.30"), do) == ["", ""]
    assert used("foggy-window", do, minutes=5.1) == [""]


def test_a_scan_of_the_codes_belongs_to_the_look_over():
    codes, data = {"scan": "codes"}, {"scan": "live data", "unit": "A1"}
    assert used("cold-at-the-lights", codes, data, codes) == [LOOKING, "", ""]


# -- safety, and the repair


def test_what_a_caution_asks_for_costs_nothing():
    careful = judged(
        {"set": ON}, volts("F9.1b"), {"set": OFF}, {"pull": "K3"}, {"set": ON}, volts("K3.30")
    )
    careless = judged({"set": ON}, volts("F9.1b"), {"pull": "K3"}, volts("K3.30"))
    assert [s.regret for s in careful] == pytest.approx([s.regret for s in careless], abs=1e-9)


def test_the_right_repair_and_verifying_it_lose_nothing():
    worker = Worker(HINGE)
    worker.confirm()
    worker.go_on_best()
    worker.finish()
    steps = worker.know().judged
    right = next(n for n, step in enumerate(steps) if step.right)
    assert steps[right].regret == 0.0
    assert steps[right + 1 :]
    assert all(step.free == REPAIRED for step in steps[right + 1 :])


def test_a_look_after_each_repair_is_free_because_its_price_is_in_the_call():
    worker = Worker(HINGE)
    worker.confirm()
    for unit in ("relay K3", "fuse F7"):
        assert not worker.call(unit)
        before = len(worker.know().judged)
        worker.do(set=OFF)
        worker.do(set=ON)
        worker.do(wait="5 min")
        for _twice in range(2):
            worker.do(watch=CLEARS)
            worker.do(**volts("F9.1b"))
        looks = [s for s in worker.know().judged[before:] if s.title == f"watched: {CLEARS}"]
        assert [step.free for step in looks] == [CHECKING, ""]
        assert looks[1].charged > 0.0


def test_a_look_after_a_repair_confirms_nothing_for_the_sheet():
    worker = Worker(HINGE)
    worker.call("relay K3")
    worker.confirm()
    assert worker.know().allowance.confirmed == set()


@pytest.mark.parametrize("cause", [COIL, GLASS, HINGE])
def test_an_allowance_is_used_up_by_what_it_was_given_for(cause):
    """However a path is begun, it never has more free proofs than two."""
    worker, _count = at_the_unit(cause)
    for _again in range(4):
        worker.do(**volts("K5.30"))
        worker.do(**volts("K5.87"))
    proofs = [step for step in worker.know().judged if step.free == PROVING]
    assert len(proofs) == (2 if cause == GLASS else 1)
