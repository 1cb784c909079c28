"""The key of a released lesson, sealed against peeking.

A released lesson carries the lesson key (`grader.draw.lesson_key`), from which the hidden cause of
every student in that lesson follows; the course secret stays with the instructor. At home the
key has to be on the student's machine, so a seal is an envelope, not a safe: it keeps a cause
from being read by accident or out of curiosity, and it shows damage. Whoever takes this program
apart can open it, and with the key can also find other students' causes in that lesson; not
those of another lesson, and not the course secret. The grade does not rest on it: what counts is
the path in the record.

The sealed text is base64 of ``(key + check) XOR stream``; check is the first 8 bytes of
SHA-256(lesson, 0, key), stream is SHA-256(lesson, 0, counter) for counter 0, 1, ...
"""

from __future__ import annotations

import base64
import binascii
import hashlib
import json
from typing import Any

from grader.errors import SealError

FORMAT, VERSION = "sealed-lesson", 1
KEY_BYTES = 32  # of HMAC-SHA256
CHECK_BYTES = 8
LONGEST = 10_000  # characters; a sealed lesson has some 300
NOTE = "The key of this lesson, sealed so that nobody reads a hidden cause by accident."
NEXT = "get the lesson again from whoever gave it to you"


def seal(key: bytes, lesson: str) -> str:
    """Return the key of a lesson as text that says nothing at a glance.

    Parameters
    ----------
    key : bytes
        Lesson key, 32 bytes.
    lesson : str
        The lesson's id, such as ``"06-two-circuits-in-one-can"``; readable in the text.

    Raises
    ------
    SealError
        The key is no lesson key, or the lesson has no id.
    """
    if len(key) != KEY_BYTES or not lesson:
        raise SealError(
            f"lesson {lesson!r} with a key of {len(key)} bytes: a seal takes a lesson's id and its "
            f"key of {KEY_BYTES} bytes, as lesson_key makes it"
        )
    sealed = _mask(key + _check(key, lesson), lesson)
    fields = {
        "format": FORMAT,
        "version": VERSION,
        "note": NOTE,
        "lesson": lesson,
        "sealed": base64.b64encode(sealed).decode("ascii"),
    }
    return json.dumps(fields, indent=1, ensure_ascii=False) + "\n"


def unseal(text: str, name: str = "sealed lesson") -> tuple[str, bytes]:
    """Return the lesson's id and key.

    Parameters
    ----------
    text : str
        What `seal` gave.
    name : str
        Shown in messages: the file it came from.

    Raises
    ------
    SealError
        It is no sealed lesson, too old or too new for this program, or damaged.
    """
    fields = _fields(text, name)
    lesson = fields["lesson"]
    try:
        sealed = base64.b64decode(fields["sealed"].encode("ascii"), validate=True)
    except (binascii.Error, UnicodeEncodeError):
        raise SealError(f"{name}: damaged: the sealed part is not base64; {NEXT}") from None
    opened = _mask(sealed, lesson)
    key, check = opened[:KEY_BYTES], opened[KEY_BYTES:]
    if len(key) != KEY_BYTES or check != _check(key, lesson):
        raise SealError(f"{name}: damaged: the key of lesson {lesson!r} does not check; {NEXT}")
    return lesson, key


def _fields(text: str, name: str) -> dict[str, str]:
    """Return the text fields of a sealed lesson of this version."""
    try:
        data: Any = json.loads(text) if len(text) <= LONGEST else None
    except (ValueError, RecursionError):
        raise SealError(f"{name}: damaged: not JSON; {NEXT}") from None
    if not isinstance(data, dict) or data.get("format") != FORMAT:
        raise SealError(f"{name}: not a sealed lesson: its format is not {FORMAT!r}; {NEXT}")
    _check_version(data.get("version"), name)
    wanted = ("note", "lesson", "sealed")
    known = {"format", "version", *wanted}
    if set(data) != known or not all(isinstance(data[key], str) for key in wanted):
        odd = ", ".join(sorted(set(data) ^ known)) or "a field that is no text"
        raise SealError(f"{name}: damaged: missing, unknown or wrong: {odd}; {NEXT}")
    return {key: data[key] for key in wanted}


def _check_version(version: object, name: str) -> None:
    if version == VERSION and version is not True:
        return
    newer = isinstance(version, int) and version > VERSION
    word = "new: update halfsplit" if newer else f"old: {NEXT}"
    raise SealError(f"{name}: sealed-lesson version {version!r} is too {word} (reads {VERSION})")


def _check(key: bytes, lesson: str) -> bytes:
    return hashlib.sha256(lesson.encode() + b"\0" + key).digest()[:CHECK_BYTES]


def _mask(data: bytes, lesson: str) -> bytes:
    """Return the data with the lesson's stream laid over it; twice gives the data back."""
    stream = b""
    while len(stream) < len(data):
        counter = len(stream) // 32
        stream += hashlib.sha256(lesson.encode() + b"\0" + counter.to_bytes(4, "big")).digest()
    return bytes(a ^ b for a, b in zip(data, stream, strict=False))
