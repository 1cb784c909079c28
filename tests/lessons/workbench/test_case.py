"""A work order by messages alone, as the browser sends them: worked, reopened, refused."""

import json
from pathlib import Path

import pytest

from grader.hints import LEVELS, next_hint
from grader.prepared import prepare
from grader.record import Writer, read_record
from grader.replay import replay
from grader.score import score
from lessons.workbench import Workbench, open_case, open_setup
from lessons.workbench.desk import CaseDesk
from tests.lessons.workbench.cases import COIL, HINGE, ON, lineup, setup_of

ACROSS = {"measure": "volts", "red": "C41.1a", "black": "C41.1b"}


def say(bench: Workbench, **message: object) -> dict:
    """Send a message as the page does, and give the view that comes back."""
    bench.receive(bench, {"seq": "1", **message}, [])
    return bench.view


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


@pytest.mark.parametrize(
    ("reason", "notice"),
    [
        ("step 99", "Because: there is no step 99; the evidence has steps 1 to 2"),
        ("Step 0, dark", "Because: there is no step 0; the evidence has steps 1 to 2"),
        ("step 2, 12 V here", ""),
        ("stepped on it 99 times", ""),
    ],
)
def test_a_reason_names_steps_that_there_are(tmp_path: Path, reason: str, notice: str) -> None:
    bench = open_setup(setup_of(tmp_path))
    say(bench, do={"set": ON})
    say(bench, do={"look": "engine bay"})
    say(bench, do={"look": "fuse panel"})
    view = say(bench, strike=["F7=open"], reason=reason)
    assert view["notice"] == notice
    assert len(bench.desk.attempt.progress.struck) == (not notice)


def test_before_the_first_step_no_reason_can_name_one(tmp_path: Path) -> None:
    bench = open_setup(setup_of(tmp_path))
    view = say(bench, strike=["F7=open"], reason="step 1")
    assert "nothing has been done yet" in view["notice"]


def test_the_same_kernel_takes_over(tmp_path: Path) -> None:
    first = open_setup(setup_of(tmp_path))
    second = open_setup(setup_of(tmp_path))
    assert first.view["mode"] == "message"
    assert "opened again" in first.view["title"]
    assert say(second, do={"look": "engine bay"})["evidence"][0]["reading"]
    assert say(first, do={"look": "fuse panel"})["mode"] == "message"
    assert len(read_record(tmp_path / "foggy-window.record.jsonl")) == 2


def test_another_window_is_told_so(tmp_path: Path) -> None:
    setup = setup_of(tmp_path)
    with Writer(setup.record):
        bench = open_setup(setup)
    assert bench.view["mode"] == "message"
    assert "another window" in bench.view["title"]
    assert say(bench, do={"look": "engine bay"})["mode"] == "message"


def test_a_folder_without_the_case_is_told_so(tmp_path: Path) -> None:
    bench = open_case("foggy-window", tmp_path)
    assert bench.view["mode"] == "message"
    assert "foggy-window" in bench.view["text"]


def test_another_students_record_is_refused(tmp_path: Path) -> None:
    open_setup(setup_of(tmp_path)).rest()
    bench = open_setup(setup_of(tmp_path, student="lee"))
    assert bench.view["mode"] == "message"
    assert "another student's record" in bench.view["text"]


@pytest.mark.parametrize(
    "message",
    [
        {},
        {"seq": "2"},
        {"do": {"plug": "C41"}},
        {"do": {"dance": "C41"}},
        {"do": 7},
        {"do": {"measure": "volts", "red": "C41.1", "black": "body"}},
        {"do": {"ask": "Who are you?"}},
        {"choose": {"place": "the moon"}},
        {"choose": {"touch": "F7.1"}},
        {"choose": {"colour": "blue"}},
        {"choose": None},
        {"strike": []},
        {"strike": ["the dog"]},
        {"call": {"unit": "relay K3", "cause": HINGE}},
        {"note": "x"},
        {"explode": True},
    ],
    ids=json.dumps,
)
def test_what_cannot_be_done_is_one_line_and_changes_nothing(tmp_path: Path, message: dict) -> None:
    bench = open_setup(setup_of(tmp_path))
    before = {**bench.view, "notice": None, "seq": None}
    view = say(bench, **message)
    assert view["notice"]
    assert "\n" not in view["notice"]
    assert {**view, "notice": None, "seq": None} == before
    assert len(read_record(tmp_path / "foggy-window.record.jsonl")) == 1
    assert say(bench, do={"look": "engine bay"})["notice"] == ""


def test_a_message_that_is_no_object_is_one_line(tmp_path: Path) -> None:
    bench = open_setup(setup_of(tmp_path))
    bench.receive(bench, "hello", [])
    assert "hello" in bench.view["notice"]


def test_nothing_goes_on_when_the_record_cannot_be_written(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    bench = open_setup(setup_of(tmp_path))
    desk = bench.desk
    assert isinstance(desk, CaseDesk)

    def full(*_line: object) -> None:
        raise OSError(28, "No space left on device")

    with monkeypatch.context() as patch:
        patch.setattr(desk.attempt.writer, "append", full)
        assert "No space left" in say(bench, do={"look": "engine bay"})["notice"]
    assert "run this cell again" in say(bench, do={"look": "engine bay"})["notice"]
    again = open_setup(setup_of(tmp_path))
    assert again.view["evidence"] == []
    assert say(again, do={"look": "engine bay"})["notice"] == ""


def test_a_place_shows_the_leads_of_what_is_in_the_hand(tmp_path: Path) -> None:
    bench = open_setup(setup_of(tmp_path))

    def leads(**chosen: object) -> dict[str, list[str]]:
        places = say(bench, choose=chosen)["places"]
        return {place["name"]: place["leads"] for place in places if place["leads"]}

    meter = {"tailgate hinge": ["red"], "fuse panel": ["black"]}
    assert leads(red="C41.1a", black="F7.1b") == meter
    assert leads(instrument="clamp") == {}
    assert leads(instrument="scope") == {}
    assert leads(**{"A red": "B1.+"}) == {"engine bay": ["A red"]}
    assert leads(instrument="measure") == meter
    say(bench, choose={"instrument": "bridge", "one": "F7.1b", "other": "F7.2b"})
    say(bench, do={"bridge": ["F7.1b", "F7.2b"]})
    assert leads(instrument="clamp") == {"fuse panel": ["one", "other"]}  # it is still on


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


def test_a_lead_falls_off_what_is_pulled(tmp_path: Path) -> None:
    bench = open_setup(setup_of(tmp_path))
    say(bench, choose={"red": "F7.1b", "black": "body"})
    say(bench, do={"pull": "F7"})
    view = say(bench, do={"insert": "F7"})
    assert [end["point"] for end in view["meter"]["ends"]] == ["F7.1b", "body"]
    say(bench, do={"pull": "F7"})
    say(bench, choose={"red": "F7.1"})
    view = say(bench, do={"insert": "F7"})
    assert [end["point"] for end in view["meter"]["ends"]] == ["", "body"]
    assert view["meter"]["offer"] is None


def test_the_price_and_the_caution_come_before_the_deed(tmp_path: Path) -> None:
    bench = open_setup(setup_of(tmp_path))
    say(bench, do={"set": ON})
    say(bench, choose={"knob": {"measure": "ohms"}, "red": "C41.1a", "black": "body"})
    view = say(bench, choose={"place": "tailgate hinge"})
    # 3 min to the hinge and 0.5 min to back-probe; the body is at hand everywhere
    assert view["meter"]["offer"]["minutes"] == "3.5"
    assert view["meter"]["cautions"][0]["against"]
    assert view["evidence"] == []
    assert any(c["when"] == "Before you unplug" for c in view["sight"]["cautions"])
    after = say(bench, do=view["meter"]["offer"]["do"])
    assert after["evidence"][0]["minutes"] == "3.5"


@pytest.mark.parametrize("place", ["fuse panel", "tailgate hinge"])
def test_each_caution_of_a_place_is_said_once_with_all_it_is_for(
    tmp_path: Path, place: str
) -> None:
    bench = open_setup(setup_of(tmp_path))
    say(bench, do={"set": ON})
    sight = say(bench, choose={"place": place})["sight"]
    said = [caution["text"] for caution in sight["cautions"]]
    assert len(said) == len(set(said)) > 2
    shown = [*sight["offers"], *(o for p in sight["parts"] for o in p["offers"])]
    shown += [offer for wire in sight["wires"] for offer in wire["offers"]]
    assert {text for offer in shown for text in offer["cautions"]} == set(said)
    warm = next(c for c in sight["cautions"] if c["text"].startswith("Hot air"))
    assert warm["when"] == "Before you warm"  # the wires that run past are warmed as well


def test_the_jumper_goes_on_and_off(tmp_path: Path) -> None:
    bench = open_setup(setup_of(tmp_path))
    say(bench, choose={"instrument": "bridge"})
    say(bench, choose={"touch": "F7.1b"})
    view = say(bench, choose={"touch": "F7.2b"})
    assert view["meter"]["offer"]["do"] == {"bridge": ["F7.1b", "F7.2b"]}
    view = say(bench, do=view["meter"]["offer"]["do"])
    assert view["meter"]["offer"]["do"] == {"unbridge": True}
    assert view["meter"]["bridge"] == ["F7 top 1", "F7 top 2"]
    view = say(bench, do=view["meter"]["offer"]["do"])
    assert view["meter"]["bridge"] == []


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
