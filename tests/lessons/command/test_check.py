"""`halfsplit check`; and of all commands: one line, exit code 2, a pipe that ends early."""

import itertools
import os
import subprocess
import sys
from pathlib import Path

import pytest

from grader.authoring import ambiguity_groups
from grader.casefile import read_case
from grader.draw import assignable
from grader.judge import Judge
from grader.prepared import prepare
from grader.score import par_minutes
from grader.workers import workers_keep
from lessons.catalogue import CIRCUITS, case_path
from lessons.command import COMMANDS, main
from sim.circuitfile import read_circuit
from sim.faults import possible_faults

ROOT = Path(__file__).parents[3]
RUN = "import sys; from lessons.command import main; sys.exit(main())"


def test_a_case_is_described_with_its_best_path(capsys):
    assert main(["check", "foggy-window"]) == 0
    shown = capsys.readouterr()
    assert shown.err == ""
    assert "54 suspects in 18 units" in shown.out
    assert "V at the start 3.70 min (proven from 3.70)" in shown.out
    tree = shown.out.partition("\nbest path\n")[2].splitlines()
    assert tree[0] == "(key run, heater switch on, unless a line says otherwise)"
    assert tree[1] == "  listen to K3, while heater switch goes on [0.2 min]"
    assert tree[2].startswith("     clicks: ")
    assert all("->" in line or "[" in line or "repair" in line for line in tree[1:])


def test_all_cases_are_listed_with_what_a_habit_costs(capsys, monkeypatch):
    chosen = {name: case_path(name) for name in ("dark-load-space", "one-dim-eye")}
    monkeypatch.setattr("lessons.command.check.shipped_cases", lambda: chosen)
    assert main(["check", "--all"]) == 0
    head, *lines = capsys.readouterr().out.splitlines()
    assert head.split()[:4] == ["case", "causes", "par", "V"]
    rows = {line.split()[0]: line.split() for line in lines}
    assert {chosen[name].parent.name for name in chosen} <= set(rows)
    for name, path in chosen.items():
        ready = prepare(read_case(path, CIRCUITS))
        judge = Judge(ready, ready.lineup.suspects[0].name)
        start = judge.value(judge.possible, judge.situation)
        numbers = rows[name][1:8]
        assert int(numbers[0]) == len(assignable(ready.lineup)) >= 8
        assert float(numbers[1]) == pytest.approx(par_minutes(ready, start), abs=0.051)
        assert float(numbers[2]) == pytest.approx(start.upper, abs=0.0051)
        assert int(numbers[4]) == len(ambiguity_groups(ready))
        assert numbers[5:] == ["0", "0"]
        row = rows[name]
        shares = [int(word) for word, sign in itertools.pairwise(row) if sign == "%"]
        assert len(shares) == 2
        assert max(shares) < 50
        (kept,) = (one for one in workers_keep(ready) if one.worker == "swaps parts")
        assert (kept.words(), kept.played) == ("", len(ready.lineup.suspects))
        assert shares[1] == pytest.approx(100 * kept.share, abs=0.51)


@pytest.mark.parametrize("arguments", [["check"], ["check", "--all", "foggy-window"]])
def test_either_files_or_all(arguments, capsys):
    assert main(arguments) == 2
    assert capsys.readouterr().err.count("\n") == 1


def test_a_circuit_is_counted(capsys):
    file = CIRCUITS / "rear-window-heater.circuit.yaml"
    faults = len(possible_faults(read_circuit(file)))
    for name in ("rear-window-heater", str(file)):
        assert main(["check", name]) == 0
        # 14 parts, the link of rail 30 with its strap, 19 wires
        wanted = f"rear-window-heater: 35 parts, {faults} possible faults: sound\n"
        assert capsys.readouterr().out == wanted


def test_every_mistake_is_one_line_with_its_place(tmp_path, capsys):
    case = tmp_path / "a.case.yaml"
    text = case_path("foggy-window").read_text(encoding="utf-8")
    case.write_text(text.replace("price: 9}", "price: nine}"), encoding="utf-8")
    circuit = tmp_path / "a.circuit.yaml"
    circuit.write_text("format: circuit\nversion: 0\n", encoding="utf-8")
    for file, says in (
        (case, "a.case.yaml:25: price: number: got 'nine'"),
        (circuit, "a.circuit.yaml:2: circuit version 0 is too old"),
        (tmp_path / "none.case.yaml", "no such file"),
        (tmp_path / "none.circuit.yaml", "no such file"),
    ):
        assert main(["check", str(file)]) == 2
        shown = capsys.readouterr()
        assert (shown.out, shown.err.count("\n")) == ("", 1)
        assert shown.err.startswith("halfsplit check: ")
        assert says in shown.err


HEATER = (CIRCUITS / "rear-window-heater.circuit.yaml").read_text("utf-8")


def heater(folder: Path, *changes: tuple[str, str], name: str = "own.circuit.yaml") -> str:
    """Write the heater's circuit with changes, its id that of the file; give its path."""
    text, own = HEATER, ("id: rear-window-heater", f"id: {name.partition('.')[0]}")
    for old, new in (own, *changes):
        assert old in text
        text = text.replace(old, new, 1)
    (folder / name).write_text(text, encoding="utf-8")
    return str(folder / name)


def test_all_mistakes_of_a_circuit_are_named_in_the_order_of_the_file(tmp_path, capsys):
    file = heater(
        tmp_path,
        ("rating: 15 A", "rating: 15 V"),
        ("K3.86,", "K3.88,"),
        ("E9 power", "E8 power"),
    )
    assert main(["check", file]) == 2
    shown = capsys.readouterr()
    assert shown.out == ""
    lines = shown.err.splitlines()
    starts = [
        "halfsplit check: own.circuit.yaml:24: F9: rating: current: got unit 'V' in '15 V'",
        "halfsplit check: own.circuit.yaml:47: 'K3.88': a relay has K3.30, K3.87, K3.85, K3.86",
        "halfsplit check: own.circuit.yaml:66: effect 'E8 power >= 60 % of nominal for 5 min, at",
    ]
    assert len(lines) == 3
    assert all(one.startswith(start) for one, start in zip(lines, starts, strict=True)), lines


def test_a_warning_is_shown_and_the_file_is_sound(tmp_path, capsys):
    file = heater(tmp_path, ("H1 power >= 50 %", "H1 power >= 500 %"))
    assert main(["check", file]) == 0
    shown = capsys.readouterr()
    assert shown.out.endswith(" possible faults: sound, 1 warning\n")
    assert shown.err == (
        "halfsplit check: own.circuit.yaml:69: warning: horn sounds: never holds, in no position, "
        "while nothing is wrong; look at its limit\n"
    )


def test_several_files_are_checked_whatever_the_first_is(tmp_path, capsys):
    bad = heater(tmp_path, ("rating: 15 A", "rating: 15 V"), name="bad.circuit.yaml")
    plain = heater(tmp_path, name="heater.yaml")
    assert main(["check", bad, plain, "rear-window-heater", "none.circuit.yaml"]) == 2
    shown = capsys.readouterr()
    assert shown.out.count(": sound\n") == 2
    assert [line.split(":")[1].strip() for line in shown.err.splitlines()] == [
        "bad.circuit.yaml",
        "circuit 'none.circuit.yaml'",
    ]
    assert main(["check", plain, "rear-window-heater"]) == 0


def test_a_case_is_known_by_what_it_says_it_is(tmp_path, capsys):
    file = tmp_path / "own.yaml"
    text = case_path("foggy-window").read_text(encoding="utf-8")
    file.write_text(text.replace("dear: 60 ", "dear: lots "), encoding="utf-8")
    assert main(["check", str(file)]) == 2
    assert "own.yaml:21: dear: number: got 'lots'" in capsys.readouterr().err


def test_a_check_that_no_sound_vehicle_meets_is_a_mistake(tmp_path, capsys):
    text = case_path("foggy-window").read_text(encoding="utf-8")
    assert "between: [11 A, 16 A]" in text
    file = tmp_path / "own.case.yaml"
    text = text.replace("id: foggy-window", "id: own")
    file.write_text(text.replace("between: [11 A, 16 A]", "between: [110 A, 160 A]"), "utf-8")
    assert main(["check", str(file)]) == 2
    shown = capsys.readouterr()
    assert shown.err.startswith("halfsplit check: own.case.yaml:17: verify: clamp on wire 8 (key")
    assert shown.err.endswith("not 110 A to 160 A; nobody could verify a repair\n")
    assert "best path" in shown.out  # how hard it is can be told all the same


def test_all_mistakes_of_a_case_are_named_in_the_order_of_the_file(tmp_path, capsys):
    text = case_path("foggy-window").read_text(encoding="utf-8")
    for old, new in (
        ("rear window clears: no, switch lamp", "rear window clears: maybe, switch lamp"),
        ("{C41: 3, X7: 2}", "{C14: 3, X7: 2}"),
        ("clamp: wire 8}, between: [11 A", "clamp: wire 8}, between: [11 V"),
        ("mends: [F7=open], labour: 1 min", "mends: [F7=burnt], labour: 1 min"),
        ("price: 9}", "price: nine}"),
    ):
        assert old in text
        text = text.replace(old, new, 1)
    file = tmp_path / "own.case.yaml"
    file.write_text(text, encoding="utf-8")
    assert main(["check", str(file)]) == 2
    shown = capsys.readouterr()
    assert shown.out == ""
    lines = [
        line.removeprefix("halfsplit check: own.case.yaml:") for line in shown.err.splitlines()
    ]
    assert [line.partition(":")[0] for line in lines] == ["9", "11", "17", "23", "25"]
    wrong = tmp_path / "shape.case.yaml"
    wrong.write_text(
        text.replace("complaint:", "complain:").replace("labour: 1 min", "labor: 1 min")
    )
    assert main(["check", str(wrong)]) == 2
    assert [line.split(":")[2] for line in capsys.readouterr().err.splitlines()] == ["7", "23"]


@pytest.mark.parametrize(
    ("content", "says"),
    [
        (b"", "x.circuit.yaml:1: expected entries of the form `key: value`, got an empty file"),
        (b"\xff\xfe\x00", "x.circuit.yaml:1: byte 0 is not UTF-8; save the file as UTF-8"),
        (b"a: b\n" * 2_500_000, "x.circuit.yaml: got 12500000 bytes, allowed at most 1000000"),
        (b"a:\n\tb: c\n", "x.circuit.yaml:2: not YAML: "),
        (b"a: &x [1]\nb: *x\n", "x.circuit.yaml:1: anchors and aliases (& and *) are not allowed"),
        (None, "x.circuit.yaml: cannot be read (it is a folder); name the file itself"),
    ],
)
def test_what_is_no_circuit_file_is_one_line(tmp_path, capsys, content, says):
    file = tmp_path / "x.circuit.yaml"
    if content is None:
        file.mkdir()
    else:
        file.write_bytes(content)
    assert main(["check", str(file)]) == 2
    shown = capsys.readouterr()
    assert (shown.out, shown.err.count("\n")) == ("", 1)
    assert says in shown.err


def test_a_wide_complaint_and_an_id_unlike_the_file_are_warned_of(tmp_path, capsys, monkeypatch):
    monkeypatch.setattr("lessons.command.check.MANY", 54)
    monkeypatch.setattr("lessons.command.check.tell_case", lambda _prepared: None)
    file = tmp_path / "own.case.yaml"
    file.write_text(case_path("foggy-window").read_text(encoding="utf-8"), encoding="utf-8")
    assert main(["check", str(file)]) == 0
    slip, wide = capsys.readouterr().err.splitlines()
    assert slip == (
        "halfsplit check: own.case.yaml:4: warning: id 'foggy-window', but the file is called "
        "own.case.yaml: others find it by the file's name; say `id: own`, or call the file "
        "foggy-window.case.yaml"
    )
    assert wide.startswith("halfsplit check: own.case.yaml:8: warning: 54 suspects fit the")
    assert "say in `shows` what else the customer saw" in wide
    monkeypatch.setattr("lessons.command.check.MANY", 55)
    assert main(["check", "foggy-window"]) == 0
    assert capsys.readouterr().err == ""


def test_a_circuit_whose_id_is_not_the_name_of_its_file_is_warned_of(tmp_path, capsys):
    file = heater(tmp_path, ("id: own", "id: heater"))
    assert main(["check", file]) == 0
    assert capsys.readouterr().err == (
        "halfsplit check: own.circuit.yaml:6: warning: id 'heater', but the file is called "
        "own.circuit.yaml: others find it by the file's name; say `id: own`, or call the file "
        "heater.circuit.yaml\n"
    )


def test_an_id_with_a_slip_is_met_with_the_right_one(capsys):
    assert main(["check", "rear-window-heatr.circuit.yaml"]) == 2
    assert "did you mean 'rear-window-heater'?" in capsys.readouterr().err


@pytest.mark.parametrize("arguments", [[], ["dance"], *([name, "--nonsense"] for name in COMMANDS)])
def test_a_command_line_that_is_wrong_is_one_line_and_exit_code_2(arguments, capsys):
    with pytest.raises(SystemExit) as left:
        main(arguments)
    shown = capsys.readouterr()
    assert left.value.code == 2
    assert (shown.out, shown.err.count("\n")) == ("", 1)
    assert "--help" in shown.err


@pytest.mark.parametrize("name", COMMANDS)
def test_every_command_says_what_it_is_for(name, capsys):
    with pytest.raises(SystemExit) as left:
        main([name, "--help"])
    assert left.value.code == 0
    assert capsys.readouterr().out.startswith(f"usage: halfsplit {name}")


def test_a_reader_that_has_had_enough_is_no_error():
    process = subprocess.Popen(
        [sys.executable, "-c", RUN, "check", "rear-window-heater"],
        cwd=ROOT,
        env={key: text for key, text in os.environ.items() if key != "PYTHONUNBUFFERED"},
        stdout=subprocess.PIPE,
        stderr=subprocess.PIPE,
    )
    assert process.stdout is not None
    assert process.stderr is not None
    process.stdout.close()  # as `head` does, only sooner
    assert process.stderr.read() == b""
    process.stderr.close()
    assert process.wait() == 0


def test_a_name_to_be_assigned_that_is_no_suspect_is_told_to_the_author(tmp_path, capsys):
    """And not to the first student who opens the case."""
    file = tmp_path / "own.case.yaml"
    file.write_text(
        case_path("no-light-by-switch").read_text(encoding="utf-8") + "\nassignable: [S3=opne]\n",
        encoding="utf-8",
    )
    assert main(["check", str(file)]) == 2
    assert "assignable 'S3=opne'" in capsys.readouterr().err
