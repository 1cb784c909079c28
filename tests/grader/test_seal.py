"""A lesson key comes out of its seal as it went in, does not show, and every damage is named."""

import base64
import hashlib
import json

import pytest
from hypothesis import given
from hypothesis import strategies as st

from grader.draw import lesson_key
from grader.errors import DrawError, SealError
from grader.seal import LONGEST, seal, unseal

LESSON = "06-two-circuits-in-one-can"
KEY = lesson_key(b"a course", LESSON)


def changed(**fields: object) -> str:
    return json.dumps({**json.loads(seal(KEY, LESSON)), **fields})


@given(st.binary(min_size=32, max_size=32), st.text(min_size=1, max_size=60))
def test_what_was_sealed_comes_out(key: bytes, lesson: str) -> None:
    lesson = lesson.encode("utf-8", "ignore").decode() or "x"  # no lone surrogates in a file
    assert unseal(seal(key, lesson)) == (lesson, key)


def test_the_key_does_not_show() -> None:
    text = seal(KEY, LESSON)
    raw = base64.b64decode(json.loads(text)["sealed"])
    shown = [KEY.hex(), KEY.hex().upper(), base64.b64encode(KEY).decode().rstrip("=")]
    assert [spelling for spelling in shown if spelling in text] == []
    assert all(KEY[i : i + 4] not in raw for i in range(len(KEY) - 3))


def test_sealing_twice_gives_the_same_text() -> None:
    assert seal(KEY, LESSON) == seal(KEY, LESSON)


def test_every_changed_character_is_noticed() -> None:
    sealed = json.loads(seal(KEY, LESSON))["sealed"]
    for place, old in enumerate(sealed.rstrip("=")):
        new = "A" if old != "A" else "B"
        text = changed(sealed=sealed[:place] + new + sealed[place + 1 :])
        if base64.b64decode(json.loads(text)["sealed"]) == base64.b64decode(sealed):
            continue  # base64's last character has bits that carry nothing
        with pytest.raises(SealError, match="damaged"):
            unseal(text)


@pytest.mark.parametrize(
    ("text", "problem"),
    [
        ("", "damaged: not JSON"),
        (seal(KEY, LESSON)[:-20], "damaged: not JSON"),
        ("[" * 20_000, "not a sealed lesson"),
        ("[" * (LONGEST - 1), "damaged: not JSON"),
        ("[]", "not a sealed lesson"),
        ('{"format": "record"}', "not a sealed lesson"),
        (changed(version=0), "too old"),
        (changed(version="1"), "too old"),
        (changed(version=2), "too new: update halfsplit"),
        (changed(lesson="07-half-and-half-again"), "does not check"),
        (changed(sealed=""), "does not check"),
        (changed(sealed="%%%"), "not base64"),
        (changed(sealed="é"), "not base64"),
        (changed(sealed=5), "damaged"),
        (changed(extra="x"), "damaged.*extra"),
    ],
)
def test_what_is_no_whole_seal_is_refused_in_one_line(text: str, problem: str) -> None:
    with pytest.raises(SealError, match=problem) as caught:
        unseal(text, "lesson.sealed.json")
    assert str(caught.value).startswith("lesson.sealed.json: ")
    assert "\n" not in str(caught.value)


@pytest.mark.parametrize(("key", "lesson"), [(b"short", LESSON), (KEY, "")])
def test_only_a_lessons_key_is_sealed(key: bytes, lesson: str) -> None:
    with pytest.raises(SealError, match="32 bytes"):
        seal(key, lesson)


# The key itself


def hmac_sha256(key: bytes, message: bytes) -> bytes:
    """HMAC as RFC 2104, section 2, defines it, for keys of at most one block."""
    block = key.ljust(64, b"\0")
    inner = hashlib.sha256(bytes(b ^ 0x36 for b in block) + message).digest()
    return hashlib.sha256(bytes(b ^ 0x5C for b in block) + inner).digest()


def test_our_reading_of_the_standard_gives_its_published_value() -> None:
    # RFC 4231, test case 2 (from memory; the formula confirms it)
    published = "5bdcc146bf60754e6a042426089575c75a003f089d2739839dec58b964ec3843"
    assert hmac_sha256(b"Jefe", b"what do ya want for nothing?").hex() == published


def test_the_lesson_key_is_what_the_design_says() -> None:
    assert lesson_key(b"a course", LESSON) == hmac_sha256(b"a course", b"lesson|" + LESSON.encode())


def test_lessons_and_courses_have_different_keys() -> None:
    keys = {lesson_key(secret, lesson) for secret in (b"a", b"b") for lesson in ("01", "02")}
    assert len(keys) == 4


def test_an_empty_secret_is_refused() -> None:
    with pytest.raises(DrawError, match="at least one byte"):
        lesson_key(b"", LESSON)
