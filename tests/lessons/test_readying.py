"""Cases got ready in the background: done, left out with a mistake, stopped at any time."""

import os
import select
import shutil
import subprocess
import sys
from pathlib import Path

import psutil
import pytest

from grader.casefile import read_case
from grader.contentkey import content_key
from lessons.catalogue import CIRCUITS, case_path
from lessons.folder import Home
from lessons.readying import NICE, Readying, draw_a_curve, get_ready
from sim.compiled import compiles
from sim.solver.lane import run_lane

TOP = Path(__file__).parents[2]
PATIENCE = 300  # s until a test that hangs is given up
#: Begins the work, and is gone without a word.
BEGINNING = """
import os, sys
from pathlib import Path
from lessons.folder import Home
from lessons.readying import Readying
home, *cases = map(Path, sys.argv[1:])
readying = Readying(Home(home, "ada"), cases).__enter__()
os._exit(0 if readying.program else 1)
"""


@pytest.fixture
def home(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> Home:
    """Give a student's folder; what is worked out is kept beside it."""
    monkeypatch.setenv("HALFSPLIT_CACHE", str(tmp_path / "kept"))
    monkeypatch.setenv("PYTHONPATH", str(TOP))
    (tmp_path / "ada").mkdir()
    return Home(tmp_path / "ada", "ada")


def case_in(home: Home, name: str) -> Path:
    """Put a shipped case into the student's folder."""
    file = home.folder / f"{name}.case.yaml"
    shutil.copyfile(case_path(name), file)
    shutil.copytree(CIRCUITS, home.folder / "circuits", dirs_exist_ok=True)
    return file


def kept(home: Home) -> list[str]:
    return sorted(file.name for file in (home.folder.parent / "kept").glob("*.json"))


def test_cases_are_got_ready_and_one_with_a_mistake_is_left_out(home: Home) -> None:
    wrong, right = home.folder / "wrong.case.yaml", case_in(home, "dark-load-space")
    wrong.write_text("case: [")
    with Readying(home, [wrong, right]) as readying:
        assert readying.program
        assert readying.program.wait(PATIENCE) == 0
    key = content_key(read_case(right))
    assert kept(home) == [f"dark-load-space-{key}.json", f"dark-load-space-{key}.suspects.json"]
    log = readying.log.read_text("utf-8")
    assert str(wrong) in log
    assert str(right) not in log


def test_the_machine_code_of_curves_is_made_too() -> None:
    draw_a_curve()
    assert not compiles() or run_lane.signatures


def test_it_stands_back_and_stops_when_told(home: Home) -> None:
    with Readying(home, [case_in(home, "foggy-window")] * 3) as readying:
        assert readying.program
        process = psutil.Process(readying.program.pid)
        assert process.is_running()
    assert readying.program.poll() is not None
    assert "Traceback" not in readying.log.read_text("utf-8")


@pytest.mark.skipif(not hasattr(os, "nice"), reason="Windows has priorities of its own")
def test_whatever_the_student_does_goes_before() -> None:
    asks = "import os, sys; from lessons.readying import main; main([]); print(os.nice(0))"
    listens, speaks = os.pipe()
    said = subprocess.run(
        [sys.executable, "-c", asks], cwd=TOP, stdin=listens, stdout=subprocess.PIPE, check=True
    )
    os.close(listens)
    os.close(speaks)
    assert int(said.stdout) == min(os.nice(0) + NICE, 19)


@pytest.mark.skipif(not hasattr(os, "mkfifo"), reason="Windows has no named pipes in folders")
def test_it_ends_with_whoever_began_it(home: Home) -> None:
    log = home.settings / "getting-ready.log"
    log.parent.mkdir()
    os.mkfifo(log)
    number = os.open(log, os.O_RDONLY | os.O_NONBLOCK)
    with os.fdopen(number, encoding="utf-8") as said:
        subprocess.run(
            [sys.executable, "-c", BEGINNING, str(home.folder), str(case_in(home, "foggy-window"))],
            cwd=TOP,
            check=True,
            timeout=PATIENCE,
        )
        os.set_blocking(number, True)
        assert select.select([said], [], [], PATIENCE)[0]  # something said, or nobody left to say
        assert said.read() == ""  # until the last who could say anything has gone


def test_nothing_to_do_starts_nothing(home: Home) -> None:
    with Readying(home, []) as readying:
        assert readying.program is None
    assert not readying.log.exists()


def test_what_cannot_be_started_is_done_without(
    home: Home, monkeypatch: pytest.MonkeyPatch
) -> None:
    monkeypatch.setattr(Readying, "_command", lambda _self: [str(home.folder / "no program")])
    with Readying(home, [case_in(home, "foggy-window")]) as readying:
        assert readying.program is None


def test_what_is_wrong_is_told_and_not_raised(
    home: Home, capsys: pytest.CaptureFixture[str]
) -> None:
    get_ready(home.folder / "no.case.yaml")
    assert "no.case.yaml" in capsys.readouterr().err
