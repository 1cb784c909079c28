"""The scan tool at the bench: what it says taken apart, its tasks on the screen."""

import pytest

from lessons.workbench import open_bench
from lessons.workbench.kit import kit
from sim.instruments.scanning import TASKS
from tests.lessons.workbench.cases import done

KEY = {"key": "run"}
SENSOR = "R4"


def put_together(unit: dict) -> set[str]:
    """Give the items of a unit's screen as the instrument said them."""
    codes = {f"{code} {title}: {status}" for code, title, status in unit["codes"]}
    return codes | {f"{name} {value}" for name, value in unit["lines"]} | set(unit["says"])


@pytest.mark.parametrize("task", ["codes", "live data", "maker data", "freeze frame"])
def test_nothing_that_it_says_is_lost_in_its_table(task: str) -> None:
    bench = open_bench("engine-sensors", fault=f"{SENSOR}.1=open", settings=KEY)
    view = done(bench, do={"scan": task, "unit": "A1"})
    (unit,) = view["readout"]["scan"]["units"]
    words = bench.desk.entries[-1].data["shown"]["words"]
    assert put_together(unit) == set(words.removeprefix("A1: ").split("; "))


def test_a_code_stands_in_the_list_with_its_title_and_status() -> None:
    bench = open_bench("engine-sensors", fault=f"{SENSOR}.1=open", settings=KEY)
    (unit,) = done(bench, do={"scan": "codes"})["readout"]["scan"]["units"]
    codes = [code for code, _title, _status in unit["codes"]]
    # SAE J2012: engine coolant temperature circuit high, which is what an open one reads as;
    # failure type 17 of SAE J2012-DA: circuit voltage above threshold
    assert codes == ["P0118-17"]
    assert "confirmed" in unit["codes"][0][2]
    assert unit["says"] == []


def test_live_data_are_lines_of_name_and_value() -> None:
    bench = open_bench("engine-sensors", settings=KEY)
    (unit,) = done(bench, do={"scan": "live data", "unit": "A1"})["readout"]["scan"]["units"]
    lines = dict(unit["lines"])
    assert lines["coolant temperature"].endswith("°C")
    assert lines["monitor components"] == "complete"
    assert unit["says"] == []


def test_a_graph_runs_over_the_time_of_the_bench() -> None:
    bench = open_bench("pulsed-fan", settings=KEY)
    done(bench, choose={"instrument": "scan", "knob": {"scan": "graph"}})
    view = done(bench, choose={"aim": "A1"})
    which = next(knob for knob in view["meter"]["knobs"] if knob["name"] == "what")
    assert ["supply voltage at the unit"] * 2 in which["words"]
    view = done(bench, choose={"knob": {"what": "supply voltage at the unit", "over": "5 min"}})
    before = bench.desk.situation.clock
    view = done(bench, do=view["meter"]["offer"]["do"])
    graph = view["readout"]["scan"]["units"][0]["graph"]
    assert graph["points"][-1][0] == graph["seconds"] == 300
    assert bench.desk.situation.clock - before >= 300
    assert all(11 < value < 13 for _time, value in graph["points"])
    assert graph["unit"] == "V"


def test_an_output_is_held_and_let_go_from_the_screen() -> None:
    bench = open_bench("pulsed-fan", settings=KEY)
    done(bench, choose={"instrument": "scan", "knob": {"scan": "hold"}})
    assert "unit" in bench.view["meter"]["problem"]
    done(bench, choose={"aim": "A1"})
    view = done(bench, choose={"knob": {"what": "fan", "at": "40"}})
    hold = {"scan": "hold", "unit": "A1", "what": "fan", "at": "40"}
    assert view["meter"]["offer"]["do"] == hold
    assert view["meter"]["cautions"]
    view = done(bench, do=hold)
    assert "The tool holds fan of A1 at 40.0 %." in view["meter"]["standing"]
    view = done(bench, choose={"knob": {"scan": "release"}})
    assert view["meter"]["offer"] is None  # another task: what it is about is chosen again
    view = done(bench, choose={"knob": {"what": "fan"}})
    assert view["meter"]["offer"]["do"] == {"scan": "release", "unit": "A1", "what": "fan"}
    view = done(bench, do=view["meter"]["offer"]["do"])
    assert view["meter"]["standing"] == [
        text for text in view["meter"]["standing"] if "The tool" not in text
    ]


@pytest.mark.parametrize("task", TASKS)
def test_every_task_is_on_the_knob_and_says_what_it_needs(task: str) -> None:
    bench = open_bench("pulsed-fan", settings=KEY)
    view = done(bench, choose={"instrument": "scan", "knob": {"scan": task}})
    shown = {knob["name"] for knob in view["meter"]["knobs"]}
    wanted = {ask.key or "scan" for ask in kit()["scan"].wanted(task)}
    assert shown == wanted - {"unit", "while"}
    assert bool(view["meter"]["offer"]) == (task in ("codes", "clear"))
