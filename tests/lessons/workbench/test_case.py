"""A work order by messages alone, as the browser sends them: worked to its sheet, reopened."""

from pathlib import Path

import pytest

from grader.hints import LEVELS, next_hint
from grader.prepared import prepare
from grader.record import Writer, read_record
from grader.replay import replay
from grader.score import score
from lessons.workbench import Workbench, open_setup
from tests.lessons.workbench.cases import COIL, HINGE, ON, lineup, say, setup_of

ACROSS = {"measure": "volts", "red": "C41.1a", "black": "C41.1b"}


def confirm(bench: Workbench) -> None:
    for do in (
        {"set": ON},
        {"wait": "5 min"},
        {"watch": "rear window clears"},
        {"watch": "switch lamp lights"},
    ):
        assert say(bench, do=do)["notice"] == ""


def call(bench: Workbench, cause: str) -> dict:
    unit = next(s.unit.name for s in lineup().suspects if s.name == cause)
    return say(bench, call={"unit": unit, "cause": cause, "option": ""})


def verify(bench: Workbench) -> dict:
    for do in (
        {"set": ON},
        {"wait": "5 min"},
        {"watch": "rear window clears"},
        {"clamp": "wire 8"},
        {"set": {"heater switch": "off"}},
        {"clamp": "wire 8"},
    ):
        view = say(bench, do=do)
    return view


def stage(view: dict) -> str:
    return view["order"]["stages"][view["order"]["now"]]["name"]


def test_a_whole_case_to_the_score_sheet(tmp_path: Path) -> None:
    setup = setup_of(tmp_path)
    bench = open_setup(setup)
    assert stage(bench.view) == "Confirm the complaint"
    confirm(bench)
    assert stage(bench.view) == "Narrow it down"
    say(bench, choose={"place": "tailgate hinge", "instrument": "measure"})
    say(bench, choose={"touch": "C41.1a"})
    view = say(bench, choose={"touch": "C41.1b"})
    assert view["meter"]["offer"]["do"] == ACROSS
    view = say(bench, do=view["meter"]["offer"]["do"])
    # 2 ohm in series with 12 V x 12 V / 160 W = 0.9 ohm: more than half of some 12 V is lost there
    assert 6 < float(view["readout"]["value"]) < 10
    others = [s.name for s in lineup().suspects if s.unit.name != "hinge joint"]
    view = say(bench, strike=others, reason="the volts are lost in the hinge")
    assert "one unit: hinge joint" in view["order"]["next"]
    view = call(bench, HINGE)
    assert [check["state"] for check in view["call"]["checks"]] == ["open"] * 3
    view = verify(bench)
    assert [check["state"] for check in view["call"]["checks"]] == ["holds"] * 3
    assert stage(view) == "Close"
    view = say(bench, close=True)
    assert view["order"]["closed"]
    assert bench.sheet["state"] in ("working", "ready")
    with Writer(setup.record):  # a closed record is free for others
        assert "closed" in say(bench, do={"look": "engine bay"})["notice"]
    bench.worker.shutdown(wait=True)
    entries = read_record(setup.record)
    assert not replay(setup.lineup, setup.drawn, "kim", entries).mismatches
    sheet = score(prepare(setup.case), HINGE, entries)
    assert bench.sheet["state"] == "ready"
    assert bench.sheet["points"] == f"{sheet.points:.0f}"
    assert "hinge joint" in bench.sheet["headline"]
    assert len(bench.sheet["matrix"]["rows"]) == len({s.unit.name for s in lineup().suspects})
    assert bench.sheet["tree"]["on"]
    across = next(row for row in bench.sheet["steps"] if "C41 pin 1, half a" in row["title"])
    check_reasons(across)


def test_who_watches_without_the_customers_conditions_is_told_which_are_missing(
    tmp_path: Path,
) -> None:
    bench = open_setup(setup_of(tmp_path))
    assert "heater switch" not in bench.view["order"]["next"]  # nobody has tried yet
    assert bench.view["order"]["next"].endswith("then watch what the customer told you about.")
    view = say(bench, do={"watch": "rear window clears"})
    assert stage(view) == "Confirm the complaint"
    assert "not as the customer has it: key run, heater switch on." in view["order"]["next"]
    view = say(bench, do={"set": ON})
    assert "not as the customer has it" not in view["order"]["next"]
    assert view["order"]["next"].startswith("Confirm the complaint: same conditions")
    confirm(bench)
    assert stage(bench.view) == "Narrow it down"


def test_what_is_next_follows_the_readings_and_the_strikes(tmp_path: Path) -> None:
    bench = open_setup(setup_of(tmp_path))

    def then(**message: object) -> str:
        return say(bench, **message)["order"]["next"]

    confirm(bench)
    start = bench.view["order"]["next"]
    assert start.startswith("54 suspects in 18 units are left. Take the reading")
    assert then(do={"ask": "Since when?"}) == start
    once = then(do=ACROSS)
    assert once.startswith("Step 5 is taken. What does it rule out among the 54 suspects left?")
    assert then(do={"set": {"key": "run"}}) == once
    twice = then(do={"look": "fuse panel"})
    assert twice.startswith("2 readings, and nothing struck since the first of them.")
    assert then(strike=["F7=open"], reason="step 5").startswith("53 suspects in 17 units are left.")
    assert then(do={"listen": "K3", "set": {"heater switch": "off"}}).startswith("Step 7 is taken.")
    assert then(restore=["F7=open"]) == start


def check_reasons(row: dict) -> None:
    """Volts across the hinge under load: lost there, or elsewhere, or nowhere without current."""
    assert sum(one["chance"] for one in row["could"]) == pytest.approx(1.0, abs=0.005)
    assert sum(one["left"] for one in row["could"]) == row["before"]["suspects"]
    (was,) = [one for one in row["could"] if one["was"]]
    assert (was["shows"], was["units"]) == ("some of the supply", ["hinge joint"])
    assert "C41" in row["way"]
    assert any("wire 8" in text for text in row["out"])
    assert all("C41 pin 1" in text for text in row["fits"])


def test_a_wrong_call_is_found_out_by_looking_only(tmp_path: Path) -> None:
    views = []
    for name, cause in (("right", COIL), ("wrong", HINGE)):
        bench = open_setup(setup_of(tmp_path / name, cause))
        say(bench, do={"set": ON})
        views.append(call(bench, COIL))
    assert views[0] == views[1]
    view = verify(bench)
    assert [check["state"] for check in view["call"]["checks"]] == ["fails", "fails", "holds"]
    assert "did not cure it" in view["order"]["next"]
    assert stage(view) == "Verify"


def test_watching_before_the_time_is_up_does_not_fail_a_check(tmp_path: Path) -> None:
    bench = open_setup(setup_of(tmp_path))
    call(bench, HINGE)
    say(bench, do={"set": ON})
    view = say(bench, do={"watch": "rear window clears"})
    assert view["readout"]["words"] == "no"
    assert view["call"]["checks"][0]["state"] == "open"
    say(bench, do={"wait": "5 min"})
    view = say(bench, do={"watch": "rear window clears"})
    assert view["call"]["checks"][0]["state"] == "holds"


def test_a_plug_left_apart_is_named_before_the_repair_is_blamed(tmp_path: Path) -> None:
    bench = open_setup(setup_of(tmp_path))
    say(bench, do={"unplug": "E9"})
    call(bench, HINGE)
    assert "E9 is off its place" in verify(bench)["order"]["next"]
    say(bench, do={"plug": "E9"})
    assert "Everything on the list holds" in verify(bench)["order"]["next"]


def test_reopening_shows_the_same(tmp_path: Path) -> None:
    bench = open_setup(setup_of(tmp_path))
    confirm(bench)
    say(bench, do={"ask": "Since when?"})
    say(bench, do={"unplug": "C41"})
    say(
        bench,
        choose={"place": "tailgate hinge", "instrument": "measure", "knob": {"measure": "ohms"}},
    )
    say(bench, choose={"red": "C41.1b", "black": "body"})
    say(bench, do={"measure": "ohms", "red": "C41.1b", "black": "body"})
    say(bench, strike=["F7=open"], reason="looked at it")
    view = say(bench, note="a path to ground", step=7)
    assert view["notice"] == ""
    bench.rest()
    again = open_setup(setup_of(tmp_path)).view
    assert {**again, "seq": "1"} == view
    assert again["evidence"][-1]["note"] == "a path to ground"


def test_a_note_belongs_to_its_line_and_the_last_one_stands(tmp_path: Path) -> None:
    bench = open_setup(setup_of(tmp_path))
    say(bench, do={"look": "fuse panel"})
    say(bench, note="first: with a colon", step=1)
    view = say(bench, note="12: second", step=1)
    assert view["evidence"][0]["note"] == "12: second"
    assert "choose a line of the evidence" in say(bench, note="nowhere", step=99)["notice"]


def test_parts_are_paid_in_minutes_of_work(tmp_path: Path) -> None:
    """The case's rate is 1 of its money a minute; nobody is told a price without a unit."""
    bench = open_setup(setup_of(tmp_path))
    case = bench.desk.attempt.case
    for unit in bench.view["call"]["units"]:
        wanted = {
            option.name: option.price / case.rate for option in case.unit(unit["name"]).options
        }
        for option in unit["options"]:
            assert "price" not in option
            assert float(option["worth"]) == pytest.approx(wanted[option["name"]], abs=0.05)
            total = float(unit["labour"]) + float(option["worth"])
            assert float(option["minutes"]) == pytest.approx(total, abs=0.1)


def test_a_hint_is_given_by_the_judge_recorded_and_priced(tmp_path: Path) -> None:
    setup = setup_of(tmp_path)
    bench = open_setup(setup)
    offered = bench.view["call"]["hints"]
    assert (offered["text"], offered["more"]) == ("", True)
    texts = [say(bench, hint=True)["call"]["hints"]["text"] for _level in LEVELS]
    hints = [entry for entry in read_record(setup.record) if entry.kind == "hint"]
    assert [entry.data["text"] for entry in hints] == texts
    assert len(set(texts)) == len(LEVELS)
    assert texts[0] == next_hint(prepare(setup.case), HINGE, read_record(setup.record)[:1]).text
    assert not bench.view["call"]["hints"]["more"]
    say(bench, do={"look": "engine bay"})
    assert bench.view["call"]["hints"]["text"] == ""  # something new was done: a nudge again
