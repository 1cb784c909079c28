"""The instructor's course folder: an nbgrader course with the lessons sealed for its own secret.

    nbgrader_config.py      two lines of ours; what the instructor adds below them counts
    README.md               the commands to type
    course.secret           from which every hidden cause follows; made once, never handed out
    source/LESSON/          the lesson with its cases, circuits and sealed key
    marking/LESSON.md       how to mark the written answer, with samples; never released
    downloaded/LESSON/archive/    where the zips of the students go
    handout/LESSON.zip      what the students get

Making it again adds what is missing and overwrites nothing.
"""

from __future__ import annotations

import os
import secrets
import tempfile
import zipfile
from contextlib import suppress
from dataclasses import dataclass, field
from importlib.util import find_spec
from pathlib import Path

from grader.draw import lesson_key
from grader.gradebook.courseside import SECRET_FILE, read_secret
from lessons.catalogue import CIRCUIT_ENDING, shipped_lessons
from lessons.course import CASE_ENDING, RELEASED, SEAL_FILE, read_seal, release_lesson
from lessons.errors import CourseError

CONFIG_FILE = "nbgrader_config.py"
GUIDE_FILE = "marking-guide.md"
SECRET_BYTES = 32
CONFIG = '''\
"""nbgrader's configuration of this course. Add your own settings at the end."""

from grader.gradebook.config import configure

c = get_config()
configure(c)
'''
README = """\
# An nbgrader course for halfsplit

`course.secret` decides every student's hidden fault. Keep a copy of it elsewhere, and never hand
it out. Type the commands in this folder, with the environment of halfsplit active:

```bash
nbgrader generate_assignment {lesson}
halfsplit course release {lesson}
nbgrader zip_collect {lesson}
nbgrader autograde {lesson}
nbgrader generate_feedback {lesson}
nbgrader export
```

1. makes the students' version of the lesson in `release/`;
2. packs it as `handout/{lesson}.zip`. A student adds it with
   `halfsplit learn --lesson {lesson}.zip`, works, and hands in one zip made by `halfsplit handin`;
3. collects the zips you have put into `downloaded/{lesson}/archive/`. Keep their names: they say
   whose they are. To collect again later, add `--force`;
4. plays every record again on your copy of the case and takes the points from it. No code of a
   student is run. Mark the written answers by hand: `jupyter lab` in this folder, menu nbgrader,
   Formgrader. `marking/{lesson}.md` says what earns points, with three answers marked by us;
5. makes the feedback in `feedback/`: marks with reasons, and the path step by step;
6. writes `grades.csv`. The column `problem` tells a zero that was earned from one with a cause;
   `halfsplit course report` prints the same.

At home nobody can tell whether a record was deleted and begun anew, and the seal on a lesson keeps
out the curious, not an attacker. Grades belong on work that somebody saw.
"""


@dataclass(slots=True)
class Made:
    """What `make_course` did: files and folders added, and those that stayed as they were."""

    added: list[str] = field(default_factory=list)
    kept: list[str] = field(default_factory=list)


def need_nbgrader() -> None:
    """Refuse to go on without what only instructors need.

    Raises
    ------
    CourseError
        With what to install.
    """
    if find_spec("nbgrader") is None:
        raise CourseError(
            "nbgrader is not installed: it comes with the extra `teach`; "
            "run pip install -c .constraints.txt -e '.[teach]' in halfsplit's own folder"
        )


def make_course(root: Path) -> Made:
    """Make a course folder, or add what is missing in one.

    Raises
    ------
    CourseError
        It cannot be written, or there is something else in its place.
    """
    lessons = shipped_lessons()
    made = Made()
    try:
        root.mkdir(parents=True, exist_ok=True)
        _write_once(root, SECRET_FILE, secrets.token_hex(SECRET_BYTES) + "\n", made, mode=0o600)
        _write_once(root, CONFIG_FILE, CONFIG, made)
        _write_once(root, "README.md", README.format(lesson=next(iter(lessons))), made)
        secret = read_secret(root / SECRET_FILE)
        for lesson, source in lessons.items():
            _add_lesson(root, lesson, source, secret, made)
            _add_guide(root, lesson, source, made)
            (root / "downloaded" / lesson / "archive").mkdir(parents=True, exist_ok=True)
    except OSError as error:
        raise CourseError(
            f"{root}: the course cannot be made ({error.strerror}: {error.filename}); "
            "choose another folder"
        ) from error
    return made


def _write_once(root: Path, name: str, text: str, made: Made, mode: int = 0o644) -> None:
    """Write a file unless there is one; with its permissions from the first byte on."""
    try:
        handle = os.open(root / name, os.O_WRONLY | os.O_CREAT | os.O_EXCL, mode)
    except FileExistsError:
        made.kept.append(name)
        return
    with os.fdopen(handle, "w", encoding="utf-8", newline="\n") as file:
        file.write(text)
    made.added.append(name)


def _add_lesson(root: Path, lesson: str, source: Path, secret: bytes, made: Made) -> None:
    """Put a lesson into the course's source, whole or not at all."""
    target = root / "source" / lesson
    if target.exists():
        made.kept.append(f"source/{lesson}")
        return
    target.parent.mkdir(exist_ok=True)
    with tempfile.TemporaryDirectory(dir=root) as place:
        release_lesson(source, Path(place) / lesson, secret)
        (Path(place) / lesson).rename(target)
    made.added.append(f"source/{lesson}")


def _add_guide(root: Path, lesson: str, source: Path, made: Made) -> None:
    """Put a lesson's marking guide beside the sources: what lies in there may be released."""
    guide = source / GUIDE_FILE
    if guide.is_file():
        (root / "marking").mkdir(exist_ok=True)
        _write_once(root, f"marking/{lesson}.md", guide.read_text(encoding="utf-8"), made)


def course_of(place: Path) -> Path:
    """Return the course folder that a place is in.

    Raises
    ------
    CourseError
        There is none.
    """
    for folder in (place.resolve(), *place.resolve().parents):
        if (folder / CONFIG_FILE).is_file() and (folder / SECRET_FILE).is_file():
            return folder
    raise CourseError(
        f"{place}: not in a course folder (no {CONFIG_FILE} with a {SECRET_FILE}); "
        "go there, or make one with `halfsplit course new DIR`"
    )


def pack_release(root: Path, lesson: str) -> Path:
    """Pack a lesson that `nbgrader generate_assignment` has made as one zip for the students.

    Raises
    ------
    CourseError
        There is no such release, or it was sealed for another course.
    FolderError, SealError
        Its key is missing or damaged.
    """
    release = root / "release" / lesson
    if not lesson or not (release / f"{lesson}.ipynb").is_file():
        raise CourseError(
            f"{release}: no released lesson; run `nbgrader generate_assignment {lesson}` first"
        )
    sealed, key = read_seal(release)
    if sealed != lesson or key != lesson_key(read_secret(root / SECRET_FILE), lesson):
        raise CourseError(
            f"{release / SEAL_FILE}: sealed for another course or lesson, so no record could be "
            f"graded; move source/{lesson} away, run `halfsplit course new` and "
            "`nbgrader generate_assignment --force` again"
        )
    target = root / "handout" / f"{lesson}.zip"
    target.parent.mkdir(exist_ok=True)
    partial = target.with_name(f"{target.name}.{os.getpid()}.part")
    try:
        with zipfile.ZipFile(partial, "w", zipfile.ZIP_DEFLATED) as archive:
            for file in handed_out(release):
                archive.write(file, f"{lesson}/{file.relative_to(release).as_posix()}")
        partial.replace(target)
    except OSError as error:
        with suppress(OSError):
            partial.unlink()
        raise CourseError(f"{target}: cannot be written ({error.strerror})") from error
    return target


def handed_out(release: Path) -> list[Path]:
    """Return the files of a release that students get: never a record, never a secret."""
    files = [
        path
        for path in release.iterdir()
        if path.name.endswith((*RELEASED, CASE_ENDING)) or path.name == SEAL_FILE
    ]
    files += (release / "circuits").glob(f"*{CIRCUIT_ENDING}")
    return sorted(path for path in files if path.is_file() and not path.is_symlink())
