"""A demonstration of one step: prediction, reading, currents; held against Ohm's law."""

import pytest

from lessons.workbench import demonstrate, open_bench, open_setup
from lessons.workbench.words import element_words
from sim.access import probe_points
from tests.lessons.workbench.cases import HINGE, ON, say, setup_of

ACROSS = {"measure": "volts", "red": "C41.1a", "black": "C41.1b"}


def shown(fault: str = HINGE, **arguments: object) -> dict:
    bench = demonstrate("rear-window-heater", fault, ON, do=ACROSS, **arguments)
    return say(bench, predict="less than 1 V")["frame"]


def losses(frame: dict) -> dict[str, dict]:
    return {line["name"]: line for line in frame["losses"]}


def test_nothing_is_told_before_a_prediction() -> None:
    bench = demonstrate("rear-window-heater", HINGE, ON, do=ACROSS)
    sound = demonstrate("rear-window-heater", "", ON, do=ACROSS)
    assert bench.view == sound.view
    assert bench.view["frame"] is None
    assert "what you expect" in say(bench, predict="  ")["notice"]
    assert "expected one of" in say(bench, do=ACROSS)["notice"]
    assert bench.view["frame"] is None


def test_the_step_is_shown_once_beside_a_sound_vehicle() -> None:
    bench = demonstrate("rear-window-heater", HINGE, ON, do=ACROSS)
    frame = say(bench, predict="less than 1 V")["frame"]
    assert float(frame["shown"].split()[0]) > 6
    assert frame["usual"].endswith("mV")
    assert frame["expected"] == "less than 1 V"
    assert "has been shown" in say(bench, predict="again")["notice"]


def test_the_joint_loses_what_ohms_law_says() -> None:
    joint = losses(shown())["C41.1"]
    assert joint["odd"]
    assert joint["volts"] == pytest.approx(2.0 * joint["amps"], rel=0.01)  # U = R I, R = 2 ohm
    assert joint["watts"] == pytest.approx(joint["volts"] * joint["amps"], rel=1e-3)


def test_a_tab_that_leads_reach_has_a_line_beside_its_grid() -> None:
    found = losses(shown("E9.1=high resistance:0.8 ohm"))
    tab, grid = found["E9.1"], found["E9 grid"]
    assert tab["odd"]
    assert not grid["odd"]
    assert tab["volts"] == pytest.approx(0.8 * tab["amps"], rel=0.01)  # U = R I
    # 12 V over 160 W is 0.9 ohm, whatever the tab does
    assert grid["volts"] == pytest.approx(12.0**2 / 160.0 * grid["amps"], rel=0.01)
    assert tab["words"] == "E9 wire end 1"
    assert not grid["with_contacts"]


def test_the_holder_of_a_lamp_is_one_line_with_its_filament() -> None:
    """Its own side of the contact is out of a lead's reach while the lamp is in."""
    do = {"measure": "volts", "red": "B1.+", "black": "B1.-"}
    fault, lit = "E2.1=high resistance:5 ohm", {"marker lamps": "on"}
    bench = demonstrate("trailer-lamps", fault, lit, do=do)
    lines = say(bench, predict="?")["frame"]["losses"]
    (lamp,) = [line for line in lines if line["part"] == "E2"]
    circuit = bench.desk.circuit
    assert {"E2.1", "E2.2"} <= set(probe_points(circuit))
    assert not {"E2.1b", "E2.2b"} & set(probe_points(circuit))
    assert lamp["with_contacts"]
    assert lamp["volts"] > 12 > lamp["volts"] - 5 * lamp["amps"]


def test_what_flows_to_the_glass_flows_back_over_the_battery() -> None:
    frame = shown()
    amps = {flow["name"]: flow["amps"] for flow in frame["flows"] if flow["label"]}
    assert amps["wire 8"] == pytest.approx(amps["wire 9"], rel=1e-3)  # in series
    assert amps["strap 30"] == pytest.approx(amps["wire 6"] + amps["wire 11"], rel=1e-3)  # a node
    assert {flow["name"] for flow in frame["sound"]} >= {"C41", "E9", "K3"}


def test_the_current_runs_down_to_the_glass() -> None:
    wire = next(flow for flow in shown()["flows"] if flow["name"] == "wire 8")
    assert wire["line"][0][1] < wire["line"][-1][1]


def test_a_break_is_where_the_volts_stand_and_nothing_flows() -> None:
    gap = losses(shown("F7=open"))["F7"]
    assert gap["odd"]
    assert gap["amps"] < 0.001
    assert gap["volts"] > 11


def test_a_chafed_wire_carries_more_before_the_bare_spot_than_behind_it() -> None:
    bench = demonstrate("rear-window-heater", "wire 8=short to ground:0.5 ohm", ON, do=ACROSS)
    frame = say(bench, predict="?")["frame"]
    halves = [flow for flow in frame["flows"] if flow["name"] == "wire 8"]
    assert len(halves) == 2
    assert halves[0]["amps"] > 1.5 * halves[1]["amps"]
    assert halves[0]["line"][-1] == halves[1]["line"][0]


def test_what_is_done_before_is_told_in_the_conditions() -> None:
    bench = demonstrate("rear-window-heater", HINGE, ON, do=ACROSS, first=[{"unplug": "E9"}])
    assert "E9 apart" in bench.view["conditions"]
    frame = say(bench, predict="12 V")["frame"]
    assert not [flow for flow in frame["flows"] if flow["name"] == "wire 9"]
    assert float(frame["shown"].split()[0]) < 1  # no current, no loss


@pytest.mark.parametrize(
    ("arguments", "words"),
    [
        ({"do": {"unplug": "Z1"}}, "Z1"),
        ({"do": {"measure": "volts", "red": "F7.1", "black": "body"}}, "pull it first"),
        ({"do": ACROSS, "first": [{"juggle": "F7"}]}, "juggle"),
    ],
)
def test_a_step_that_cannot_be_done_says_so(arguments: dict, words: str) -> None:
    view = demonstrate("rear-window-heater", **arguments).view
    assert view["title"] == "This demonstration cannot be set up"
    assert words in view["text"]


def test_a_case_can_ask_for_predictions_and_keeps_them(tmp_path) -> None:
    bench = open_setup(setup_of(tmp_path), predict=True)
    assert "what you expect" in say(bench, do=ACROSS)["notice"]
    view = say(bench, predict="4 V", do=ACROSS)
    assert view["readout"]["expected"] == "4 V"
    assert [entry.kind for entry in bench.desk.entries] == ["open", "predict", "act"]
    again = open_setup(setup_of(tmp_path))
    assert again.view["evidence"][0]["expected"] == "4 V"


def test_a_bench_without_the_wish_asks_for_none() -> None:
    bench = open_bench("rear-window-heater", settings=ON)
    assert say(bench, do=ACROSS)["readout"]["expected"] == ""


@pytest.mark.parametrize(
    ("element", "words"),
    [
        ("K3.30", "K3 socket 30"),
        ("K3 contact", "K3 contact"),
        ("C41.1", "C41 pin 1"),
        ("F7.1", "F7 holder 1"),
        ("S4.lamp lamp", "S4 lamp"),
        ("X7", "X7"),
        ("wire 8", "wire 8"),
    ],
)
def test_a_loss_has_the_name_that_a_student_knows(element: str, words: str) -> None:
    circuit = open_bench("rear-window-heater").desk.circuit
    assert element_words(circuit, element) == words
