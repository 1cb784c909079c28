"""`halfsplit work`: a case in the terminal, one line an action, a script from standard input."""

import io
import json
from pathlib import Path

import pytest

from grader.attempt import Attempt
from grader.draw import Draw
from grader.record import read_record
from lessons.command import main
from lessons.command.work import HELP, Desk, parse_line
from sim.action import VERBS
from sim.bench import Bench
from sim.errors import SimError
from tests.grader.test_causes import DOOR, burns
from tests.lessons.command.worked import prepare_once

CASE = "foggy-window"


@pytest.fixture
def record(tmp_path: Path) -> Path:
    return tmp_path / "kim.record.jsonl"


@pytest.fixture
def work(record, monkeypatch, capsys):
    """Work a case with these lines typed; give exit code, what was printed, what went wrong."""
    prepare_once(monkeypatch)

    def run(*lines: str, student: str = "kim") -> tuple[int, str, str]:
        monkeypatch.setattr("sys.stdin", io.StringIO("".join(f"{line}\n" for line in lines)))
        code = main(["work", CASE, "--student", student, "--record", str(record)])
        shown = capsys.readouterr()
        return code, shown.out, shown.err

    return run


def test_a_script_is_played_and_recorded(work, record):
    code, out, err = work(
        "# the usual beginning",
        "",
        "set key=run, heater switch=on",
        "wait 5 min",
        "watch rear window clears",
        "ask Since when?",
        "volts C41.1a C41.1b",
        "lamp C41.1b body",
        '{"look": "tailgate hinge"}',
        "strike K3=coil open",
        "note hinge?",
        "quit",
        "look never",
    )
    assert (code, err) == (0, "")
    assert "The rear window stays fogged." in out
    assert "Since the tailgate was repainted." in out
    assert "never" not in out
    entries = read_record(record)
    assert [e.kind for e in entries] == ["open", *["act"] * 7, "strike", "note"]
    assert entries[5].data["do"] == {"measure": "volts", "red": "C41.1a", "black": "C41.1b"}
    shown = entries[5].data["shown"]
    assert f"{shown['value']} {shown['unit']}" in out


def test_it_is_taken_up_where_it_stopped(work, record):
    work("set key=run, heater switch=on", "unplug C41")
    code, out, _err = work("bench")
    assert code == 0
    assert "taken up after 2 entries" in out
    assert "apart: C41" in out
    assert "key: run" in out
    assert len(read_record(record)) == 3


def test_lists_show_what_there_is_and_leave_no_trace(work, record):
    code, out, _err = work(
        "help",
        "suspects",
        "points",
        "places",
        "units",
        "questions",
        "bench",
        "price look fuse panel",
    )
    assert code == 0
    for text in (
        "volts P P",
        "C41.1=open",
        "tailgate hinge: C41.1a (back-probe)",
        "tailgate inside: 9 min",
        "relay K3: 2 min labour; new 9",
        "Since when? (1 min)",
        "heater switch: off",
        "2.3 min (fuse panel)",
    ):
        assert text in out
    assert len(read_record(record)) == 1


def test_struck_suspects_stand_in_brackets(work):
    _code, out, _err = work("strike X7=open", "suspects")
    assert "[X7=open]" in out
    _code, out, _err = work("restore X7=open", "suspects")
    assert "[X7=open]" not in out


def test_cautions_come_before_what_they_are_about(work):
    _code, out, _err = work("set key=run", "ohms F9.1b F9.2b")
    assert out.index("caution: Ohms, continuity and diode test only") < out.index("ohm   [")


def test_a_call_and_the_end(work, record):
    code, out, _err = work("call relay K3: K3=coil open", "close")
    assert code == 0
    assert "new: 11 min" in out
    assert [e.kind for e in read_record(record)] == ["open", "call", "close"]


BAD = {
    "dance": "nothing to do it to",
    "dance slowly": "expected exactly one of",
    "set key": "expected CONTROL=POSITION",
    "set key=sideways": "position of key 'sideways' unknown",
    "volts F7.1b": "volts needs two names, got 1",
    "volts F7.1 body": "pull it first",
    "bridge a b c": "bridge needs two names, got 3",
    "look roof": "place 'roof' unknown",
    "feel": "nothing to do it to",
    "listen K3": "expected CONTROL=POSITION",
    "wait 5": "expected one of",
    "wait 5 years": "got unit",
    "ask Why?": "question 'Why?' unknown",
    "strike": "suspect '' unknown",
    "strike nobody": "suspect 'nobody' unknown",
    "call relay K3": "suspect '' unknown",
    "call nothing: nobody": "unit 'nothing' unknown",
    "price look roof": "place 'roof' unknown",
    "price feel Z9": "part 'Z9' unknown",
    "price clamp wire 99": "wire 'wire 99' unknown",
    "price": "nothing to do it to",
    "scan hold A1 fan": "scan hold: expected UNIT NAME at VALUE",
    "scan graph A1 engine speed": "scan graph: expected UNIT NAME over TIME",
    "scan release A1": "scan release: expected UNIT NAME",
    "scan routine": "scan routine: expected UNIT NAME",
    "scan hold A1 fan at 50": "control unit 'A1' unknown",
    "scan hold A1 fan at much": "at must be a number",
    "scan graph A1 fan over 2 h": "allowed above 0 and up to 1 h",
    "{": "not JSON",
    "{}": "expected exactly one of",
    '{"look": 7}': "must be a name",
}


@pytest.mark.parametrize("line", BAD)
def test_a_line_that_cannot_be_done_is_one_line_on_stderr_and_exit_code_2(work, record, line):
    code, _out, err = work(line, "look engine bay")
    assert code == 2
    assert err.count("\n") == 1
    assert err.startswith(f"{line}: ")
    assert BAD[line] in err
    # the lines after it are done
    assert [e.data.get("do") for e in read_record(record)[1:]] == [{"look": "engine bay"}]


def test_after_the_end_every_line_is_refused(work):
    work("close")
    code, _out, err = work("look engine bay", "strike X7=open")
    assert code == 2
    assert err.count("\n") == 2
    assert err.count("closed; its score sheet is final") == 2


@pytest.mark.parametrize(
    ("arguments", "says"),
    [
        (["work"], "required"),
        (["work", CASE], "required"),
        (["work", CASE, "--student", "kim"], "required"),
        (["work", CASE, "--student", "kim", "--record", "x", "--fast"], "unrecognized"),
    ],
    ids=" ".join,
)
def test_a_command_line_that_is_wrong_is_one_line(arguments, says, capsys):
    with pytest.raises(SystemExit) as left:
        main(arguments)
    shown = capsys.readouterr()
    assert left.value.code == 2
    assert (shown.out, shown.err.count("\n")) == ("", 1)
    assert says in shown.err


def test_what_it_needs_and_does_not_find_is_one_line(tmp_path, record, monkeypatch, capsys):
    monkeypatch.setattr("sys.stdin", io.StringIO(""))
    (tmp_path / "file").write_text("x")
    broken = tmp_path / "broken.case.yaml"
    broken.write_text("format: case\nversion: 9\n")
    good = ["--student", "kim", "--record", str(record)]
    for arguments, says in (
        (["no-such-case", *good], "no such file; shipped are dark-at-the-door"),
        ([str(broken), *good], "broken.case.yaml:2: case version 9 is too new"),
        ([CASE, "--student", "a/b", "--record", str(record)], "student id 'a/b'"),
        ([CASE, "--student", "kim", "--record", str(tmp_path / "file" / "r")], "cannot be written"),
        ([CASE, *good, "--secret-file", str(tmp_path / "none")], "cannot be read"),
    ):
        assert main(["work", *arguments]) == 2
        shown = capsys.readouterr()
        assert (shown.out, shown.err.count("\n")) == ("", 1)
        assert shown.err.startswith("halfsplit work: ")
        assert says in shown.err


def test_somebody_elses_record_is_not_worked_on(work, record):
    work("set key=run")
    raw = record.read_bytes()
    code, out, err = work("set key=off", student="ada")
    assert code == 2
    assert out == ""
    assert err.count("\n") == 1
    assert "another student's record" in err
    assert record.read_bytes() == raw


@pytest.mark.parametrize(
    ("line", "do"),
    [
        ("set key=run, heater switch=on", {"set": {"key": "run", "heater switch": "on"}}),
        ("ohms E9.1 body", {"measure": "ohms", "red": "E9.1", "black": "body"}),
        ("lamp 30 body", {"lamp": True, "red": "30", "black": "body"}),
        ("led 30 body", {"led": True, "red": "30", "black": "body"}),
        ("AC volts 30 body", {"measure": "AC volts", "red": "30", "black": "body"}),
        ("load 55 W 30 body", {"load": "55 W", "red": "30", "black": "body"}),
        (
            "conductance 640 A B1.+ B1.-",
            {"conductance": "640 A", "red": "B1.+", "black": "B1.-"},
        ),
        ("jack with the function", {"jack": "with the function"}),
        ("smell engine bay", {"smell": "engine bay"}),
        ("try K3", {"try": "K3"}),
        ("clamp wire 8", {"clamp": "wire 8"}),
        ("listen K3 heater switch=on", {"listen": "K3", "set": {"heater switch": "on"}}),
        ("swap K3 K5", {"swap": ["K3", "K5"]}),
        ("bridge B1.+ F7.2b", {"bridge": ["B1.+", "F7.2b"]}),
        ("unbridge", {"unbridge": True}),
        ("wait 5 min", {"wait": "5 min"}),
        ("watch rear window clears", {"watch": "rear window clears"}),
        ('{"pull": "F7"}', {"pull": "F7"}),
    ],
)
def test_a_line_stands_for_an_action(line, do):
    assert parse_line(line) == do


def test_the_bench_says_what_goes_on_until_it_is_left(work):
    _code, out, _err = work("shake C41", "wet everything", "bench", "leave C41", "bench")
    first, second = out.split("going on: ")[1:]
    assert first.startswith("shake C41, wet everything\n")
    assert second.startswith("wet everything\n")


def test_a_price_solves_nothing_of_the_vehicle(work, monkeypatch):
    """What would be shown is not worked out for it: neither its time nor its failing may tell."""

    def never(*_arguments: object) -> None:
        raise AssertionError

    monkeypatch.setattr(Bench, "try_out", never)
    code, out, err = work("price volts F7.1b body")
    assert (code, err) == (0, "")
    assert " min (" in out


def test_every_verb_is_in_the_help():
    for verb in VERBS:
        assert verb in HELP or verb == "measure"


def test_json_that_is_no_object_is_refused():
    with pytest.raises(SimError, match="not JSON"):
        parse_line("{]")
    assert json.loads('{"a": 1}') == parse_line('{"a": 1}')


@pytest.mark.parametrize(
    ("line", "action"),
    [
        ("scan codes", {"scan": "codes"}),
        ("scan live data A1", {"scan": "live data", "unit": "A1"}),
        ("scan clear", {"scan": "clear"}),
        (
            "scan hold A3 fan wanted at 50",
            {"scan": "hold", "unit": "A3", "what": "fan wanted", "at": "50"},
        ),
        ("scan release A3 fan wanted", {"scan": "release", "unit": "A3", "what": "fan wanted"}),
        ("scan routine A3 fan stages", {"scan": "routine", "unit": "A3", "what": "fan stages"}),
        (
            "scan graph A1 coolant temperature over 2 min",
            {"scan": "graph", "unit": "A1", "what": "coolant temperature", "over": "2 min"},
        ),
    ],
)
def test_a_scan_is_a_task_and_perhaps_a_unit(line, action):
    assert parse_line(line) == action


def test_predictions_and_hints_are_written_down(work, record):
    code, out, err = work(
        "set key=run, heater switch=on",
        "predict volts C41.1b body: 12 V",
        "hint",
        "hint",
        "volts C41.1b body",
    )
    assert (code, err) == (0, "")
    assert "54 suspects left, in 18 repair units." in out
    assert "Still possible: " in out
    kinds = [entry.kind for entry in read_record(record)]
    assert kinds == ["open", "act", "predict", "hint", "hint", "act"]


def test_a_prediction_of_nothing_is_refused(work, record):
    code, _out, err = work("predict volts C41.1b body")
    assert code == 2
    assert "expected predict LINE: WHAT" in err
    assert len(read_record(record)) == 1


def test_a_customer_who_was_not_helped_comes_back_before_the_end(tmp_path, capsys):
    """A wrong part on a vehicle that works as designed: the list holds, the complaint stays."""
    path = tmp_path / "burns.record.jsonl"
    with Attempt(burns().lineup, Draw(DOOR, {"B1.charge": 0.8}, "tag"), "kim", path) as attempt:
        terminal = Desk(attempt)
        terminal.call("door contact S8: S8=stuck closed")
        terminal.close("")  # nothing verified yet: nobody comes back to say so
    assert "closed;" in capsys.readouterr().out
    path.unlink()
    with Attempt(burns().lineup, Draw(DOOR, {"B1.charge": 0.8}, "tag"), "kim", path) as attempt:
        terminal = Desk(attempt)
        terminal.call("door contact S8: S8=stuck closed")
        attempt.act({"watch": "front load lamp glows"})
        terminal.close("")
        said = capsys.readouterr().out
        assert "the customer is back" in said
        assert not attempt.progress.closed
        terminal.call(f"meant to burn then: {DOOR}")
        attempt.act({"watch": "front load lamp glows"})
        terminal.close("")
    assert "customer is back" not in capsys.readouterr().out
    assert attempt.progress.closed
