"""A bench in German: the same record and figures, chosen in three ways, changed on the way."""

import json
from pathlib import Path
from typing import Any

import pytest

from grader.prepared import prepare
from grader.suspectwords import suspect_words
from lessons.workbench import Workbench, demonstrate, open_bench, open_setup
from lessons.workbench.handinbutton import HandInButton
from lessons.workbench.panels.sheet import sheet_of
from lessons.workbench.papers import paper
from sim.language import VARIABLE, speaking
from tests.lessons.workbench.cases import HINGE, ON, lineup, setup_of

WORK: list[dict[str, Any]] = [
    {"do": {"set": ON}},
    {"do": {"wait": "5 min"}},
    {"do": {"watch": "rear window clears"}},
    {"do": {"look": "tailgate hinge"}},
    {"do": {"measure": "ohms", "red": "C41.1a", "black": "C41.1b"}},
    {"strike": ["F7=open", "C41.1=open"], "reason": "looked"},
    {"hint": True},
    {"call": {"unit": "hinge joint", "cause": HINGE, "option": ""}},
    {"do": {"watch": "rear window clears"}},
    {"do": {"clamp": "wire 8"}},
    {"close": True},
]


def worked(folder: Path, language: str) -> Workbench:
    """Work a case from its first line to its last."""
    folder.mkdir()
    with speaking(language):
        bench = open_setup(setup_of(folder))
    for message in WORK:
        bench.receive(bench, {"seq": "1", **message}, [])
        assert bench.view["notice"] == ""
    bench.worker.shutdown(wait=True)
    return bench


def without_time(data: dict[str, Any]) -> dict[str, Any]:
    """Give a line of a record without when it was written, and the chain that hangs on it."""
    return {key: value for key, value in data.items() if key not in ("at", "prev", "hash")}


def figures(data: object) -> object:
    """Give what is no text of a sheet, in its place; points and minutes are texts of digits.

    Where a current is drawn (`line`) hangs on how wide the words beside it are.
    """
    if isinstance(data, dict):
        return {key: figures(value) for key, value in data.items() if key != "line"}
    if isinstance(data, (list, tuple)):
        return [figures(one) for one in data]
    if isinstance(data, str):
        return data if data.strip("+-.0123456789") == "" else "text"
    return data


def test_a_record_and_its_score_are_the_same_in_every_language(tmp_path: Path) -> None:
    benches = {code: worked(tmp_path / code, code) for code in ("en", "de")}
    lines = {
        code: [(entry.kind, without_time(entry.data)) for entry in bench.desk.entries]
        for code, bench in benches.items()
    }
    assert json.dumps(lines["en"]) == json.dumps(lines["de"])
    assert any(kind == "hint" for kind, _data in lines["de"])
    sheets = {code: bench.sheet for code, bench in benches.items()}
    assert sheets["en"]["state"] == sheets["de"]["state"] == "ready"
    assert figures(sheets["en"]) == figures(sheets["de"])
    lines_of = {code: [mark["line"] for mark in sheets[code]["marks"]] for code in sheets}
    assert lines_of["en"][0] == "Efficiency"
    assert lines_of["de"][0] == "Arbeitsweg"
    for en, de in zip(sheets["en"]["marks"], sheets["de"]["marks"], strict=True):
        assert en["reason"] != de["reason"]


def test_one_record_gets_one_sheet_whoever_reads_it(tmp_path: Path) -> None:
    bench = worked(tmp_path / "en", "en")
    with speaking("de"):
        german = sheet_of(bench.desk.attempt)
    assert figures(german) == figures(bench.sheet)
    assert german["headline"].startswith("Richtig festgelegt: hinge joint.")
    assert german["steps"][0]["title"] != bench.sheet["steps"][0]["title"]


def test_what_is_prepared_and_kept_of_a_case_is_english(tmp_path: Path) -> None:
    kept = {}
    for code in ("en", "de"):
        with speaking(code):
            prepare(lineup().case, tmp_path / code)
        kept[code] = {file.name: file.read_bytes() for file in (tmp_path / code).iterdir()}
    assert kept["en"]
    assert kept["en"] == kept["de"]


def test_a_hint_is_kept_in_english_and_told_in_german(tmp_path: Path) -> None:
    with speaking("de"):
        bench = open_setup(setup_of(tmp_path))
    bench.receive(bench, {"seq": "1", "hint": True}, [])
    kept = next(entry.data["text"] for entry in bench.desk.entries if entry.kind == "hint")
    assert "suspects left" in kept
    assert "Verdächtige übrig" in bench.view["call"]["hints"]["text"]
    bench.receive(bench, {"seq": "2", "language": "en"}, [])
    assert bench.view["call"]["hints"]["text"] == kept


def test_the_language_is_changed_while_one_works(tmp_path: Path) -> None:
    bench = open_setup(setup_of(tmp_path))
    before = bench.view
    assert bench.speech["words"] == {}
    bench.receive(bench, {"seq": "1", "language": "de"}, [])
    assert bench.view["order"]["stages"][0]["name"] == "Beanstandung nachvollziehen"
    assert bench.speech["words"]["Evidence"] == "Befunde"
    assert "Heizscheibe" in json.dumps(bench.drawing, ensure_ascii=False)
    bench.receive(bench, {"seq": "2", "language": "xx"}, [])
    assert bench.speech["language"] == "de"
    bench.receive(bench, {"seq": "0", "language": "en"}, [])
    assert {**bench.view, "seq": 0} == {**before, "seq": 0}


def test_a_bench_is_opened_in_the_language_asked_for(monkeypatch: pytest.MonkeyPatch) -> None:
    def taken(bench: Workbench) -> str:
        return bench.view["meter"]["problem"]

    english = taken(open_bench("first-bench"))
    assert taken(open_bench("first-bench", language="de")).startswith("Zwei Messpunkte")
    monkeypatch.setenv(VARIABLE, "de")
    assert taken(open_bench("first-bench")).startswith("Zwei Messpunkte")
    assert taken(open_bench("first-bench", language="en")) == english
    shown = demonstrate("rear-window-heater", do={"feel": "E9"})
    assert shown.view["ask"] == "Was wird es zeigen?"


def test_an_unknown_language_is_told_in_the_cell(monkeypatch: pytest.MonkeyPatch) -> None:
    bench = open_bench("first-bench", language="xx")
    assert bench.view["text"] == "language: got 'xx', there are en, de"
    monkeypatch.setenv(VARIABLE, "yy")
    bench = demonstrate("first-bench", do={"feel": "B1"})
    assert bench.view["text"] == "HALFSPLIT_LANGUAGE: got 'yy', there are en, de"


def test_refusals_and_names_of_suspects_are_german() -> None:
    bench = open_bench("rear-window-heater", language="de")
    bench.receive(bench, {"seq": "1", "do": {"plug": "C41"}}, [])
    assert bench.view["notice"] == "Einstecken von C41 geht nicht: Steckverbinder, eingebaut"
    with speaking("de"):
        assert suspect_words(HINGE) == "C41.1 hoher Übergangswiderstand, 2 Ω"


def test_the_scan_tools_screen_is_german() -> None:
    bench = open_bench("engine-sensors", "R4.1=open", {"key": "run"}, language="de")
    bench.receive(bench, {"seq": "1", "do": {"scan": "codes", "unit": "A1"}}, [])
    (unit,) = bench.view["readout"]["scan"]["units"]
    ((code, title, status),) = unit["codes"]
    assert (code, title) == (
        "P0118-17",
        "Kühlmitteltemperatursensor 1: Signal zu hoch (Spannung über der Grenze)",
    )
    assert status.startswith("bestätigt, vorhanden")
    bench.receive(bench, {"seq": "2", "do": {"scan": "live data", "unit": "A1"}}, [])
    (unit,) = bench.view["readout"]["scan"]["units"]
    lines = dict(unit["lines"])
    assert lines["Warnleuchte"] in ("ein", "aus")
    assert lines["Überwachung Bauteile"] in ("abgeschlossen", "nicht abgeschlossen")
    assert lines["Kühlmitteltemperatur"].endswith("°C")
    assert "Überwachung Bauteile" in bench.view["evidence"][-1]["reading"]


def test_papers_are_written_in_the_language_of_the_bench(tmp_path: Path) -> None:
    bench = worked(tmp_path / "de", "de")
    with speaking("de"):
        report = paper(bench.desk, "report")["text"]
        table = paper(bench.desk, "csv")["text"]
    assert '<html lang="de">' in report
    assert "<h2>Ursache und Reparatur</h2>" in report
    assert table.startswith("Schritt,erledigt,Bedingungen,")


def test_the_hand_in_button_says_its_words(tmp_path: Path) -> None:
    with speaking("de"):
        button = HandInButton(tmp_path)
    assert button.label == "Seite speichern und zur Abgabe packen"
    button._heard(button, {"note": True}, [])  # noqa: SLF001 -- what the page sends
    assert button.said["lines"]
