"""Lesson 01: its numbers come from the bench, physics refuses its mistake.

Every number in the text stands in `claims`, computed from the circuit, or in `SOURCES`; a number
that stands in neither fails a test.
"""

import re
from functools import cache

import pytest

from lessons.workbench.words import point_words
from sim.instruments.lamp import POWER, VOLTAGE
from sim.instruments.multimeter import INPUT_RESISTANCE
from tests.lessons import pages
from tests.lessons.trials import amps, bench, do, seen, volts

LESSON, CIRCUIT = "01-voltage-that-cannot-work", "cargo-lamp"
OHMS = 90
BAD_JOINT = f"C20.1=high resistance:{OHMS} ohm"
ON, OFF = ({"set": {"load-space switch": position}} for position in ("on", "off"))
EMPTY = ({"unplug": "E1"}, {"unplug": "E2"})
TEST_LAMP = {"lamp": True, "red": "E1.1", "black": "body"}

#: What the list of sources says -> where the project's table of outside values has it.
SOURCES = {
    "Ohm's law, for instance in NEETS, Module 1, of the US Navy.": "a textbook's law",
    "Lessons in Electric Circuits, volume I, chapter 8.": "24 V on 2 x 250 Mohm reads 0.889 V",
    "Ohms with the power off: NEETS, Module 1.": "the meter tests with a source of its own",
    "US Army SS0713.": "jewellery off at a battery",
    "TM 9-6140-200-14.": "p. 4-12: an explosive mix is always to be assumed near cells",
}


@cache
def claims() -> dict[str, str]:
    """Give every sentence part with a number, the number computed, and what it is about."""
    good, bad, idle = bench(CIRCUIT, "", ON), bench(CIRCUIT, BAD_JOINT, ON), bench(CIRCUIT)
    empty = bench(CIRCUIT, BAD_JOINT, ON, *EMPTY)
    battery = volts(idle, "B1.+", "B1.-")
    meter = battery / INPUT_RESISTANCE
    pin = volts(good, "C20.1a", "C20.1b")
    return {
        f"Both lamps together take about {amps(good, 'wire 3'):.1f} A": "load",
        f"it has {INPUT_RESISTANCE / 1e6:.0f} Mohm between its leads": "meter",
        f"it takes about {meter * 1e6:.1f} µA": "meter's current",
        f"a bad joint with {OHMS} ohm": "joint",
        f"loses about {meter * OHMS * 1e3:.1f} mV there": "meter's loss",
        f"shows the full {volts(empty, 'E1.1'):.1f} V": "idle volts",
        f"Through {OHMS} ohm the battery can push {battery / OHMS:.2f} A at most": "Ohm's law",
        f"a small lamp of {POWER:.0f} W": "test lamp",
        f"it wants about {POWER / VOLTAGE:.1f} A": "test lamp's current",
        f"the wire can carry {POWER / VOLTAGE:.1f} A": "test lamp's current",
        f"loses about {pin * 1e3:.0f} mV with the lamps on": "good joint",
        f"behind the lamps shows {volts(idle, 'E1.2'):.1f} V as well": "through the lamps",
        f"pulls it down to about {volts(good, 'E1.2'):.1f} V": "good ground",
        f"It shows about {volts(empty, 'E1.1'):.1f} V": "step one",
        f"The meter says {volts(empty, 'E1.1'):.1f} V": "step three",
        f"Only about {volts(bad, 'E1.1'):.1f} V is left": "step four",
        f"About {volts(bad, 'C20.1a', 'C20.1b'):.1f} V is lost": "step four",
        f"clamp on wire 3 shows about {amps(bad, 'wire 3'):.1f} A": "step four",
        f"a good van has {amps(good, 'wire 3'):.1f} A": "load",
        f"A meter of {INPUT_RESISTANCE / 1e6:.0f} Mohm": "meter",
        f"out of {pages.points_of(LESSON)}": "points",
        f"stay at {0.0}": "points at first",
        "C20 pin 1": "pin",
        "C20 pin 2": "pin",
    }


def bench_points() -> list[str]:
    circuit = bench(CIRCUIT).circuit
    return [point_words(circuit, point) for point in ("E1.1", "C20.1a", "C20.1b")]


@pytest.mark.parametrize("claim", [claim for claim in claims() if claim != "C20 pin 2"])
def test_a_number_is_what_the_bench_gives(claim: str) -> None:
    assert claim in pages.text(LESSON)


@pytest.mark.parametrize("source", SOURCES)
def test_a_source_is_named(source: str) -> None:
    assert source in pages.text(LESSON)


def test_no_number_stands_unchecked() -> None:
    known = [*SOURCES, *bench_points(), *(one for one in claims() if one != "C20 pin 2")]
    left = pages.without(pages.text(LESSON), known)
    assert set(pages.PART.findall(left)) <= set(bench(CIRCUIT).circuit.parts)
    assert pages.NUMBER.findall(pages.PART.sub("", left)) == []


def test_words_about_amounts_hold() -> None:
    good, bad = bench(CIRCUIT, "", ON), bench(CIRCUIT, BAD_JOINT, ON)
    battery = volts(bad, "B1.+", "B1.-")
    assert battery / OHMS < amps(good, "wire 3") / 10  # "not even a tenth"
    assert 1e-6 < battery / INPUT_RESISTANCE < 1.5e-6  # "a bit more than a millionth"
    assert volts(bad, "C20.1a", "C20.1b") > 0.95 * battery  # "the whole push"


def test_a_meter_loads_what_it_measures() -> None:
    # Lessons in Electric Circuits, volume I, chapter 8: 24 V over 2 x 250 Mohm, 10 Mohm meter
    lower = 1 / (1 / 250e6 + 1 / INPUT_RESISTANCE)
    assert 24 * lower / (lower + 250e6) == pytest.approx(0.8889, abs=5e-5)


def test_the_drawing_is_the_circuits_own() -> None:
    (drawing,) = pages.FENCE.findall(pages.cells(LESSON, "markdown")["idea"])
    first, second = drawing.splitlines()
    for line, track in ((first, "2"), (second, "3")):
        at = 0
        for stop in bench(CIRCUIT).circuit.diagram[track][:-1]:
            place = re.search(rf"\b{re.escape(stop.replace('.', ' pin '))}\b", line[at:])
            assert place, (stop, line)
            at += place.end()
    assert first.startswith("30 ── F14")


# What the reader does on the bench


def test_the_demonstration_has_the_fault_that_the_tests_have() -> None:
    code = pages.cells(LESSON, "code")
    for name in ("demo-bench", "demo-lamp", "demo-load"):
        assert f'"{BAD_JOINT}"' in code[name]


def test_what_a_set_up_step_shows_is_what_the_text_says() -> None:
    assert pages.shown(LESSON, "demo-lamp") == ("dark", "bright")
    faulty, sound = pages.shown(LESSON, "demo-load")
    assert f"About {float(faulty.split()[0]):.1f} V is lost" in pages.text(LESSON)
    assert sound.endswith("mV")


def test_step_one_and_two_twelve_volts_light_no_good_lamp() -> None:
    at = bench(CIRCUIT, BAD_JOINT, ON, *EMPTY)
    assert volts(at, "E1.1") == pytest.approx(
        volts(bench(CIRCUIT, "", ON, *EMPTY), "E1.1"), abs=0.02
    )
    do(at, {"plug": "E1"}, {"plug": "E2"}, OFF, {"try": "E1"}, ON)
    assert seen(at, "front load lamp glows") == "no"


def test_step_three_the_test_lamp_sees_what_the_meter_does_not() -> None:
    assert do(bench(CIRCUIT, BAD_JOINT, ON, *EMPTY), TEST_LAMP).words == "dark"
    assert do(bench(CIRCUIT, "", ON, *EMPTY), TEST_LAMP).words == "bright"


def test_a_wire_that_is_cut_shows_no_twelve_volts() -> None:
    """The text says of twelve volts at rest: the wire is not cut."""
    for fault in ("C20.1=open", "wire 3=open", "wire 15=open"):
        reading = do(
            bench(CIRCUIT, fault, ON, *EMPTY), {"measure": "volts", "red": "E1.1", "black": "body"}
        )
        assert not reading.steady, fault


def test_behind_the_lamp_volts_stay_up_if_the_ground_is_bad() -> None:
    assert volts(bench(CIRCUIT, "X4=high resistance:30 ohm", ON), "E1.2") > 10


def test_a_new_lamp_does_help_where_the_lamp_is_bad() -> None:
    at = bench(CIRCUIT, "E1=open", {"try": "E1"}, ON)
    assert seen(at, "front load lamp is bright") == "yes"
