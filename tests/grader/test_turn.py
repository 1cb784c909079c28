"""One works something out, the others wait for it: threads, and a program that is killed."""

import subprocess
import sys
import threading
from pathlib import Path

import pytest

from grader.turn import turn

TOP = Path(__file__).parents[2]
PATIENCE = 60  # s until a test that hangs is given up
HOLDING = """
import sys
from pathlib import Path
from grader.turn import turn
with turn(Path(sys.argv[1])):
    print("mine", flush=True)
    sys.stdin.read()
"""


def test_one_at_a_time_and_the_next_comes_after(tmp_path: Path) -> None:
    file, order = tmp_path / "deep" / "found.json", []
    waits = threading.Event()

    def second() -> None:
        with turn(file, waits.set):
            order.append("second")

    other = threading.Thread(target=second)
    with turn(file):
        other.start()
        assert waits.wait(PATIENCE)
        order.append("first")
    other.join(PATIENCE)
    assert order == ["first", "second"]
    assert list(file.parent.iterdir()) == []  # nothing is left behind


def test_many_at_once_are_never_two(tmp_path: Path) -> None:
    inside, most, begin = [], [], threading.Barrier(8)

    def one() -> None:
        begin.wait(PATIENCE)
        for _time in range(5):
            with turn(tmp_path / "found.json"):
                inside.append(1)
                most.append(len(inside))
                inside.pop()

    threads = [threading.Thread(target=one) for _ in range(8)]
    for thread in threads:
        thread.start()
    for thread in threads:
        thread.join(PATIENCE)
    assert most == [1] * 40


def test_other_things_have_turns_of_their_own(tmp_path: Path) -> None:
    with turn(tmp_path / "one.json"), turn(tmp_path / "other.json", pytest.fail):
        pass


def test_an_error_ends_the_turn(tmp_path: Path) -> None:
    with pytest.raises(KeyError), turn(tmp_path / "one.json"):
        raise KeyError
    with turn(tmp_path / "one.json", pytest.fail):
        pass


def test_a_killed_program_holds_nobody_up(tmp_path: Path) -> None:
    file = tmp_path / "one.json"
    with subprocess.Popen(
        [sys.executable, "-c", HOLDING, str(file)],
        cwd=TOP,
        stdin=subprocess.PIPE,
        stdout=subprocess.PIPE,
        text=True,
    ) as program:
        assert program.stdout
        assert program.stdout.readline() == "mine\n"
        waited = []

        def kill() -> None:
            waited.append(program.poll())
            program.kill()

        with turn(file, kill):
            assert waited[0] is None  # it was alive, and had the turn


def test_where_nothing_can_be_written_there_are_no_turns(tmp_path: Path) -> None:
    (tmp_path / "file").write_text("not a folder")
    file = tmp_path / "file" / "one.json"
    with turn(file), turn(file, pytest.fail):
        pass
