"""The mistakes that lessons break, made in their cases, and what physics says to them.

The physics is Ohm's law on the solved circuit: a meter on volts takes next to no current, so a bad
joint drops nothing until the load works.
"""

import numpy as np
import pytest

from grader.attempt import Vehicle
from grader.bands import OHM_LIMITS, VOLT_LIMITS
from grader.draw import Draw
from grader.suspects import (
    play,
    set_values,
    start_situation,
)
from sim.action import Action, Reading, action_from_json
from sim.bench import Bench
from sim.faults import parse_faults, with_faults
from sim.observe import observe
from tests.lessons.shipped import at_start, case, lineup, number

PART, SUPPLY = VOLT_LIMITS
SHORT = OHM_LIMITS[0]


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
