"""Students' ids as nbgrader can use them, and the names of the zips that are handed in.

nbgrader makes folders of student ids, so what a file system would not take is a dash there; the
record keeps the id as it was typed. A zip is called ``STUDENT--LESSON--TIME.zip``, its time being
that of the last change in it, such as ``20261124T101500Z``.
"""

from __future__ import annotations

import re
from dataclasses import dataclass
from datetime import UTC, datetime

from grader.draw import LONGEST_ID, clean_student
from grader.errors import DrawError

#: Names that Windows keeps for devices.
KEPT_BY_WINDOWS = re.compile(r"(con|prn|aux|nul|com\d|lpt\d)(\..*)?")
HAND_IN = re.compile(r"(?P<student>.+)--(?P<lesson>(?:(?!--).)+)--(?P<time>\d{8}T\d{6}Z)")
TIME = "%Y%m%dT%H%M%SZ"


@dataclass(frozen=True, slots=True)
class HandInName:
    """What a zip's name says: the student's id in the gradebook, the lesson, the time (UTC)."""

    student: str
    lesson: str
    time: datetime


def gradebook_name(student: str) -> str:
    """Return a student's id as the gradebook, and every file system, takes it.

    Raises
    ------
    DrawError
        It is no student's id.
    """
    name = re.sub(r"[^\w.@+-]+", "-", clean_student(student)).strip(".-") or "student"
    return f"{name}-" if KEPT_BY_WINDOWS.fullmatch(name) else name


def read_name(stem: str) -> HandInName | None:
    """Return what a zip's name without its ending says; None if it is no hand-in's name."""
    match = HAND_IN.fullmatch(stem)
    if match is None or len(match["student"]) > LONGEST_ID + 1:
        return None
    try:
        time = datetime.strptime(match["time"], TIME).replace(tzinfo=UTC)
        student = gradebook_name(match["student"])
    except (ValueError, DrawError):
        return None
    return HandInName(student, match["lesson"], time)
