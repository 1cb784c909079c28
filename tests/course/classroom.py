"""A class that works the released lesson and hands in, each in a way of their own."""

import hashlib
import json
import os
import subprocess
import sys
import zipfile
from collections.abc import Callable, Iterator
from contextlib import ExitStack, contextmanager
from dataclasses import dataclass
from pathlib import Path

from grader.attempt import Attempt
from grader.draw import Draw
from grader.record import canonical, line_hash
from lessons.catalogue import shipped_lessons
from lessons.course import case_setup
from lessons.folder import Home, write_home
from lessons.handin import make_handin
from lessons.handout import hand_out, practice_release, released_lessons
from tests.course.warm import Warm

TOP = Path(__file__).parents[2]
LESSON, CASE = "06-two-circuits-in-one-can", "foggy-window"
NOTEBOOK, RECORD = f"{LESSON}.ipynb", f"{CASE}.record.jsonl"
ANSWER_CELL, POINTS_CELL = "why-not-the-relay", "foggy-window-points"
ON = {"key": "run", "heater switch": "on"}
WORDS = "one secret for every test run"
STAMP = "20261124T101500Z"


@dataclass
class Course:
    """A course folder and the place where its students work."""

    root: Path
    homes: Path
    environment: dict[str, str]
    warm: Warm | None = None

    @property
    def archive(self) -> Path:
        return self.root / "downloaded" / LESSON / "archive"

    def run(self, *words: str, check: bool = True) -> subprocess.CompletedProcess[str]:
        """Type a command in the course folder; nbgrader's, where it can be, as a fork."""
        if self.warm is not None and words[0] == "nbgrader":
            ran = self.warm.run(words)
        else:
            ran = self.typed(*words)
        assert not check or ran.returncode == 0, f"{words}:\n{ran.stdout}\n{ran.stderr}"
        return ran

    def typed(self, *words: str) -> subprocess.CompletedProcess[str]:
        """Type a command in the course folder, with a process of its own from its begin."""
        program = ["-m", "nbgrader"] if words[0] == "nbgrader" else ["-c", HALFSPLIT]
        command = [sys.executable, *program, *words[1:]]
        return subprocess.run(
            command,
            cwd=self.root,
            env=self.environment,
            capture_output=True,
            text=True,
            check=False,
        )

    def student(self, name: str) -> Path:
        """Make a student's folder from the handout; return the lesson's folder in it."""
        home = Home(self.homes / name, name)
        with released_lessons(self.root / "handout" / f"{LESSON}.zip") as (release,):
            home, _report = hand_out(release, home)
        write_home(home)
        return home.folder / LESSON

    def practising(self, name: str) -> Path:
        """Make the folder of a student who never got the course's own lesson."""
        with practice_release(shipped_lessons()[LESSON]) as release:
            home, _report = hand_out(release, Home(self.homes / name, name))
        write_home(home)
        return home.folder / LESSON

    def grade(self, cell: str, student: str) -> tuple[float | None, bool]:
        """Return a cell's automatic points in the gradebook, and whether it waits for a person."""
        from nbgrader.api import Gradebook  # noqa: PLC0415 -- the test is skipped without it

        with Gradebook(f"sqlite:///{self.root / 'gradebook.db'}") as gradebook:
            grade = gradebook.find_grade(cell, LESSON, LESSON, student)
            return grade.auto_score, bool(grade.needs_manual_grade)

    def collect(self, lesson: Path) -> Path:
        """Hand a lesson in: make its zip and put it into the archive."""
        return make_handin(lesson, self.archive).path


HALFSPLIT = "import sys; from lessons.command import main; sys.exit(main(sys.argv[1:]))"


@contextmanager
def new_course(place: Path) -> Iterator[Course]:
    """Make and release a course by the commands as they are typed."""
    environment = {
        **os.environ,
        "PYTHONPATH": str(TOP),
        "JUPYTER_CONFIG_DIR": str(place / "jupyter"),
    }
    course = Course(place / "course", place / "homes", environment)
    course.root.mkdir()
    (course.root / "course.secret").write_text(WORDS)  # so that every run draws the same causes
    made = [sys.executable, "-c", HALFSPLIT, "course", "new", str(course.root)]
    subprocess.run(made, env=environment, check=True, capture_output=True)
    with ExitStack() as stack:
        if hasattr(os, "fork"):
            course.warm = stack.enter_context(Warm(course.root, environment))
        course.run("nbgrader", "generate_assignment", LESSON)
        course.run("halfsplit", "course", "release", LESSON)
        yield course


# Ways to work the case


def work(lesson: Path, path: Callable[[Attempt, Draw], None], *, close: bool = True) -> Path:
    """Work the case in a student's folder; return the record."""
    setup = case_setup(lesson, CASE)
    with Attempt(setup.lineup, setup.drawn, setup.student, setup.record) as attempt:
        path(attempt, setup.drawn)
        if close:
            attempt.close()
    return setup.record


def confirm(attempt: Attempt) -> None:
    attempt.act({"set": ON})
    attempt.act({"wait": "5 min"})
    attempt.act({"watch": "rear window clears"})
    attempt.act({"watch": "switch lamp lights"})


def verify(attempt: Attempt) -> None:
    confirm(attempt)
    attempt.act({"clamp": "wire 8"})
    attempt.act({"set": {"heater switch": "off"}})
    attempt.act({"clamp": "wire 8"})


def call(attempt: Attempt, cause: str) -> None:
    lineup = attempt.lineup
    attempt.call(lineup.suspects[lineup.index(cause)].unit.name, cause)


def carefully(attempt: Attempt, drawn: Draw) -> None:
    confirm(attempt)
    attempt.act({"measure": "volts", "red": "K3.87", "black": "body"})
    attempt.act({"measure": "volts", "red": "C41.1a", "black": "C41.1b"})
    call(attempt, drawn.cause)
    verify(attempt)


def hastily(attempt: Attempt, drawn: Draw) -> None:
    lineup = attempt.lineup
    unit = lineup.suspects[lineup.index(drawn.cause)].unit.name
    wrong = next(s.name for s in lineup.suspects if s.unit.name != unit)
    attempt.strike([drawn.cause], "a guess")
    call(attempt, wrong)
    attempt.restore([drawn.cause])
    call(attempt, drawn.cause)


def in_vain(attempt: Attempt, drawn: Draw) -> None:
    confirm(attempt)
    attempt.note(f"gave up on the {len(drawn.values)} values")


# Ways to spoil what was worked


def write_answer(lesson: Path, text: str) -> None:
    def put(data: dict) -> None:
        cell = next(c for c in data["cells"] if c.get("id") == ANSWER_CELL)
        cell["source"] = text

    edit_notebook(lesson, put)


def edit_notebook(lesson: Path, change: Callable[[dict], None]) -> None:
    notebook = lesson / NOTEBOOK
    data = json.loads(notebook.read_text("utf-8"))
    change(data)
    notebook.write_text(json.dumps(data), "utf-8")


def edit_line(record: Path, number: int, change: Callable[[dict], None], *, rehash: bool) -> None:
    """Change one line of a record, with the hashes of it and all that follow made anew or not."""
    lines = [json.loads(line) for line in record.read_text("utf-8").splitlines()]
    change(lines[number])
    if rehash:
        prev = ""
        for line in lines:
            line["prev"] = prev
            prev = line["hash"] = line_hash(line)
    record.write_text("".join(canonical(line) + "\n" for line in lines), "utf-8")


def reading(record: Path) -> int:
    """Return the number of the first line that shows volts."""
    lines = [json.loads(line) for line in record.read_text("utf-8").splitlines()]
    return next(k for k, d in enumerate(lines) if d.get("shown", {}).get("unit") in ("V", "mV"))


def lie(line: dict) -> None:
    line["shown"]["value"] = "77.77"


def zip_with(path: Path, entries: dict[str, bytes]) -> Path:
    with zipfile.ZipFile(path, "w", zipfile.ZIP_DEFLATED) as archive:
        for name, content in entries.items():
            archive.writestr(name, content)
    return path


def link_zip(path: Path, target: str) -> Path:
    item = zipfile.ZipInfo(f"{LESSON}/{NOTEBOOK}")
    item.create_system, item.external_attr = 3, 0o120777 << 16
    with zipfile.ZipFile(path, "w") as archive:
        archive.writestr(item, target)
    return path


def name_of(student: str) -> str:
    return f"{student}--{LESSON}--{STAMP}.zip"


def fingerprint(folder: Path) -> dict[str, str]:
    """Return the SHA-256 of every file below a folder."""
    return {
        path.relative_to(folder).as_posix(): hashlib.sha256(path.read_bytes()).hexdigest()
        for path in sorted(folder.rglob("*"))
        if path.is_file()
    }
