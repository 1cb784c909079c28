"""One class, graded once by nbgrader's own commands; the tests look at what came out."""

import csv
import json
from collections.abc import Iterator
from dataclasses import dataclass, field
from pathlib import Path

import pytest

from tests.course import classroom as room
from tests.course.classroom import CASE, LESSON, NOTEBOOK, Course
from tests.course.extra import need_nbgrader


@dataclass
class Graded:
    """The course after export."""

    course: Course
    trap: Path
    said: dict[str, str] = field(default_factory=dict)

    def rows(self) -> dict[str, dict[str, str]]:
        with (self.course.root / "grades.csv").open(encoding="utf-8", newline="") as file:
            return {row["student_id"]: row for row in csv.DictReader(file)}

    def result(self, student: str) -> dict:
        folder = self.course.root / "autograded" / student / LESSON
        return json.loads((folder / f"{LESSON}.result.json").read_text("utf-8"))

    def kinds(self, student: str) -> list[str]:
        """Return the kinds of a student's problems."""
        found = self.result(student)
        problems = [*found["problems"], *(p for case in found["cases"] for p in case["problems"])]
        return [problem["kind"] for problem in problems]


@pytest.fixture(scope="session")
def course(tmp_path_factory: pytest.TempPathFactory) -> Iterator[Course]:
    need_nbgrader()
    with room.new_course(tmp_path_factory.mktemp("course")) as course:
        yield course


@pytest.fixture(scope="session")
def graded(course: Course) -> Graded:
    """Let a class hand in, and grade it by the commands in the course's README."""
    trap = course.homes / "trap.txt"
    course.archive.mkdir(parents=True, exist_ok=True)
    well_behaved(course)
    with_bad_records(course)
    with_bad_notebooks(course, trap)
    with_bad_zips(course)
    made = Graded(course, trap)
    for words in (
        ("nbgrader", "zip_collect", LESSON),
        ("nbgrader", "autograde", LESSON),
        ("nbgrader", "generate_feedback", LESSON),
        ("nbgrader", "export"),
    ):
        # the last one as a program of its own: that a fork does the same is not taken on trust
        ran = course.typed(*words) if words[1] == "export" else course.run(*words)
        assert ran.returncode == 0, ran.stderr
        made.said[words[1]] = ran.stdout + ran.stderr
        if words[1] == "zip_collect":
            by_exchange(course)
    return made


def finished(course: Course, name: str) -> Path:
    """Give a lesson with carefully worked case and a written answer."""
    lesson = course.student(name)
    room.work(lesson, room.carefully)
    room.write_answer(lesson, "The click proves the control side. If U < 1 V across C41, go on.")
    return lesson


def well_behaved(course: Course) -> None:
    """Hand in as one should: well, in haste, in vain, not closed, torn by a crash."""
    course.collect(finished(course, "ada"))
    ben = course.student("ben")
    room.work(ben, room.hastily)
    course.collect(ben)
    cleo = course.student("cleo")
    room.work(cleo, room.in_vain)
    course.collect(cleo)
    dora = course.student("dora")
    room.work(dora, room.carefully, close=False)
    course.collect(dora)
    torn = finished(course, "tess")
    with (torn / room.RECORD).open("ab") as record:
        record.write(b'{"n":99,"kind":"no')
    course.collect(torn)


def with_bad_records(course: Course) -> None:
    """Hand in records that cannot count."""
    course.collect(course.student("emil"))
    finn = finished(course, "finn") / room.RECORD
    room.edit_line(finn, room.reading(finn), room.lie, rehash=False)
    course.collect(finn.parent)
    gus = finished(course, "gus") / room.RECORD
    room.edit_line(gus, room.reading(gus), room.lie, rehash=True)
    course.collect(gus.parent)
    hal = course.student("hal")
    (hal / room.RECORD).write_bytes((course.homes / "ada" / LESSON / room.RECORD).read_bytes())
    course.collect(hal)
    for name, key, value in (("ida", "case", "dead-horn"), ("jon", "case_sha256", "0" * 64)):
        record = finished(course, name) / room.RECORD
        room.edit_line(record, 0, lambda line, k=key, v=value: line.update({k: v}), rehash=True)
        course.collect(record.parent)
    sue = course.practising("sue")
    room.work(sue, room.carefully)
    course.collect(sue)


def with_bad_notebooks(course: Course, trap: Path) -> None:
    """Hand in notebooks that are damaged, renamed, cut short, or up to no good."""
    for name, entries in (
        ("kai", {NOTEBOOK: b"{this is not JSON"}),
        ("lea", {"my homework.ipynb": (finished(course, "lea") / NOTEBOOK).read_bytes()}),
    ):
        lesson = course.homes / name / LESSON
        if name == "kai":
            lesson = finished(course, name)
        entries[room.RECORD] = (lesson / room.RECORD).read_bytes()
        room.zip_with(course.archive / room.name_of(name), entries)
    mia = finished(course, "mia")
    room.edit_notebook(mia, lambda data: data["cells"].pop(position(data, room.POINTS_CELL)))
    course.collect(mia)
    pia = finished(course, "pia")
    room.edit_notebook(pia, lambda data: poison(data, trap))
    course.collect(pia)


def position(data: dict, name: str) -> int:
    return next(k for k, cell in enumerate(data["cells"]) if cell.get("id") == name)


def poison(data: dict, trap: Path) -> None:
    """Put code, old metadata and markup into a notebook."""
    evil = f"import os; open({str(trap)!r}, 'w').write('ran'); os._exit(1)"
    for name in ("tools", room.CASE, room.POINTS_CELL):
        data["cells"][position(data, name)]["source"] = evil
    data["cells"][position(data, "title")]["metadata"]["nbgrader"]["schema_version"] = 1
    data["cells"][position(data, room.ANSWER_CELL)]["source"] = (
        '<script>alert(1)</script> my answer [click](javascript:alert(2)) ![](x" onerror="alert(3))'
    )
    output = {"output_type": "execute_result", "execution_count": 1, "metadata": {}}
    output["data"] = {"text/plain": "100.0"}
    data["cells"][position(data, room.POINTS_CELL)]["outputs"] = [output]
    own = {"cell_type": "code", "id": "own", "metadata": {}, "source": evil}
    data["cells"].insert(0, {**own, "outputs": [], "execution_count": None})


def by_exchange(course: Course) -> None:
    """Submit as nbgrader's exchange does: no zip, so nothing has been looked at yet."""
    source = course.homes / "ada" / LESSON
    for name, notebook, content in (
        ("vic", NOTEBOOK, b"\xff not a notebook"),
        ("wes", "other.ipynb", (source / NOTEBOOK).read_bytes()),
        ("xena", None, b""),
    ):
        folder = course.root / "submitted" / name / LESSON
        folder.mkdir(parents=True)
        record = course.student(name) / room.RECORD
        room.work(record.parent, room.carefully)
        (folder / room.RECORD).write_bytes(record.read_bytes())
        if notebook:
            (folder / notebook).write_bytes(content)
    command = ["nbgrader", "db", "student"]
    course.run(*command, "add", "xena")
    course.run(*command, "add", "yan")


def with_bad_zips(course: Course) -> None:
    """Put zips into the archive that must not be unpacked."""
    archive = course.archive
    ned = course.collect(finished(course, "ned"))
    ned.write_bytes(ned.read_bytes()[:-400])
    with (archive / room.name_of("ole")).open("wb") as junk:
        junk.truncate(100_000_000)
    room.zip_with(archive / room.name_of("oli"), {f"{CASE}.record.jsonl": b"0" * 100_000_000})
    climbing = {"../../../../climbed.ipynb": b"{}", f"{LESSON}/{NOTEBOOK}": b"{}"}
    room.zip_with(archive / room.name_of("qin"), climbing)
    room.link_zip(archive / room.name_of("rob"), str(course.root / "course.secret"))
    room.zip_with(archive / "homework.zip", {NOTEBOOK: b"{}"})
    room.zip_with(archive / f"..--{LESSON}--99999999T999999Z.zip", {NOTEBOOK: b"{}"})
    later = finished(course, "uma")
    course.collect(later)
    (archive / f"uma--{LESSON}--20991231T000000Z.zip").write_bytes(b"PK\x03\x04 torn")
