"""What the panels say: points by name, sections of the path, evidence, demonstration."""

from pathlib import Path

import pytest

from grader.suspectwords import suspect_words
from lessons.workbench import open_bench, open_setup
from lessons.workbench.panels.sight import point_names
from lessons.workbench.panels.suspects import sections, track_stops
from lessons.workbench.steps import step_numbers
from lessons.workbench.words import in_shop_words, point_words
from sim.access import probe_points
from tests.lessons.workbench.cases import HINGE, ON, lineup, say, setup_of


@pytest.mark.parametrize("state", ["together", "apart"])
def test_every_point_has_a_name_of_its_own(state: str) -> None:
    circuit = lineup().case.circuit
    pulled = tuple(circuit.parts) if state == "apart" else ()
    words = [point_words(circuit, point, pulled) for point in probe_points(circuit, pulled)]
    assert len(set(words)) == len(words)


@pytest.mark.parametrize(
    ("point", "apart", "words"),
    [
        ("body", (), "body (31)"),
        ("B1.-", (), "battery −"),
        ("C41.1a", (), "C41 pin 1, half a"),
        ("C41.1b", ("C41",), "C41 pin 1, half b"),
        ("F7.1b", (), "F7 top 1"),
        ("F7.1b", ("F7",), "F7 blade 1"),
        ("F7.1", ("F7",), "F7 holder 1"),
        ("K3.87", (), "K3 socket 87"),
        ("K3.87b", ("K3",), "K3 relay 87"),
        ("X7.ring", (), "X7 stud"),
        ("link30.2", (), "link, terminal 30"),
        ("E9.1b", (), "E9 tab 1"),
    ],
)
def test_points_are_called_as_in_the_shop(point: str, apart: tuple[str, ...], words: str) -> None:
    assert point_words(lineup().case.circuit, point, apart) == words


@pytest.mark.parametrize(
    ("text", "apart", "words"),
    [
        ("volts from F7.1b to body", (), "volts from F7 top 1 to body"),
        ("ohms from F7.1b to F7.2b", ("F7",), "ohms from F7 blade 1 to F7 blade 2"),
        (
            "ohms F7.1b to F7.2b (F7 pulled, key run)",
            (),
            "ohms F7 blade 1 to F7 blade 2 (",
        ),
        ("volts at X7.ring.", (), "volts at X7 stud."),
        ("drop C41.1a to C41.1b", (), "drop C41 pin 1, half a to C41 pin 1, half b"),
        ("C41.1 high resistance, 2 Ω", (), "C41 pin 1 high resistance, 2 Ω"),
        ("K3.30 open", (), "K3 socket 30 open"),
        ("F7.1 open", (), "F7 holder 1 open"),
        ("wire 8 open; no such K3.99 or Z1.2", (), "wire 8 open; no such K3.99 or Z1.2"),
    ],
)
def test_texts_of_the_files_are_said_as_in_the_shop(
    text: str, apart: tuple[str, ...], words: str
) -> None:
    assert in_shop_words(lineup().case.circuit, text, apart).startswith(words)


def test_what_is_read_bears_the_name_it_was_chosen_by(tmp_path: Path) -> None:
    """Every point of every chooser, measured: the evidence, the read-out and the conditions."""
    bench = open_setup(setup_of(tmp_path))
    say(bench, do={"pull": "F7"})
    view = say(bench, choose={"instrument": "measure", "black": "body"})
    for _place, points in ((row["place"], row["points"]) for row in view["meter"]["points"]):
        for point, words in points:
            if point == "body":
                continue
            view = say(bench, do={"measure": "volts", "red": point, "black": "body"})
            assert view["readout"]["what"] == f"Volts from {words} to body"
            assert view["evidence"][-1]["what"] == view["readout"]["what"]


def test_every_point_of_the_circuit_is_drawn_at_its_place() -> None:
    circuit = lineup().case.circuit
    drawn = {
        p
        for part in circuit.parts.values()
        if part.kind != "wire"
        for side in point_names(part)
        for p in side
    }
    assert set(probe_points(circuit)) | set(probe_points(circuit, circuit.parts)) == drawn | {
        "body"
    }


def test_suspects_are_words() -> None:
    assert suspect_words(HINGE) == "C41.1 high resistance, 2 Ω"
    assert suspect_words("E9=line open:6") == "E9 line open, 6"
    assert (
        suspect_words("wire 8=short to ground:0.1 ohm + F7=open")
        == "wire 8 short to ground, 0.1 Ω and F7 open"
    )


def test_tracks_run_from_supply_to_ground_through_their_wires() -> None:
    # read off the circuit file by hand
    circuit = lineup().case.circuit
    assert track_stops(circuit, circuit.diagram["2"]) == [
        "wire 6",
        "F7",
        "wire 7",
        "K3 contact",
        "wire 8",
        "C41",
        "wire 9",
        "E9",
        "wire 10",
        "X7",
    ]
    assert track_stops(circuit, circuit.diagram["1"])[-3:] == ["wire 3", "K3 coil", "wire 5"]


def test_good_up_to_a_stop_holds_nothing_of_what_comes_later() -> None:
    load = next(s for s in sections(lineup()) if any(m["label"] == "C41" for m in s["stops"]))
    held = {stop["label"]: stop["suspects"] for stop in load["stops"]}
    assert held["F7"][0] == "F7=open"
    # the compound needs wire 8 to be good, so F7 alone does not clear it
    assert "wire 8=short to ground:0.1 ohm + F7=open" in held["wire 8"]
    assert "K3=coil open" not in held["K3 contact"]
    assert "K3=contact open" in held["K3 contact"]
    assert "K3.30=open" in held["K3 contact"]


def test_only_a_ground_on_no_track_is_left_out_of_the_sections() -> None:
    held = {n for s in sections(lineup()) for stop in s["stops"] for n in stop["suspects"]}
    assert {s.name for s in lineup().suspects} - held == {"X1=high resistance:0.4 ohm"}


def test_the_evidence_gives_conditions_and_counts_what_shows(tmp_path: Path) -> None:
    bench = open_setup(setup_of(tmp_path))
    say(bench, do={"set": ON})
    say(bench, do={"unplug": "E9"})
    view = say(bench, do={"measure": "volts", "red": "C41.1b", "black": "body"})
    assert [line["n"] for line in view["evidence"]] == [1, 2]
    assert view["evidence"][1]["conditions"] == "key run, heater switch on, E9 apart"
    assert view["evidence"][1]["reading"] == f"{view['readout']['value']} V"
    assert step_numbers(bench.desk.entries) == {0: 1, 1: 1, 2: 1, 3: 2}


def test_a_swap_is_undone_by_a_swap(tmp_path: Path) -> None:
    bench = open_setup(setup_of(tmp_path))
    view = say(bench, do={"swap": ["K3", "K5"]})
    assert "K3 and K5 exchanged" in view["evidence"][-1]["conditions"]
    view = say(bench, do={"swap": ["K5", "K3"]})
    assert view["evidence"][-1]["conditions"] == "everything off"


def test_a_question_moves_the_likelihoods(tmp_path: Path) -> None:
    bench = open_setup(setup_of(tmp_path))

    def chance(view: dict) -> float:
        unit = next(u for u in view["suspects"]["units"] if u["name"] == "hinge joint")
        return sum(suspect["chance"] for suspect in unit["suspects"])

    before = chance(bench.view)
    view = say(bench, do={"ask": "Since when?"})
    assert chance(view) > before
    assert view["order"]["questions"][0]["answer"] == "Since the tailgate was repainted."
    assert view["order"]["minutes"] == "1.0"


def test_a_demonstration_has_no_order_and_keeps_its_fault_to_itself() -> None:
    bench = open_bench("rear-window-heater", fault=HINGE, settings=ON)
    assert bench.view["mode"] == "trial"
    assert "order" not in bench.view
    assert "suspects" not in bench.view
    healthy = open_bench("rear-window-heater", settings=ON)
    assert bench.view == healthy.view
    across = {"measure": "volts", "red": "C41.1a", "black": "C41.1b"}
    assert float(say(bench, do=across)["readout"]["value"]) > 6
    assert say(healthy, do=across)["readout"]["unit"] == "mV"
    assert "expected one of" in say(bench, strike=[HINGE])["notice"]


def test_a_prediction_comes_first_and_stands_beside_the_reading() -> None:
    bench = open_bench("rear-window-heater", settings=ON, predict=True)
    across = {"measure": "volts", "red": "C41.1a", "black": "C41.1b"}
    view = say(bench, do=across)
    assert "what you expect" in view["notice"]
    assert view["evidence"] == []
    view = say(bench, predict="next to nothing", do=across)
    assert view["readout"]["expected"] == "next to nothing"
    assert view["evidence"][0]["expected"] == "next to nothing"
    assert say(bench, do={"set": {"key": "off"}})["notice"] == ""


@pytest.mark.parametrize(
    "arguments",
    [
        {"circuit": "no-such-circuit"},
        {"circuit": "rear-window-heater", "fault": "Z1=open"},
        {"circuit": "rear-window-heater", "settings": {"key": "sideways"}},
    ],
    ids=str,
)
def test_a_bench_that_cannot_be_set_up_says_why(arguments: dict) -> None:
    view = open_bench(**arguments).view
    assert view["mode"] == "message"
    assert view["text"]
