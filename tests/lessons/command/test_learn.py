"""`halfsplit learn` as a student types it: a real JupyterLab on a free port, in an empty home."""

import io
import json
import os
import re
import shutil
import signal
import subprocess
import sys
import threading
import urllib.error
import urllib.request
from collections.abc import Iterator, Sequence
from dataclasses import dataclass
from pathlib import Path
from typing import Self

import psutil
import pytest
from platformdirs import user_cache_dir

from lessons.catalogue import shipped_cases
from lessons.command import main
from lessons.command.learn import ask_student, settle_home
from lessons.course import release_lesson
from lessons.errors import FolderError, ServerError
from lessons.folder import Home, read_home, write_home, write_last
from lessons.server import Address, Server, running

TOP = Path(__file__).parents[3]
LESSON = "06-two-circuits-in-one-can"
NOTEBOOK = f"{LESSON}/{LESSON}.ipynb"
FIRST = "{0}/{0}.ipynb".format("01-voltage-that-cannot-work")
COMMAND = [
    sys.executable,
    "-c",
    "import sys; from lessons.command import main; sys.exit(main())",
    "learn",
    "--no-browser",
]
DIRECT = urllib.request.build_opener(urllib.request.ProxyHandler({}))


@dataclass(frozen=True)
class Started:
    """A `halfsplit learn` that serves: its program, what it said, its address, the home."""

    program: subprocess.Popen[str]
    said: list[str]
    address: str
    user: Path

    @property
    def folder(self) -> Path:
        return self.user / "halfsplit" / "ada"

    def get(self, path: str) -> str:
        return self.ask(path, None)

    def ask(self, path: str, data: bytes | None) -> str:
        base, _, token = self.address.partition("/lab/tree/")
        token = token.partition("?token=")[2]
        with DIRECT.open(f"{base}{path}?token={token}", data=data, timeout=60) as answer:
            return str(answer.read().decode())

    def kernels(self) -> list[str]:
        """Give the program of every kernel that runs below ours."""
        below = psutil.Process(self.program.pid).children(recursive=True)
        lines = [child.cmdline() for child in below]
        return [line[0] for line in lines if "ipykernel_launcher" in line]


def environment(user: Path) -> dict[str, str]:
    """Give an environment whose home is empty; what is slow to work out is kept as always."""
    cache = os.environ.get("HALFSPLIT_CACHE") or user_cache_dir("halfsplit")
    home = {"HOME": str(user), "USERPROFILE": str(user), "HALFSPLIT_CACHE": cache}
    left_out = ("XDG_", "JUPYTER")
    kept = {key: value for key, value in os.environ.items() if not key.startswith(left_out)}
    return {**kept, **home, "PYTHONPATH": str(TOP), "PYTHONUNBUFFERED": "1"}


def run_to_end(user: Path, *arguments: str, typed: str = "") -> subprocess.CompletedProcess[str]:
    return subprocess.run(
        [*COMMAND, *arguments],
        env=environment(user),
        input=typed,
        capture_output=True,
        text=True,
        check=False,
        timeout=300,
    )


def until_it_serves(program: subprocess.Popen[str]) -> list[str]:
    assert program.stdout
    said = []
    for line in program.stdout:
        said.append(line.rstrip())
        if said[-1].startswith("Stop with"):
            return said
    pytest.fail(f"it ended: {said}", pytrace=False)


@pytest.fixture(scope="module")
def started(tmp_path_factory: pytest.TempPathFactory) -> Iterator[Started]:
    """Give a JupyterLab started by a student who typed an id when asked."""
    if sys.platform == "win32":
        pytest.skip("needs a program to be interrupted, which a test on Windows cannot do to one")
    user = tmp_path_factory.mktemp("user")
    with subprocess.Popen(
        COMMAND,
        env=environment(user),
        stdin=subprocess.PIPE,
        stdout=subprocess.PIPE,
        stderr=subprocess.STDOUT,
        text=True,
    ) as program:
        rescue = threading.Timer(300, program.kill)
        rescue.start()
        try:
            assert program.stdin
            program.stdin.write(" Ada \n")
            program.stdin.flush()
            said = until_it_serves(program)
            address = next(line.strip() for line in said if "http://" in line)
            yield Started(program, said, address, user)
        finally:
            rescue.cancel()
            if program.poll() is None:
                program.send_signal(signal.SIGINT)
                program.wait(60)


# These run in their order on one JupyterLab: it takes seconds to start.


def test_it_asks_once_says_what_it_did_and_where(started: Started) -> None:
    said = "\n".join(started.said)
    assert said.startswith("Your student id")
    assert f"{LESSON}: 9 files added" in said
    assert "Getting case dark-at-the-door ready" in said
    assert "Getting case foggy-window ready" not in said  # of a later lesson
    assert said.count("are got ready while you work") == 1
    assert said.index("http://") < said.index("are got ready while you work")
    assert f"Your folder is {started.folder}" in said
    assert read_home(started.folder).student == "ada"


def test_the_address_is_on_this_machine_and_opens_the_lesson(started: Started) -> None:
    pattern = rf"http://127\.0\.0\.1:\d+/lab/tree/{re.escape(FIRST)}\?token=\S{{32}}"
    assert re.fullmatch(pattern, started.address)
    with DIRECT.open(started.address, timeout=30) as answer:
        assert answer.status == 200
        assert "jupyter-config-data" in answer.read().decode()
    listing = json.loads(started.get(f"/api/contents/{NOTEBOOK}"))
    assert [cell["id"] for cell in listing["content"]["cells"]][:2] == ["title", "tools"]


def test_without_the_token_nothing_is_given(started: Started) -> None:
    base = started.address.partition("/lab/tree/")[0]
    with pytest.raises(urllib.error.HTTPError) as refused:
        DIRECT.open(f"{base}/api/contents/{NOTEBOOK}?token=wrong", timeout=30)
    assert refused.value.code == 403
    refused.value.close()


def test_a_student_sees_a_students_things(started: Started) -> None:
    page = started.get(f"/lab/tree/{NOTEBOOK}")
    config = re.search(r'id="jupyter-config-data"[^>]*>(.+?)</script>', page, re.DOTALL)
    assert config
    data = json.loads(config[1])
    off = set(data["disabledExtensions"])
    assert "@jupyterlab/apputils-extension:announcements" in off
    assert {"@jupyter/nbgrader:create-assignment", "@jupyter/nbgrader:formgrader"} <= off
    assert data["news"] == {"disabled": True}
    assert data["extensionManager"]["can_install"] is False
    theme = json.loads(started.get("/lab/api/settings/@jupyterlab/apputils-extension:themes"))
    assert theme["settings"] == {}
    pages = json.loads(started.get("/lab/api/settings/@jupyterlab/notebook-extension:tracker"))
    assert pages["schema"]["properties"]["windowingMode"]["default"] == "none"


def test_the_lessons_run_on_this_very_python(started: Started) -> None:
    assert json.loads(started.get("/api/kernelspecs"))["default"] == "python3"
    started.ask("/api/kernels", b"{}")
    assert started.kernels() == [sys.executable]


def test_a_second_time_overwrites_nothing_and_asks_nothing(started: Started) -> None:
    lesson = started.folder / LESSON
    notebook, record = lesson / f"{LESSON}.ipynb", lesson / "foggy-window.record.jsonl"
    notebook.write_text(notebook.read_text("utf-8").replace("Write your answer here", "Mine"))
    record.write_text("a record\n")
    before = {p: p.read_bytes() for p in lesson.rglob("*") if p.is_file()}
    again = run_to_end(started.user)
    assert again.returncode == 0
    assert again.stderr == ""
    assert f"{LESSON}: nothing new" in again.stdout
    assert "already running" in again.stdout
    assert started.address in again.stdout
    assert {p: p.read_bytes() for p in lesson.rglob("*") if p.is_file()} == before


def test_another_students_folder_is_refused(started: Started) -> None:
    other = run_to_end(started.user, "--student", "ben", "--folder", str(started.folder))
    assert other.returncode == 2
    assert other.stderr.count("\n") == 1
    assert "belongs to student 'ada'" in other.stderr


def test_ctrl_c_stops_it_cleanly(started: Started) -> None:
    home = read_home(started.folder)
    address = running(home)
    assert address
    below = psutil.Process(started.program.pid).children(recursive=True)
    assert len(below) >= 2  # JupyterLab, and a kernel of the test above
    started.program.send_signal(signal.SIGINT)
    assert started.program.stdout
    rest = started.program.stdout.read()
    assert started.program.wait(60) == 0
    assert f"Stopped. Your work is in {started.folder}" in rest
    assert "Traceback" not in rest
    assert running(home) is None
    assert not address.answers()
    _gone, left = psutil.wait_procs(below, timeout=60)
    assert left == []


# Without a server


def test_nobody_to_ask_is_one_line(tmp_path: Path) -> None:
    alone = run_to_end(tmp_path)
    assert alone.returncode == 2
    assert alone.stderr == "halfsplit learn: no student id: give yours with --student ID\n"
    assert list(tmp_path.iterdir()) == []


def test_an_id_that_cannot_be_is_asked_for_again(
    monkeypatch: pytest.MonkeyPatch, capsys: pytest.CaptureFixture[str]
) -> None:
    monkeypatch.setattr("sys.stdin", io.StringIO("\na/b\nKim\n"))
    assert ask_student() == "kim"
    assert capsys.readouterr().err.count("student id") == 2


def test_the_folder_used_last_is_used_again(user: Path, tmp_path: Path) -> None:
    home = Home(tmp_path / "own place", "ada")
    write_home(home)
    write_last(home)
    assert settle_home(None, None) == home
    assert settle_home("Ada", None) == home
    assert settle_home("ben", None) == Home(user / "halfsplit" / "ben", "ben")


def test_a_moved_folder_is_named(user: Path, tmp_path: Path) -> None:
    home = Home(tmp_path / "own place", "ada")
    write_home(home)
    write_last(home)
    shutil.move(home.folder, tmp_path / "new place")
    with pytest.raises(FolderError, match="not there any more") as error:
        settle_home(None, None)
    assert str(user / "halfsplit" / "ada") in str(error.value)
    assert settle_home(None, tmp_path / "new place").student == "ada"


def test_an_instructors_release_is_added(
    user: Path, tmp_path: Path, source: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    release_lesson(source, tmp_path / "release" / LESSON, b"a course")
    made = shutil.make_archive(str(tmp_path / "lesson"), "zip", tmp_path / "release")
    served = []
    monkeypatch.setattr(
        "lessons.command.learn.serve",
        lambda home, notebook, later, *, browser, bench_only: (
            served.append((home.folder, notebook, later, browser, bench_only)) or 0
        ),
    )
    monkeypatch.setattr("lessons.command.learn.make_ready", lambda _home, _lesson: None)
    assert main(["learn", "--student", "ada", "--lesson", made]) == 0
    folder = user / "halfsplit" / "ada"
    assert served == [(folder, NOTEBOOK, [], True, "")]
    released = (tmp_path / "release" / LESSON / "lesson.sealed.json").read_bytes()
    assert (folder / LESSON / "lesson.sealed.json").read_bytes() == released


@pytest.fixture
def page(monkeypatch: pytest.MonkeyPatch) -> list[str]:
    """Serve without JupyterLab; give what happens, in its order."""
    happens = []

    class Nothing:
        """What is started, and stopped at once."""

        address = Address(1234, "word")

        def __init__(self, _home: Home, cases: Sequence[Path] = ()) -> None:
            self.name = f"background: {[file.name for file in cases]}" if cases else "server"

        def __enter__(self) -> Self:
            happens.append(f"{self.name} begins")
            return self

        def __exit__(self, *_error: object) -> None:
            happens.append(f"{self.name} ends")

        def wait(self) -> None:
            happens.append("the student works")

    monkeypatch.setattr("lessons.command.learn.Server", Nothing)
    monkeypatch.setattr("lessons.readying.Readying", Nothing)
    monkeypatch.setattr("lessons.command.learn.running", lambda _home: None)
    monkeypatch.setattr("lessons.command.learn.stop_on_request", lambda: None)
    monkeypatch.setattr(
        "lessons.command.learn.show",
        lambda address, *, browser: happens.append(f"{address.partition('?')[2]} {browser}"),
    )
    monkeypatch.setattr(
        "grader.prepared.prepare", lambda case, **_how: happens.append(f"{case.name} ready")
    )
    return happens


@pytest.mark.parametrize("how", [[], ["--bench-only", "dark"]])
def test_only_the_first_lesson_is_waited_for(
    user: Path, page: list[str], monkeypatch: pytest.MonkeyPatch, how: list[str]
) -> None:
    monkeypatch.setattr("lessons.benchonly.find_spec", lambda name: name)
    assert main(["learn", "--student", "ada", *how]) == 0
    first, _, *rest = page[4:]
    assert page[:4] == [
        f"{name} ready"
        for name in ("dark-at-the-door", "dark-load-space", "dim-load-lamps", "no-light-by-switch")
    ]
    assert first == "server begins"
    assert page[5] == ("theme=dark&token=word True" if how else "token=word True")
    begins, works, ends, last = rest
    assert begins.startswith("background: ['ghost-on-main-beam.case.yaml', ")
    assert begins.endswith(".case.yaml'] begins")
    assert begins.count(".case.yaml") == len(shipped_cases()) - 4
    assert works == "the student works"
    assert (ends, last) == (begins.replace("begins", "ends"), "server ends")
    assert (user / "halfsplit" / "ada").is_dir()


def test_a_page_that_is_open_already_starts_nothing(
    user: Path, page: list[str], monkeypatch: pytest.MonkeyPatch
) -> None:
    there = Address(1234, "word")
    monkeypatch.setattr("lessons.command.learn.running", lambda _home: there)
    assert main(["learn", "--student", "ada"]) == 0
    assert [one for one in page if not one.endswith("ready")] == ["token=word True"]
    assert (user / "halfsplit" / "ada").is_dir()


def test_benches_only_need_voila_and_say_so_before_anything_is_made(
    user: Path, monkeypatch: pytest.MonkeyPatch, capsys: pytest.CaptureFixture[str]
) -> None:
    monkeypatch.setattr("lessons.benchonly.find_spec", lambda _name: None)
    assert main(["learn", "--student", "ada", "--bench-only"]) == 2
    said = capsys.readouterr().err
    assert said.startswith("halfsplit learn: --bench-only needs voila")
    assert said.count("\n") == 1
    assert not (user / "halfsplit").exists()


def test_the_address_of_benches_only_names_the_theme() -> None:
    address = Address(1234, "word")
    at = "http://127.0.0.1:1234"
    assert address.page("a b/c.ipynb") == f"{at}/lab/tree/a%20b/c.ipynb?token=word"
    page = address.page("a b/c.ipynb", "dark")
    assert page == f"{at}/voila/render/a%20b/c.ipynb?theme=dark&token=word"


def test_a_server_that_does_not_start_says_why(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    home = Home(tmp_path, "ada")
    monkeypatch.setattr(Server, "_command", lambda _self: [sys.executable, "-c", "print(6 * 7)"])
    with pytest.raises(ServerError, match="did not start: 42; all it said is in"), Server(home):
        pass
    assert running(home) is None
