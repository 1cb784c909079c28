"""Lesson 06: its numbers come from the bench, physics refuses its mistake, its words are plain.

Every number in the text stands in `claims`, computed from the circuit, or in `SOURCES`; a number
that stands in neither fails a test.
"""

import re
from functools import cache

import pytest

from lessons.workbench.words import point_words
from sim.bench import Bench
from tests.lessons import pages, trials
from tests.lessons.trials import do, number, volts

LESSON, CIRCUIT = "06-two-circuits-in-one-can", "rear-window-heater"
BAD_JOINT = "C41.1=high resistance:0.8 ohm"
ON = {"set": {"key": "run", "heater switch": "on"}}
OFF = {"set": {"key": "off", "heater switch": "off"}}

#: What the list of sources says -> where the project's table of outside values has it.
SOURCES = {
    "Numbers of terminals: DIN 72552.": "30 common, 85 and 86 coil, 87 normally open: DIN 72552",
    "with a coil of 85 ohm: data sheet of the TE Power Relay B.": "85 ohm +-10 %: that sheet",
    "NEETS, Module 1, of the US Navy.": "power off first, the meter has its own source",
    "US Army SS0713.": "jewellery off at a battery",
    "TM 9-6140-200-14.": "p. 4-12: an explosive mix is always to be assumed near cells",
}


def cells(kind: str) -> dict[str, str]:
    return pages.cells(LESSON, kind)


def text() -> str:
    return pages.text(LESSON)


def bench(fault: str = "") -> Bench:
    return trials.bench(CIRCUIT, fault)


# What the text says


@cache
def claims() -> dict[str, str]:
    """Give every sentence part with a number, the number computed, and what it is about."""
    good, bad = bench(), bench(BAD_JOINT)
    do(good, ON)
    do(bad, ON)
    ohms = good.circuit.parts["K3"].number("coil")
    coil = volts(good, "K3.86", "K3.85") / ohms
    glass = number(do(good, {"clamp": "wire 8"}))
    lost, left = volts(bad, "C41.1a", "C41.1b"), volts(bad, "E9.1", "E9.2")
    amps = number(do(bad, {"clamp": "wire 8"}))
    behind = no_load(BAD_JOINT)
    return {
        f"the coil has {ohms:g} ohm": "coil",
        f"takes about {coil:.2f} A": "coil's current",
        f"The glass takes about {glass:.0f} A": "glass' current",
        f"about {round(glass / coil, -1):.0f} times as much": "ratio",
        f"drops about {volts(good, 'C41.1a', 'C41.1b'):.2f} V": "good joint",
        f"about {volts(bad, 'K3.86', 'K3.85'):.1f} V across the coil": "coil's volts",
        f"clamp on wire 8 shows about {amps:.1f} A": "current",
        f"shows about {behind:.1f} V, as if all were well": "no load",
        f"About {lost:.1f} V is lost": "drop",
        f"The glass gets {left:.1f} V": "what is left",
        f"with about {lost * amps:.0f} W": "heat in the joint",
        f"only about {volts(bad, 'K3.30', 'K3.87'):.2f} V": "contact",
        f"more than {1} V, or less": "a question",
        f"out of {pages.points_of(LESSON)}": "points",
        f"stay at {0.0}": "points at first",
        "terminal 86 to terminal 85": "coil",
        "terminal 30 to terminal 87": "contact",
    }


def no_load(fault: str) -> float:
    at = bench(fault)
    do(at, OFF, {"unplug": "E9"}, ON)
    return volts(at, "C41.1b", "body")


def bench_points() -> list[str]:
    circuit = bench().circuit
    points = ("C41.1a", "C41.1b", "K3.86", "K3.85", "K3.30", "K3.87")
    return [point_words(circuit, point) for point in points]


@pytest.mark.parametrize("claim", claims())
def test_a_number_is_what_the_bench_gives(claim: str) -> None:
    assert claim in text()


@pytest.mark.parametrize("source", SOURCES)
def test_a_source_is_named(source: str) -> None:
    assert source in text()


def test_no_number_stands_unchecked() -> None:
    left = pages.without(text(), [*claims(), *SOURCES, *bench_points()])
    assert set(pages.PART.findall(left)) <= set(bench().circuit.parts)
    assert pages.NUMBER.findall(pages.PART.sub("", left)) == []


def test_the_coil_is_one_that_is_sold() -> None:
    # TE Power Relay B data sheet: 85 ohm +-10 %, 1.7 W at 12 V
    relay = bench().circuit.parts["K3"].number("coil")
    assert relay == pytest.approx(85, rel=0.10)
    assert 12**2 / relay == pytest.approx(1.7, abs=0.05)


def test_the_glass_gives_less_than_a_third_of_its_heat() -> None:
    good, bad = bench(), bench(BAD_JOINT)
    watts = []
    for at in (good, bad):
        do(at, ON)
        watts.append(volts(at, "E9.1", "E9.2") * number(do(at, {"clamp": "wire 8"})))
    assert 0.25 < watts[1] / watts[0] < 1 / 3
    assert "less than a third of its heat" in text()


def test_the_drawing_is_the_circuits_own() -> None:
    (drawing,) = pages.FENCE.findall(cells("markdown")["idea"])
    control, load = (
        next(line for line in drawing.splitlines() if line.startswith(side))
        for side in ("control side", "load side")
    )
    tracks = bench().circuit.diagram
    for line, track in ((control, tracks["1"]), (load, tracks["2"])):
        stops = [stop.split()[0] for stop in track[:-1]]  # the last is ground, in words
        places = [re.search(rf"\b{re.escape(stop)}\b", line) for stop in stops]
        assert all(places), (stops, line)
        starts = [place.start() for place in places if place]
        assert starts == sorted(starts)
        assert "ground" in line


# What the reader does on the bench


def test_the_demonstration_has_the_fault_that_the_tests_have() -> None:
    for name in ("demo-bench", "demo-no-load", "demo-load"):
        assert f'"{BAD_JOINT}"' in cells("code")[name]


def test_what_a_set_up_step_shows_is_what_the_text_says() -> None:
    for name, said in (("demo-no-load", "shows about {:.1f} V"), ("demo-load", "About {:.1f} V")):
        faulty, _sound = pages.shown(LESSON, name)
        assert said.format(float(faulty.split()[0])) in text()


def test_step_one_the_relay_clicks_and_the_window_stays_fogged() -> None:
    at = bench(BAD_JOINT)
    assert do(at, {"listen": "K3", "set": ON["set"]}).words == "clicks"
    seen = do(at, ON, {"wait": "10 min"}, {"watch": "rear window clears"}).words
    assert (seen, do(bench(), ON, {"wait": "10 min"}, {"watch": "rear window clears"}).words) == (
        "no",
        "yes",
    )


def test_step_two_another_relay_changes_nothing() -> None:
    at = bench(BAD_JOINT)
    before = do(at, ON, {"clamp": "wire 8"})
    after = do(at, OFF, {"swap": ["K3", "K5"]}, ON, {"clamp": "wire 8"})
    assert after == before
    assert do(at, {"wait": "10 min"}, {"watch": "rear window clears"}).words == "no"


def test_the_same_swap_does_prove_a_burnt_relay() -> None:
    at = bench("K3=contact burnt:2 ohm")
    before = number(do(at, ON, {"clamp": "wire 8"}))
    after = number(do(at, OFF, {"swap": ["K3", "K5"]}, ON, {"clamp": "wire 8"}))
    assert before < 0.7 * after


def test_step_three_without_load_a_bad_joint_looks_like_a_good_one() -> None:
    assert no_load(BAD_JOINT) == pytest.approx(no_load(""), abs=0.02)
    at = bench(BAD_JOINT)
    do(at, OFF, {"unplug": "E9"}, ON)
    assert do(at, {"lamp": True, "red": "C41.1b", "black": "body"}).words == "bright"


def test_step_four_under_load_it_shows_and_is_hot() -> None:
    good, bad = bench(), bench(BAD_JOINT)
    do(good, ON)
    do(bad, ON)
    assert volts(bad, "C41.1a", "C41.1b") > 1 > volts(good, "C41.1a", "C41.1b")
    assert do(bad, {"feel": "C41"}).words == "hot"
    assert do(good, {"feel": "C41"}).words == "not hot"


@pytest.mark.parametrize("fault", ["F7=open", "K3=contact open", "C41.1=open", "X7=open"])
def test_the_click_says_nothing_about_the_load_side(fault: str) -> None:
    assert do(bench(fault), {"listen": "K3", "set": ON["set"]}).words == "clicks"


@pytest.mark.parametrize("fault", ["F12=open", "S4=contact open", "K3=coil open", "wire 5=open"])
def test_the_click_needs_all_of_the_control_side(fault: str) -> None:
    assert do(bench(fault), {"listen": "K3", "set": ON["set"]}).words != "clicks"


@pytest.mark.parametrize("word", ["fans", "indoors", "glovebox"])
def test_a_caution_that_applies_is_given(word: str) -> None:
    assert word in cells("markdown")["care"]
