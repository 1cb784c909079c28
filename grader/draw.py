"""Course secret + lesson + student -> the hidden cause and this student's values.

A released lesson carries only its own key, HMAC-SHA256(course secret, "lesson|" + lesson)
(RFC 2104); the numbers come from HMAC-SHA256(lesson key, "case|student|counter"). So an
instructor who knows the secret can recompute every draw, one lesson's key says nothing about
another's, and two students share a draw no more often than the likelihoods say.
"""

from __future__ import annotations

import hashlib
import hmac
import unicodedata
from collections.abc import Mapping
from dataclasses import dataclass

import numpy as np

from grader.casefile import Case
from grader.errors import DrawError
from grader.possible import set_values
from grader.suspects import Lineup, Suspect
from sim.circuit import Circuit

LONGEST_ID = 64


@dataclass(frozen=True, slots=True)
class Draw:
    """What one student gets: the cause, the varied values (SI), and a tag that names the draw."""

    cause: str
    values: Mapping[str, float]
    tag: str


def clean_student(text: str) -> str:
    """Return a student's id in one spelling: trimmed, lower case, composed Unicode.

    Raises
    ------
    DrawError
        Empty, too long, or with control characters or slashes in it.
    """
    student = unicodedata.normalize("NFC", text).strip().lower()
    bad = [c for c in student if unicodedata.category(c)[0] == "C" or c in "/\\"]
    if not student or len(student) > LONGEST_ID or bad:
        raise DrawError(
            f"student id {text!r}: expected 1 to {LONGEST_ID} letters, digits, dots or dashes; "
            "type the id your instructor gave you"
        )
    return student


def lesson_key(secret: bytes, lesson: str) -> bytes:
    """Return the key of a lesson (32 bytes), from which its draws are made.

    Parameters
    ----------
    secret : bytes
        The course's secret.
    lesson : str
        The lesson's id, such as ``"06-two-circuits-in-one-can"``.

    Raises
    ------
    DrawError
        The secret is empty.
    """
    if not secret:
        raise DrawError("course secret: got nothing; a course secret has at least one byte")
    return hmac.new(secret, b"lesson|" + lesson.encode(), hashlib.sha256).digest()


def _numbers(key: bytes, case: str, student: str, count: int) -> list[float]:
    """Return `count` numbers in [0, 1)."""
    found = []
    for counter in range(count):
        message = f"{case}|{student}|{counter}".encode()
        digest = hmac.new(key, message, hashlib.sha256).digest()
        found.append(int.from_bytes(digest[:8], "big") / 2**64)
    return found


def assignable(lineup: Lineup) -> tuple[Suspect, ...]:
    """Return the suspects a student can be given: those the case names, or all of them."""
    names = lineup.case.assignable
    if not names:
        return lineup.suspects
    known = {suspect.name: suspect for suspect in lineup.suspects}
    for name in names:
        if name not in known:
            raise DrawError(
                f"case {lineup.case.name}: assignable {name!r} does not show the complaint; "
                f"suspects are {', '.join(known)}"
            )
    return tuple(known[name] for name in names)


def draw(lineup: Lineup, key: bytes, student: str) -> Draw:
    """Return what a student gets, drawn in proportion to the likelihoods.

    Parameters
    ----------
    lineup : Lineup
    key : bytes
        The lesson's key, see `lesson_key`.
    student : str
        The student's id.
    """
    case, student = lineup.case, clean_student(student)
    pool = assignable(lineup)
    which, *shares = _numbers(key, case.name, student, 1 + len(case.varies))
    weights = np.cumsum([suspect.likelihood for suspect in pool])
    index = int(np.searchsorted(weights, which * weights[-1], side="right"))
    values = {
        name: min(high, max(low, float(f"{low + share * (high - low):.4g}")))
        for (name, (low, high)), share in zip(case.varies.items(), shares, strict=True)
    }
    tag = hmac.new(key, f"{case.name}|{student}|tag".encode(), hashlib.sha256).hexdigest()[:16]
    return Draw(pool[min(index, len(pool) - 1)].name, values, tag)


def drawn_circuit(case: Case, lineup: Lineup, drawn: Draw) -> Circuit:
    """Return the student's vehicle with its hidden cause."""
    return lineup.suspects[lineup.index(drawn.cause)].on(sound_circuit(case, drawn))


def sound_circuit(case: Case, drawn: Draw) -> Circuit:
    """Return the student's vehicle as it would be without the hidden cause."""
    return set_values(case.circuit, drawn.values)
