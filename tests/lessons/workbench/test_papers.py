"""Papers to take away, one pen among several tabs, pages to look things up."""

import csv
import html.parser
import io
import re
from pathlib import Path

import pytest

from lessons.workbench import Workbench, open_bench, open_setup
from lessons.workbench.panels.lookup import zone_of
from lessons.workbench.papers import evidence_csv, plain, report_html
from tests.lessons.workbench.cases import HINGE, ON, say, setup_of


@pytest.fixture
def bench(tmp_path: Path) -> Workbench:
    bench = open_setup(setup_of(tmp_path))
    say(bench, do={"set": ON})
    say(bench, do={"measure": "volts", "red": "C41.1a", "black": "C41.1b"})
    say(bench, note="=HYPERLINK(1), <b>bad</b> joint", step=2)
    return bench


def test_the_table_has_a_line_for_every_step(bench: Workbench) -> None:
    (line,) = csv.DictReader(io.StringIO(evidence_csv(bench.desk)))
    assert line["done"] == "Volts from C41 pin 1, half a to C41 pin 1, half b"
    assert line["conditions"] == "key run, heater switch on"
    assert line["showed"] == bench.view["evidence"][0]["reading"]
    assert line["minutes"] == "4.0"
    assert line["note"].startswith("'=")


@pytest.mark.parametrize(
    ("cell", "kept"), [("-3.2 V", "-3.2 V"), ("-x", "'-x"), ("12 V", "12 V"), ("@a", "'@a")]
)
def test_no_cell_is_a_formula(cell: str, kept: str) -> None:
    assert plain(cell) == kept


class Tags(html.parser.HTMLParser):
    def __init__(self) -> None:
        super().__init__()
        self.seen: list[str] = []

    def handle_starttag(self, tag: str, attrs: list) -> None:
        del attrs
        self.seen.append(tag)


def test_the_report_has_complaint_evidence_cause_checks_and_diagram(bench: Workbench) -> None:
    say(bench, call={"unit": "hinge joint", "cause": HINGE, "option": ""})
    text = report_html(bench.desk)
    tags = Tags()
    tags.feed(text)
    assert tags.seen.count("svg") == 1
    assert tags.seen.count("h2") == 4
    assert "&lt;b&gt;bad&lt;/b&gt; joint" in text
    assert bench.desk.attempt.case.complaint in text
    assert "C41 pin 1 high resistance, 2 Ω" in text
    assert "not checked yet" in text
    assert "script" not in tags.seen
    assert set(re.findall(r"\w+://[^\s\"'<]*", text)) <= {"http://www.w3.org/2000/svg"}


def test_a_paper_goes_to_the_page_that_asked(
    bench: Workbench, monkeypatch: pytest.MonkeyPatch
) -> None:
    sent: list[dict] = []
    monkeypatch.setattr(bench, "send", sent.append)
    before = len(bench.desk.entries)
    assert say(bench, save="csv", tab="one")["notice"] == ""
    assert sent[0]["tab"] == "one"
    assert sent[0]["paper"]["name"] == "foggy-window-evidence.csv"
    assert "there are csv, report" in say(bench, save="song")["notice"]
    assert len(bench.desk.entries) == before


def test_a_demonstration_has_a_table_and_no_report() -> None:
    trial = open_bench("rear-window-heater")
    assert "report of work orders" in say(trial, save="report")["notice"]


def test_of_two_tabs_one_writes_and_both_know(bench: Workbench) -> None:
    say(bench, **{"tab": "one", "is": "here"})
    view = say(bench, **{"tab": "two", "is": "here"})
    assert view["pen"] == {"holder": "two", "others": []}
    lines = len(bench.desk.entries)
    assert "another tab" in say(bench, do={"look": "engine bay"}, tab="one")["notice"]
    assert len(bench.desk.entries) == lines
    assert say(bench, **{"tab": "one", "is": "still"})["pen"]["others"] == ["one"]
    assert say(bench, do={"look": "engine bay"}, tab="two")["notice"] == ""
    assert len(bench.desk.entries) == lines + 1
    assert say(bench, **{"tab": "one", "is": "here"})["pen"]["holder"] == "one"
    assert say(bench, do={"look": "fuse panel"}, tab="one")["notice"] == ""
    say(bench, **{"tab": "one", "is": "gone"})
    assert say(bench, do={"look": "engine bay"}, tab="two")["notice"] == ""


@pytest.mark.parametrize(
    ("place", "zone"),
    [
        ("engine bay", "front"),
        ("under engine", "front"),
        ("fuse panel", "cabin"),
        ("behind dash", "cabin"),
        ("tailgate hinge", "rear"),
        ("rear door post", "rear"),
        ("the attic", "elsewhere"),
    ],
)
def test_a_place_stands_where_its_name_says(place: str, zone: str) -> None:
    assert zone_of(place) == zone


def test_every_place_is_on_the_map_once_and_every_pin_has_its_wires(bench: Workbench) -> None:
    view = say(bench, choose={"view": "vehicle"})
    places = [name for zone in view["map"]["zones"] for name in zone["places"]]
    assert sorted(places) == sorted(bench.desk.circuit.places)
    assert sum(count for *_pair, count in view["map"]["looms"]) > 5
    view = say(bench, choose={"view": "connectors"})
    hinge = next(part for part in view["connectors"]["parts"] if part["name"] == "C41")
    assert hinge["harness"][0]["wires"][0]["to"] == "K3 socket 87 (fuse panel)"
    assert hinge["own"][0]["wires"][0]["to"].startswith("E9 wire end 1")


def test_what_is_left_adds_up_to_all_of_it(bench: Workbench) -> None:
    view = say(bench, strike=["F7=open"], reason="looked")
    left = [s for unit in view["suspects"]["units"] for s in unit["suspects"] if not s["struck"]]
    assert sum(suspect["chance"] for suspect in left) == pytest.approx(1.0, abs=0.005)
