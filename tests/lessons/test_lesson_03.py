"""Lesson 03: its numbers come from the bench, physics refuses its mistake.

Every number in the text stands in `claims`, computed from the circuit, or in `SOURCES`; a number
that stands in neither fails a test.
"""

from functools import cache

import pytest

from lessons.workbench.words import point_words
from tests.lessons import pages
from tests.lessons.trials import amps, bench, do, ohms, seen, volts

LESSON, CIRCUIT = "03-where-did-the-volts-go", "headlamps"
BAD_GROUND, NO_GROUND = "X2=high resistance:0.9 ohm", "X2=open"
BURNT = 0.3
DIPPED = {"set": {"light switch": "head", "dip switch": "dipped"}}
OFF = {"set": {"light switch": "off"}}

#: What the list of sources says -> where the project's table of outside values has it.
SOURCES = {
    "add up to its source: NEETS, Module 1, of the US Navy.": "90 V on 5, 10, 15 ohm: 15, 30, 45 V",
    "Ohms with the power off: NEETS, Module 1.": "the meter tests with a source of its own",
    "many shops allow 0.1 to 0.2 V": "common practice, no source",
    "US Army SS0713.": "jewellery off at a battery",
    "TM 9-6140-200-14.": "p. 4-12: an explosive mix is always to be assumed near cells",
}


@cache
def claims() -> dict[str, str]:
    """Give every sentence part with a number, the number computed, and what it is about."""
    good, bad, lost = (bench(CIRCUIT, fault, DIPPED) for fault in ("", BAD_GROUND, NO_GROUND))
    dark, adrift = bench(CIRCUIT, BAD_GROUND), bench(CIRCUIT, NO_GROUND)
    burnt = bench(CIRCUIT, f"S4.1=contact burnt:{BURNT} ohm", DIPPED)
    lamp = good.circuit.parts["E1"]
    power, rated = lamp.number("power"), lamp.number("voltage")
    cold = ohms(bench(CIRCUIT, "", {"unplug": "E1"}), "E1.1", "E1.2")
    return {
        f"the battery has about {volts(good, 'B1.+', 'B1.-'):.1f} V": "battery",
        f"The left lamp gets about {volts(good, 'E1.1', 'E1.2'):.1f} V": "good lamp",
        f"takes about {volts(good, 'B1.+', 'E1.1'):.1f} V. The ground side": "good feed",
        f"back to the body, takes about {volts(good, 'E1.2'):.2f} V": "good ground",
        f"take about {amps(good, 'wire 3'):.0f} A through the dip switch": "two beams",
        f"contact of {BURNT} ohm there costs {volts(burnt, 'S4.in', 'S4.1'):.1f} V": "burnt",
        f"On the ohmmeter {ohms(off_with_burnt(), 'S4.in', 'S4.1'):.1f} ohm": "burnt, in ohms",
        f"A cold {power:.0f} W filament has only about {cold:.1f} ohm": "cold",
        f"Hot it has about {rated**2 / power:.1f} ohm": "hot",
        f"The meter shows about {ohms(dark, 'E1.2'):.1f} ohm": "step two",
        f"more than {1} V, or less": "a question",
        f"About {volts(bad, 'E1.2'):.1f} V is lost between lamp and body": "step three",
        f"from E3 plug 2 to body, it is about {volts(bad, 'E3.2'):.2f} V": "step three",
        f"it loses about {volts(bad, 'B1.+', 'E1.1'):.1f} V, as it should": "step three",
        f"left with about {volts(bad, 'E1.1', 'E1.2'):.1f} V": "step three",
        f"About {volts(bad, 'X2.ring'):.1f} V again": "step four",
        f"It says about {ohms(adrift, 'E1.2'):.1f} ohm, just as before": "step five",
        f"about {volts(lost, 'E1.1', 'E1.2'):.1f} V is left for it": "step six",
        f"there are about {volts(lost, 'E1.2'):.1f} V": "step six",
        f"said {ohms(dark, 'E1.2'):.1f} ohm both times": "steps two and five",
        f"out of {pages.points_of(LESSON)}": "points",
        f"stay at {0.0}": "points at first",
    }


def off_with_burnt():
    return bench(CIRCUIT, f"S4.1=contact burnt:{BURNT} ohm")


def bench_points() -> list[str]:
    circuit = bench(CIRCUIT).circuit
    return [point_words(circuit, point) for point in ("E1.2", "E3.2", "X2.ring")]


@pytest.mark.parametrize("claim", claims())
def test_a_number_is_what_the_bench_gives(claim: str) -> None:
    assert claim in pages.text(LESSON)


@pytest.mark.parametrize("source", SOURCES)
def test_a_source_is_named(source: str) -> None:
    assert source in pages.text(LESSON)


def test_no_number_stands_unchecked() -> None:
    left = pages.without(pages.text(LESSON), [*claims(), *SOURCES, *bench_points()])
    assert set(pages.PART.findall(left)) <= set(bench(CIRCUIT).circuit.parts)
    assert pages.NUMBER.findall(pages.PART.sub("", left)) == []


def test_drops_add_up_to_the_battery() -> None:
    # NEETS, Module 1: 90 V on 5, 10 and 15 ohm share as 15, 30 and 45 V; here on the circuit
    assert [90 * part / 30 for part in (5, 10, 15)] == [15, 30, 45]
    for fault in ("", BAD_GROUND, NO_GROUND):
        at = bench(CIRCUIT, fault, DIPPED)
        pieces = (("B1.+", "E1.1"), ("E1.1", "E1.2"), ("E1.2", "body"), ("body", "B1.-"))
        total = sum(volts(at, *ends) for ends in pieces)
        assert total == pytest.approx(volts(at, "B1.+", "B1.-"), abs=0.02)


def test_the_drawing_is_the_circuits_own() -> None:
    (drawing,) = pages.FENCE.findall(pages.cells(LESSON, "markdown")["idea"])
    circuit = bench(CIRCUIT).circuit
    rows = [pages.PART.findall(line) for line in drawing.splitlines()[1:]]
    for row in rows:
        half = len(row) // 2
        for fuse, lamp in ((row[0], row[1]), (row[half], row[half + 1])):
            at = bench(CIRCUIT, f"{fuse}=open", {"set": {"light switch": "head"}})
            for position in ("dipped", "main"):
                do(at, {"set": {"dip switch": position}})
                assert abs(volts(at, f"{lamp}.1", f"{lamp}.2")) < 0.5, (fuse, lamp)
    assert rows[1][2:4] == ["C3", "X2"]
    assert rows[1][-2:] == ["C4", "X3"]
    assert {name for row in rows for name in row} <= set(circuit.parts)


# What the reader does on the bench


def test_the_demonstrations_have_the_faults_that_the_tests_have() -> None:
    code = pages.cells(LESSON, "code")
    for name, fault in (
        ("demo-bench", BAD_GROUND),
        ("demo-drop", BAD_GROUND),
        ("demo-adrift", NO_GROUND),
        ("demo-back", NO_GROUND),
    ):
        assert f'"{fault}"' in code[name]


def test_what_a_set_up_step_shows_is_what_the_text_says() -> None:
    for name, said in (
        ("demo-drop", "About {:.1f} V is lost between"),
        ("demo-adrift", "It says about {:.1f} ohm"),
        ("demo-back", "there are about {:.1f} V"),
    ):
        faulty, _sound = pages.shown(LESSON, name)
        assert said.format(float(faulty.split()[0])) in pages.text(LESSON)


def test_step_one_a_new_lamp_is_as_dim() -> None:
    at = bench(CIRCUIT, BAD_GROUND, DIPPED)
    sides = [seen(at, f"{side} dipped beam is bright") for side in ("left", "right")]
    assert sides == ["no", "yes"]
    do(at, OFF, {"try": "E1"}, DIPPED)
    assert seen(at, "left dipped beam is bright") == "no"


def test_steps_two_and_five_ohms_cannot_tell_a_poor_ground_from_none() -> None:
    poor, none = (ohms(bench(CIRCUIT, fault), "E1.2") for fault in (BAD_GROUND, NO_GROUND))
    assert poor == none
    shown = [volts(bench(CIRCUIT, fault, DIPPED), "E1.2") for fault in (BAD_GROUND, NO_GROUND)]
    assert shown[1] > 2 * shown[0]  # "the volts told them apart at once"


def test_the_way_round_goes_through_the_filaments() -> None:
    """With all lamps of the side unplugged the ohmmeter has no way round."""
    at = bench(CIRCUIT, NO_GROUND, *({"unplug": lamp} for lamp in ("E1", "E2", "E5")))
    assert do(at, {"measure": "ohms", "red": "E1.2", "black": "body"}).value == "OL"


def test_step_four_nearly_all_is_lost_at_the_stud() -> None:
    at = bench(CIRCUIT, BAD_GROUND, DIPPED)
    assert volts(at, "X2.ring") > 0.97 * volts(at, "E1.2")


def test_step_six_the_wrong_lamps_glow() -> None:
    at = bench(CIRCUIT, NO_GROUND, DIPPED)
    shown = {effect: seen(at, effect) for effect in at.circuit.effects}
    assert {shown[f"{side} main beam glows"] for side in ("left", "right")} == {"yes"}
    assert shown["main beam pilot lights"] == "yes"
    assert shown["left side lamp lights"] == "no"
    assert shown["left dipped beam is bright"] == "no"
    assert volts(at, "E2.2", "E2.1") > 1  # backward through E2 ...
    assert volts(at, "E4.1", "E4.2") > 1  # ... and forward through E4


def test_words_about_amounts_hold() -> None:
    sound = bench(CIRCUIT, "", DIPPED)
    assert seen(sound, "left main beam glows") == "no"
    assert ohms(bench(CIRCUIT), "E1.2") < 0.5
