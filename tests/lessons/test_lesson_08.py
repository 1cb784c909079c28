"""Lesson 08: its numbers come from the bench, physics refuses its mistake.

Every number in the text stands in `claims`, computed from the circuits, or in `SOURCES`; a number
that stands in neither fails a test.
"""

from dataclasses import replace
from functools import cache

import pytest

from lessons.catalogue import circuit_path
from lessons.workbench.words import point_words
from sim.bench import Bench
from sim.circuitfile import read_circuit
from tests.lessons import pages
from tests.lessons.trials import amps, bench, do, seen, volts

LESSON = "08-who-gave-the-order"
OFF, FULL, LAST = (f"coolant-pump-{kind}" for kind in ("off", "full", "last"))
CUT, UNORDERED = "wire 17=open", "M1=runs with no command"
KEY = {"set": {"key": "run"}}
ORDERED = {"set": {"key": "run", "heater": "on"}}
APART = {"unplug": "C4"}
TOLD_OFF = {"bridge": ["M1.C", "X3.ring"]}
HUMS = "the pump hums"
SURE = {"wait": "5 s"}

#: What the list of sources says -> where the project's table of outside values has it.
SOURCES = {
    "can ask any unit: SAE J1979.": "service 01, parameter 05: coolant temperature",
    "NEETS, Module 1, of the US Navy.": "power off first, the meter has its own source",
    "US Army SS0713.": "jewellery off at a battery",
    "TM 9-6140-200-14.": "p. 4-12: an explosive mix is always to be assumed near cells",
}


@cache
def claims() -> dict[str, str]:
    """Give every sentence part with a number, the number computed, and what it is about."""
    cut = bench(FULL, CUT, KEY)
    imposed, sound = (bench(FULL, one, ORDERED, APART, TOLD_OFF) for one in (UNORDERED, ""))
    unbelieved = bench(LAST, "R4=open", KEY, SURE)
    believed, wanted = told(cut, "coolant, used"), told(cut, "pump wanted")
    return {
        f"One goes on with {told(unbelieved, 'coolant, used')} instead": "decision",
        f"until the coolant has {starts_at():.0f} °C": "decision",
        f"about {minutes_of_the_mistake():.1f} minutes": "clock",
        f"It believes {believed}": "input",
        f"It wants the pump at {wanted}": "decision",
        f"About {volts(cut, 'M1.C'):.1f} V. A sound van": "order, at the pump",
        f"meter shows about {volts(cut, 'A1.8'):.2f} V": "order, at the unit",
        f"About {amps(imposed, 'wire 13'):.1f} A here": "a pump that does not obey",
        f"and {amps(sound, 'wire 13'):.1f} A on a sound van": "one that does",
        f"command is near {0} V for off": "a question",
        f"near {0} V, or near battery?": "a question",
        f"out of {pages.points_of(LESSON)}": "points",
        f"stay at {0.0}": "points at first",
    }


def told(at: Bench, name: str) -> str:
    """Give a number of the maker's data with its unit."""
    words = do(at, {"scan": "maker data", "unit": "A1"}).words
    return next(one.removeprefix(f"{name} ") for one in words.split("; ") if one.startswith(name))


def hums_at(celsius: float) -> bool:
    circuit = replace(read_circuit(circuit_path(FULL)), temperature=celsius)
    at = Bench(circuit)
    do(at, KEY, SURE)
    return seen(at, HUMS) == "yes"


@cache
def starts_at() -> float:
    """Give the whole degrees at which a sound van starts its pump."""
    return next(celsius for celsius in range(60, 90) if hums_at(celsius + 0.2))


def minutes_of_the_mistake() -> float:
    """Do steps one and two; give what the clock shows then."""
    at = bench(FULL, CUT, KEY, {"watch": HUMS})
    do(at, {"set": {"key": "off"}}, {"try": "R4"}, KEY, {"watch": HUMS})
    return at.situation.clock / 60


def bench_points() -> list[str]:
    circuit = bench(FULL).circuit
    return [point_words(circuit, point) for point in ("M1.C", "A1.8", "X3.ring")]


@pytest.mark.parametrize("claim", claims())
def test_a_number_is_what_the_bench_gives(claim: str) -> None:
    assert claim in pages.text(LESSON)


@pytest.mark.parametrize("source", SOURCES)
def test_a_source_is_named(source: str) -> None:
    assert source in pages.text(LESSON)


def test_no_number_stands_unchecked() -> None:
    left = pages.without(pages.text(LESSON), [*claims(), *SOURCES, *bench_points()])
    assert set(pages.PART.findall(left)) <= set(bench(FULL).circuit.parts)
    assert pages.NUMBER.findall(pages.PART.sub("", left).replace("wire 13", "")) == []


def test_the_three_vehicles_are_the_circuits_own() -> None:
    idea = pages.cells(LESSON, "markdown")["idea"]
    for name, does in (
        (OFF, "it stops"),
        (FULL, "it runs at full power"),
        (LAST, "goes on as it was"),
    ):
        line = next(one for one in idea.splitlines() if bench(name).circuit.vehicle in one)
        assert does in line


def test_the_drawing_is_the_circuits_own() -> None:
    (drawing,) = pages.FENCE.findall(pages.cells(LESSON, "markdown")["idea"])
    circuit = bench(FULL).circuit
    named = pages.PART.findall(drawing)
    assert named == ["R4", "A1", "A1", "C4", "M1", "M1", "S2", "C3"]
    ends = {(wire.values["from"], wire.values["to"]) for wire in wires(circuit)}
    assert {("A1.8", "C4.1a"), ("C4.1b", "M1.C"), ("C3.1b", "M1.30"), ("M1.31", "C3.2b")} <= ends


def wires(circuit):
    return [part for part in circuit.parts.values() if part.kind == "wire"]


# What the reader does on the bench


def test_the_demonstrations_have_the_faults_that_the_tests_have() -> None:
    code = pages.cells(LESSON, "code")
    for name, circuit, fault in (
        ("demo-bench", FULL, CUT),
        ("demo-believes", FULL, CUT),
        ("demo-order", FULL, CUT),
        ("demo-cut-off", OFF, UNORDERED),
        ("demo-cut-full", FULL, UNORDERED),
        ("demo-impose", FULL, UNORDERED),
    ):
        assert f'"{circuit}"' in code[name]
        assert f'"{fault}"' in code[name]


def test_what_a_set_up_step_shows_is_what_the_text_says() -> None:
    faulty, sound = pages.shown(LESSON, "demo-order")
    assert (
        f"About {float(faulty.split()[0]):.1f} V. A sound van shows next to nothing"
        in pages.text(LESSON)
    )
    assert sound.endswith(" mV")
    faulty, sound = pages.shown(LESSON, "demo-impose")
    assert f"About {faulty} here, and {sound} on a sound van" in pages.text(LESSON)
    faulty, sound = pages.shown(LESSON, "demo-believes")
    for reading in (faulty, sound):
        assert "coolant, used 20 °C" in reading
        assert "pump wanted 0.0 %" in reading


def test_step_one_it_hums_with_a_cold_engine_and_a_sound_van_does_not() -> None:
    assert [seen(bench(FULL, fault, KEY), HUMS) for fault in (CUT, "")] == ["yes", "no"]


def test_step_two_another_sensor_changes_nothing() -> None:
    at = bench(FULL, CUT, KEY)
    before = at.situation.clock
    do(at, {"set": {"key": "off"}}, {"try": "R4"}, KEY, SURE)
    assert seen(at, HUMS) == "yes"
    assert at.situation.clock - before > 180  # s: thermostat, plug, sensor, and back to look


def test_the_same_try_does_prove_a_shorted_sensor() -> None:
    at = bench(FULL, "R4=shorted", KEY, SURE)
    assert seen(at, HUMS) == "yes"
    do(at, {"set": {"key": "off"}}, {"try": "R4"}, KEY, SURE)
    assert seen(at, HUMS) == "no"


def test_steps_five_and_six_the_cut_is_proof_on_one_car_only() -> None:
    said = {name: pages.shown(LESSON, name) for name in ("demo-cut-off", "demo-cut-full")}
    assert said == {"demo-cut-off": ("yes", "no"), "demo-cut-full": ("yes", "yes")}
    ran = [seen(bench(LAST, fault, ORDERED, SURE, APART, SURE), HUMS) for fault in (UNORDERED, "")]
    assert ran == ["yes", "yes"]


@pytest.mark.parametrize("name", [OFF, FULL, LAST])
def test_step_seven_an_imposed_off_is_proof_on_all(name: str) -> None:
    for fault, hums in ((UNORDERED, "yes"), ("", "no")):
        assert seen(bench(name, fault, ORDERED, SURE, APART, TOLD_OFF, SURE), HUMS) == hums


def test_an_order_imposed_before_a_cut_wire_gets_lost() -> None:
    for at_pump, hums in ((True, "no"), (False, "yes")):
        told = TOLD_OFF if at_pump else {"bridge": ["C4.1b", "X3.ring"]}
        assert seen(bench(FULL, "wire 18=open", KEY, APART, told, SURE), HUMS) == hums


@pytest.mark.parametrize(("name", "hums"), [(OFF, "no"), (FULL, "yes"), (LAST, "yes")])
def test_what_a_unit_does_about_a_dead_sensor_is_its_own_choice(name: str, hums: str) -> None:
    at = bench(name, "R4=open", KEY, SURE)
    assert seen(at, HUMS) == hums
    assert told(at, "coolant, used") == ("80 °C" if name == LAST else "-40 °C")


@pytest.mark.parametrize("name", [OFF, FULL, LAST])
def test_the_lamp_tells_a_sensor_that_is_not_believed(name: str) -> None:
    """In "A way to work": with the engine running the lamp stays lit."""
    running = {"set": {"key": "run", "engine": "idling 850 rpm"}}
    for fault, lit in (("R4=open", "yes"), ("R4=shorted", "yes"), (CUT, "no"), ("", "no")):
        at = bench(name, fault, running, SURE)
        assert seen(at, "warning lamp lights") == lit, fault


@pytest.mark.parametrize("word", ["start at any time", "coolant", "indoors", "stands"])
def test_a_caution_that_applies_is_given(word: str) -> None:
    assert word in pages.cells(LESSON, "markdown")["care"]
