"""Every shipped case: who is suspected, what proves it, what a habit costs; and physics' answer.

What a case must be is ours. The physics of the mistakes is Ohm's law on the solved circuit: a meter
on volts takes next to no current, so a bad joint drops nothing until the load works.
"""

from collections import Counter
from functools import cache

import numpy as np
import pytest

from grader.attempt import Vehicle
from grader.bands import NO_CURRENT, OHM_LIMITS, UNITS, VOLT_LIMITS
from grader.casefile import Case, read_case
from grader.draw import Draw, assignable, draw, lesson_key
from grader.efficiency import charged_of, share_kept
from grader.judge import Judge
from grader.prepared import Prepared, prepare
from grader.score import par_minutes
from grader.suspects import (
    Lineup,
    corner_circuits,
    line_up,
    mending_unit,
    play,
    set_values,
    start_situation,
)
from lessons.catalogue import CIRCUITS, shipped_cases
from sim.action import Action, Reading, action_from_json
from sim.bench import Bench
from sim.faults import parse_faults, possible_faults, with_faults, write_faults
from sim.observe import observe
from sim.solver.steady import Solver

CASES = shipped_cases()
FIRST = ("00", "01")  # lessons where one test may be enough
PROVEN = 0.95
PAIRS = 1500  # of students, among whom draws are compared
PART, SUPPLY = VOLT_LIMITS
SHORT = OHM_LIMITS[0]

#: Faults that the complaint contradicts -> what the customer saw that they would not let him see.
CONTRADICTED = {
    "dark-load-space": {"F14=open": "cab lamp", "S3=contact open": "door", "E1=open": "rear lamp"},
    "dim-load-lamps": {"X1=high resistance:1.2 ohm": "cab lamp", "E1=open": "rear lamp"},
    "dark-at-the-door": {"C20.1=open": "dash switch", "S3=contact open": "door tried alone"},
    "no-light-by-switch": {"F14=open": "cab lamp", "X7=high resistance:40 ohm": "dash switch"},
    "one-dim-eye": {"E1=open": "it glows", "S4.1=contact burnt:0.8 ohm": "right lamp"},
    "two-candles": {"X2=high resistance:2 ohm": "right lamp", "wire 1=open": "they glow"},
    "ghost-on-main-beam": {"F2=open": "left lamp", "E3=open": "main beam"},
    "weak-main-beam": {"S2.2=contact burnt:0.8 ohm": "dipped beam", "E2=open": "both"},
    "quiet-horn": {"F9=open": "interior lamp", "H1=open": "low horn"},
    "hoarse-horn": {"K5=coil open": "it croaks", "C8.1=open": "it croaks"},
    "no-fog-lamps": {"S2=contact open": "lamp in the switch", "E1=open": "right lamp"},
    "foggy-window": {"F12=open": "lamp in the switch", "S4=contact open": "lamp in the switch"},
    "cold-at-the-lights": {"R4=open": "warning lamp goes out", "wire 12=open": "heater is off"},
    "a-noise-that-will-not-go": {"M1=dead": "it hums", "X2=open": "warning lamp"},
    "no-hum-in-the-queue": {"wire 17=open": "silent", "R4=open": "warning lamp goes out"},
    "hums-before-the-engine": {"A1.8=stuck on": "it hums", "F1=open": "warning lamp"},
}

#: What people fit or mend there without a test.
HABITS = {
    "dark-load-space": ("plug C20", "wire 3"),
    "dim-load-lamps": ("ground X4", "dash switch S3"),
    "dark-at-the-door": ("door contact S8", "ground X7"),
    "no-light-by-switch": ("dash switch S3", "ground X4"),
    "one-dim-eye": ("socket of E1", "ground X2"),
    "two-candles": ("light switch S2", "dip switch S4"),
    "ghost-on-main-beam": ("bulb E4", "ground X3"),
    "weak-main-beam": ("dip switch S4", "holder of F2"),
    "quiet-horn": ("relay K5", "clock spring C8"),
    "hoarse-horn": ("relay K5", "ground X2"),
    "no-fog-lamps": ("relay K4", "relay K5 and socket"),
    "foggy-window": ("relay K3", "window glass"),
    "cold-at-the-lights": ("coolant sensor R4", "pump M1"),
    "a-noise-that-will-not-go": ("coolant sensor R4", "pump M1"),
    "no-hum-in-the-queue": ("coolant sensor R4", "pump M1"),
    "hums-before-the-engine": ("coolant sensor R4", "pump M1"),
}


@cache
def case(name: str) -> Case:
    return read_case(CASES[name], CIRCUITS)


@cache
def lineup(name: str) -> Lineup:
    return line_up(case(name))


@cache
def prepared(name: str) -> Prepared:
    return prepare(case(name))


@pytest.fixture(params=CASES)
def name(request: pytest.FixtureRequest) -> str:
    return request.param


# What a case is made of


def test_the_lessons_with_cases_have_four_each() -> None:
    count = Counter(path.parent.name[:2] for path in CASES.values())
    assert {lesson: count[lesson] for lesson in ("01", "03", "06", "08")} == dict.fromkeys(
        ("01", "03", "06", "08"), 4
    )


def test_cases_differ_in_order_and_words() -> None:
    assert len({case(name).order for name in CASES}) == len(CASES)
    assert len({case(name).complaint for name in CASES}) == len(CASES)


def test_neighbours_can_have_different_faults(name: str) -> None:
    pool = assignable(lineup(name))
    assert len(pool) >= 8
    severe = Counter(fault.point for one in pool for fault in one.faults if fault.severity)
    assert max(severe.values()) >= 2 or len({s.unit.name for s in pool}) >= 8


def test_two_students_share_a_draw_no_more_often_than_the_likelihoods_say(name: str) -> None:
    """Pairs alike are binomial with the sum of squared chances; 3.3 sigma, fixed ids."""
    pool, key = assignable(lineup(name)), lesson_key(b"a secret for tests", name)
    causes = [draw(lineup(name), key, f"student {number}").cause for number in range(2 * PAIRS)]
    alike = sum(one == other for one, other in zip(causes[::2], causes[1::2], strict=True))
    weights = np.array([suspect.likelihood for suspect in pool])
    chance = float(((weights / weights.sum()) ** 2).sum())
    assert abs(alike - PAIRS * chance) < 3.3 * np.sqrt(PAIRS * chance * (1 - chance))


def test_values_differ_between_students(name: str) -> None:
    assert case(name).varies
    assert all(low < high for low, high in case(name).varies.values())


def test_the_customer_can_be_asked(name: str) -> None:
    asked = case(name).questions
    assert len(asked) >= 2
    assert any(question.likelier for question in asked)


def test_the_complaint_rules_out_what_contradicts_it(name: str) -> None:
    circuit = case(name).circuit
    possible = {write_faults(circuit, faults) for faults, _likelihood in possible_faults(circuit)}
    suspected = {suspect.name for suspect in lineup(name).suspects}
    assert CONTRADICTED[name]
    assert set(CONTRADICTED[name]) <= possible
    assert not set(CONTRADICTED[name]) & suspected


def test_every_unit_mends_a_suspect(name: str) -> None:
    used = {mending_unit(case(name), suspect.faults).name for suspect in lineup(name).suspects}
    idle = {unit.name for unit in case(name).units} - used
    assert name == "foggy-window" or not idle  # that one lists all that could be mended


# The check after the repair


def at_start(name: str, circuit, solver: Solver) -> Bench:
    return Bench(circuit, solver, start_situation(case(name)))


def failed_items(name: str, bench: Bench) -> list[str]:
    """Go through the case's list and give what does not hold."""
    failed = []
    for item in case(name).verify:
        for action in item.doing:
            bench.do(action)
        shown = bench.do(item.action).reading or Reading()
        if item.between is None:
            good = shown.words == item.expect
        else:
            low, high = item.between
            good = shown.steady and low <= number(shown) <= high
        if not good:
            failed.append(f"{item.action} showed {shown.text()}")
    return failed


def number(reading: Reading) -> float:
    """Give a reading in SI."""
    return np.inf if reading.value == "OL" else float(reading.value) * UNITS[reading.unit]


def test_a_sound_vehicle_passes_the_check_wherever_values_lie(name: str) -> None:
    solver = lineup(name).fleet.solver
    for circuit in corner_circuits(case(name)):
        assert failed_items(name, at_start(name, circuit, solver)) == []


def test_no_suspect_passes_the_check(name: str) -> None:
    solver = lineup(name).fleet.solver
    (circuit, *_more) = corner_circuits(case(name))
    for suspect in lineup(name).suspects:
        bench = at_start(name, with_faults(circuit, suspect.faults), solver)
        assert failed_items(name, bench), suspect.name


def test_the_check_sees_it_work_stop_and_draw_its_current(name: str) -> None:
    items = case(name).verify
    assert any(item.expect == "yes" for item in items)
    assert any(item.between and item.between[0] > NO_CURRENT for item in items)
    stops = [item.expect == "no" or (item.between and item.between[0] <= 0) for item in items]
    assert any(stops)


# The best path


def expected_tests(ready: Prepared) -> float:
    """Give how many tests the best path takes on average."""
    policy, chances = ready.policy(), ready.likelihoods()
    labels = [parts.labels() for parts in ready.space.splits]
    units = [suspect.unit.name for suspect in ready.lineup.suspects]

    def below(node: dict, left: list[int]) -> float:
        if "test" in node:
            shown = labels[int(str(node["test"]).partition(":")[0])]
            return sum(chances[left]) + sum(
                below(branch, [k for k in left if shown[k] == outcome])
                for outcome, branch in node["outcomes"].items()
            )
        if "replace" in node:
            return below(node["wrong"], [k for k in left if units[k] != node["replace"]])
        return 0.0

    return float(below(policy.tree(policy.everything), list(range(len(units)))))


def test_the_best_path_is_exact_and_takes_some_thought(name: str) -> None:
    ready = prepared(name)
    judge = Judge(ready, ready.lineup.suspects[0].name)
    start = judge.value(judge.possible, judge.situation)
    assert start.upper == pytest.approx(start.lower, abs=1e-9)
    assert start.upper > 0
    assert start.upper < par_minutes(ready, start)
    tests = expected_tests(ready)
    assert tests >= (1 if CASES[name].parent.name.startswith(FIRST) else 2)


def test_every_fault_a_student_can_get_can_be_proven(name: str) -> None:
    """Among suspects that no plain reading tells from it, its own unit holds 95 %."""
    ready = prepared(name)
    chances, suspects = ready.likelihoods(), ready.lineup.suspects
    seen = np.array([parts.member for parts in ready.space.splits])
    for one in assignable(ready.lineup):
        k = ready.lineup.index(one.name)
        same = np.flatnonzero((seen == seen[:, [k]]).all(axis=0))
        own = [i for i in same if suspects[i].unit == one.unit]
        assert chances[own].sum() / chances[same].sum() >= PROVEN, one.name


def test_a_part_by_habit_costs_more_than_half_of_the_efficiency(name: str) -> None:
    ready = prepared(name)
    judge = Judge(ready, ready.lineup.suspects[0].name)
    start = judge.value(judge.possible, judge.situation)
    for unit in HABITS[name]:
        mask = judge.unit_mask(unit)
        assert mask, unit
        wrong, rest = 1.0 - judge.weight(mask), judge.possible & ~mask
        later = judge.value(rest, judge.situation).lower
        quality = wrong * (case(name).minutes_of(case(name).unit(unit)) + later)
        charged = charged_of(quality - start.upper, start)
        assert share_kept(start.upper, charged) < 0.5, unit


# The mistake, and what physics says to it


def on_bench(name: str, fault: str) -> Bench:
    """Give the case's vehicle with a fault, its values in the middle."""
    middle = {key: sum(span) / 2 for key, span in case(name).varies.items()}
    circuit = set_values(case(name).circuit, middle)
    faulty = with_faults(circuit, parse_faults(circuit, fault))
    return at_start(name, faulty, lineup(name).fleet.solver)


def do(bench: Bench, *actions: dict | Action) -> Reading:
    for action in actions:
        step = bench.do(action if isinstance(action, Action) else action_from_json(action))
    return step.reading or Reading()


def volts(bench: Bench, red: str, black: str = "body") -> float:
    return number(do(bench, {"measure": "volts", "red": red, "black": black}))


def ohms(bench: Bench, red: str, black: str) -> float:
    return number(do(bench, {"measure": "ohms", "red": red, "black": black}))


def customer(name: str) -> tuple[Action, ...]:
    return case(name).shows[0].doing


def names(name: str) -> list[str]:
    return [suspect.name for suspect in lineup(name).suspects]


@pytest.mark.parametrize("name", ["dim-load-lamps", "dark-load-space"])
def test_twelve_volts_at_rest_are_there_whatever_is_wrong(name: str) -> None:
    """Lesson 01: nothing flows, so no joint drops anything; under load volts are missing."""
    poor = [fault for fault in names(name) if fault.endswith("ohm")]
    assert poor
    for fault in poor:
        bench = on_bench(name, fault)
        assert volts(bench, "E1.1") > 11.5, fault
        do(bench, *customer(name))
        assert volts(bench, "E1.1", "E1.2") < SUPPLY, fault


def test_a_lamp_holder_without_its_lamp_shows_twelve_volts_and_lights_no_test_lamp() -> None:
    """Lesson 01: 90 ohm before the holder; the meter does not mind, a test lamp does."""
    bench = on_bench("dark-load-space", "C20.1=high resistance:90 ohm")
    do(bench, *customer("dark-load-space"), {"unplug": "E1"}, {"unplug": "E2"})
    assert volts(bench, "E1.1") > 11.5
    assert do(bench, {"lamp": True, "red": "E1.1", "black": "body"}).words != "bright"
    assert volts(on_bench("dark-load-space", "wire 3=open"), "E1.1") < PART


@pytest.mark.parametrize("fault", ["X7=high resistance:10 ohm", "X7=high resistance:40 ohm"])
def test_behind_a_lamp_twelve_volts_mean_a_ground_is_missing(fault: str) -> None:
    """Lesson 01, at the door: what looks like a good feed stands on the ground side."""
    bench = on_bench("dark-at-the-door", fault)
    do(bench, *customer("dark-at-the-door"))
    assert volts(bench, "X7.ring") > PART


@pytest.mark.parametrize("ends", [("S4.in", "S4.1"), ("S2.in", "S2.2")])
def test_a_burnt_contact_loses_volts_under_load_only(ends: tuple[str, str]) -> None:
    """Lesson 03: a few tenths of an ohm; at nine amperes they are volts, at none nothing."""
    sound = on_bench("two-candles", "E9=open")
    do(sound, *customer("two-candles"))
    assert volts(sound, *ends) < 0.5
    for fault in burnt(ends[1]):
        bench = on_bench("two-candles", fault)
        do(bench, {"set": {"light switch": "head"}}, {"pull": "F1"})
        assert abs(volts(bench, *ends)) < 0.05, fault
        do(bench, {"set": {"light switch": "off"}}, {"insert": "F1"}, *customer("two-candles"))
        assert volts(bench, *ends) > 1.0, fault


def burnt(point: str) -> list[str]:
    found = [one for one in names("two-candles") if one.startswith(f"{point}=contact burnt")]
    assert len(found) >= 2
    return found


def test_ohms_pass_a_contact_that_loses_volts_under_load() -> None:
    """Lesson 03: the ohmmeter calls it a short, as it does a sound one, leads included."""
    sound = ohms(on_bench("two-candles", "E9=open"), "S4.in", "S4.1")
    for fault in burnt("S4.1"):
        shown = ohms(on_bench("two-candles", fault), "S4.in", "S4.1")
        assert shown < SHORT, fault
        assert shown - sound < 1.0, fault


def test_ohms_pass_a_ground_that_loses_volts_under_load() -> None:
    """Lesson 03: what the ohmmeter calls a short to ground is no ground for a headlamp."""
    poor = [f for f in names("one-dim-eye") if f.startswith(("X2=high", "C3.1=high"))]
    assert len(poor) >= 4
    for fault in poor:
        bench = on_bench("one-dim-eye", fault)
        assert ohms(bench, "C3.1a", "body") < SHORT, fault
        do(bench, *customer("one-dim-eye"))
        assert volts(bench, "C3.1a") > 1.0, fault


@pytest.mark.parametrize("fault", ["C4.1=open", "X3=open", "wire 21=open"])
def test_a_lost_ground_lights_the_other_filament_and_a_new_bulb_changes_nothing(fault: str) -> None:
    """Lesson 03: the current of main beam goes back through the dipped beam."""
    bench = on_bench("ghost-on-main-beam", fault)
    do(bench, *customer("ghost-on-main-beam"))
    assert do(bench, {"watch": "right dipped beam glows"}).words == "yes"
    assert volts(bench, "E4.2") > PART
    do(bench, {"set": {"light switch": "off"}}, {"try": "E4"}, *customer("ghost-on-main-beam"))
    assert do(bench, {"watch": "right main beam is bright"}).words == "no"


def test_the_relay_clicks_and_only_a_burnt_one_is_cured_by_another() -> None:
    """Lesson 06: the click is the coil's; the contact carries the horns."""
    for fault in names("hoarse-horn"):
        bench = on_bench("hoarse-horn", fault)
        assert do(bench, {"listen": "K5", "set": {"horn button": "pressed"}}).words == "clicks"
        do(bench, {"set": {"horn button": "released"}}, {"swap": ["K5", "K3"]})
        do(bench, *customer("hoarse-horn"))
        cured = do(bench, {"watch": "high horn sounds"}).words == "yes"
        assert cured == fault.startswith("K5="), fault


@pytest.mark.parametrize(
    "fault", ["C8.1=open", "C8.1=high resistance:150 ohm", "X3=open", "S9=contact open"]
)
def test_a_silent_relay_may_be_good(fault: str) -> None:
    """Lesson 06: no click, twelve volts at the coil's feed, and another relay is as silent."""
    bench = on_bench("quiet-horn", fault)
    assert do(bench, {"listen": "K5", "set": {"horn button": "pressed"}}).words != "clicks"
    assert volts(bench, "K5.86") > SUPPLY
    do(bench, {"set": {"horn button": "released"}}, {"swap": ["K5", "K3"]})
    do(bench, *customer("quiet-horn"))
    assert do(bench, {"watch": "high horn sounds"}).words == "no"


@pytest.mark.parametrize(
    ("name", "fault"),
    [
        ("a-noise-that-will-not-go", "wire 9=short to ground:0.1 ohm"),
        ("a-noise-that-will-not-go", "S2=stuck closed"),
        ("a-noise-that-will-not-go", "R4=shorted"),
        ("no-hum-in-the-queue", "wire 17=short to ground:0.1 ohm"),
        ("no-hum-in-the-queue", "R4=drift:200 %"),
    ],
)
def test_a_new_sensor_cures_its_own_faults_only_and_takes_its_minutes(
    name: str, fault: str
) -> None:
    """Lesson 08: the symptom has to do with temperature; the vehicle does not care."""
    ready, sensor = lineup(name), case(name).unit("coolant sensor R4")
    blamed = next(one.name for one in ready.suspects if one.unit == sensor)
    middle = {key: sum(span) / 2 for key, span in case(name).varies.items()}
    vehicle = Vehicle(ready, Draw(fault, middle, "tag"))
    done = vehicle.call(sensor.name, blamed, "")
    assert float(done["clock"]) >= sensor.labour_minutes + sensor.cheapest.price
    (sight, *_more) = case(name).shows
    do(vehicle.bench, *sight.doing)
    shown = {effect: do(vehicle.bench, {"watch": effect}).words for effect, _answer in sight.sees}
    assert (shown == dict(sight.sees)) == (not fault.startswith("R4="))


def humming(name: str, *actions: dict) -> set[str]:
    """Give the suspects that hum, whatever the student's values, after some actions more."""
    ready, situation = lineup(name), start_situation(case(name))
    steps = [*case(name).shows[0].doing, *map(action_from_json, actions)]
    memory = ready.fleet.fresh_memory(situation)
    situation, memory, _seen = play(ready.fleet, situation, memory, steps)
    watch = action_from_json({"watch": "the pump hums"})
    words = observe(ready.fleet, situation, memory, watch).outcome.words
    shown = np.array(words).reshape(-1, ready.corners) == "yes"
    assert (shown.all(axis=1) == shown.any(axis=1)).all()
    return {one.name for one, hums in zip(ready.suspects, shown[:, 0], strict=True) if hums}


def test_cut_with_the_pump_running_proves_nothing_where_it_goes_on_as_it_was() -> None:
    """Lesson 08: whatever is wrong it hums on; told off by hand only a broken stage does."""
    name, cut = "a-noise-that-will-not-go", {"unplug": "C4"}
    assert humming(name, cut) == set(names(name))
    told_off = {"bridge": ["C4.1b", "X3.ring"]}
    assert humming(name, cut, told_off) == {"M1=runs with no command"}


def test_where_open_means_full_a_cut_tells_an_order_from_a_pump_that_cannot() -> None:
    """Lesson 08: what hums with its command off was told to be still."""
    name, ordered = "no-hum-in-the-queue", ("R4=", "A1.8=", "wire 17=")
    told = {fault for fault in names(name) if fault.startswith(ordered)}
    assert len(told) >= 3
    assert humming(name, {"unplug": "C4"}) == told


def test_open_means_full_so_the_cut_says_nothing_about_a_pump_that_hums() -> None:
    """Lesson 08, the graded case: all hum on; an off imposed at C4 stops what it gets to."""
    name, cut, behind = "hums-before-the-engine", {"unplug": "C4"}, ("M1=", "M1.C=", "wire 18=")
    assert humming(name, cut) == set(names(name))
    left = humming(name, cut, {"bridge": ["C4.1b", "X3.ring"]})
    assert left == {fault for fault in names(name) if fault.startswith(behind)}
