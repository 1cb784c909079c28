"""`halfsplit check`; and of all commands: one line, exit code 2, a pipe that ends early."""

import os
import subprocess
import sys
from pathlib import Path

import pytest

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
    assert "V at the start 3.78 min (proven from 3.78)" in shown.out
    tree = shown.out.partition("best path\n")[2].splitlines()
    assert tree[0] == "  listen to K3 (switching heater switch on) [0.2 min]"
    assert tree[1].startswith("     clicks: look at tailgate hinge")
    assert all("->" in line or "[" in line or "repair" in line for line in tree)


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
        (case, "a.case.yaml:25: number: got 'nine'"),
        (circuit, "a.circuit.yaml:2: circuit version 0 is too old"),
        (tmp_path / "none.case.yaml", "no such file"),
        (tmp_path / "none.circuit.yaml", "no such file"),
    ):
        assert main(["check", str(file)]) == 2
        shown = capsys.readouterr()
        assert (shown.out, shown.err.count("\n")) == ("", 1)
        assert shown.err.startswith("halfsplit check: ")
        assert says in shown.err


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
