"""The catalogue holds every text of the house, and every language says all of it."""

import ast
import re
import shlex
import string
import subprocess
import sys
from collections.abc import Iterator
from pathlib import Path

import pytest
from babel.messages.catalog import Catalog, Message
from babel.messages.pofile import read_po

TOP = Path(__file__).parent.parent
TEMPLATE = TOP / "sim" / "locale" / "halfsplit.pot"
LANGUAGES = sorted(TOP.glob("sim/locale/*/LC_MESSAGES/halfsplit.po"))
SAYING = {"say", "say_in", "say_many", "msg", "msg_in"}
JS = re.compile(r'\b(?:t|tn|weave|msg)\(\s*"((?:[^"\\]|\\.)*)"(?:,\s*"((?:[^"\\]|\\.)*)")?')


def read(file: Path) -> Catalog:
    with file.open("rb") as opened:
        return read_po(opened, abort_invalid=True)


def messages(catalogue: Catalog) -> dict[tuple, Message]:
    return {(one.context, one.id): one for one in catalogue if one.id}


def texts() -> set[str]:
    """Give every English text of the template, singular and plural apart."""
    found = set()
    for _context, name in messages(read(TEMPLATE)):
        found |= {name} if isinstance(name, str) else set(name)
    return found


def command() -> list[str]:
    """Give the line of DEVELOPERS.md that writes the template, for this Python."""
    text = (TOP / "DEVELOPERS.md").read_text("utf-8").replace("\\\n", " ")
    line = next(one for one in text.splitlines() if "pybabel extract" in one)
    return [sys.executable, "-m", "babel.messages.frontend", *shlex.split(line)[1:]]


def test_the_template_is_what_the_documented_line_writes(tmp_path: Path) -> None:
    line = command()
    where = line.index("-o") + 1
    assert (TOP / line[where]) == TEMPLATE
    line[where] = str(tmp_path / "fresh.pot")
    subprocess.run(line, cwd=TOP, check=True, capture_output=True)
    fresh = (tmp_path / "fresh.pot").read_text("utf-8")
    assert fresh.splitlines() == TEMPLATE.read_text("utf-8").splitlines()


def python_texts(tree: ast.AST) -> Iterator[str]:
    """Give the literal texts that a module says; of a text in a context, not the context."""
    for node in ast.walk(tree):
        if isinstance(node, ast.Call) and isinstance(node.func, ast.Name):
            first = 1 if node.func.id.endswith("_in") else 0
            if node.func.id in SAYING:
                for one in node.args[first:]:
                    if isinstance(one, ast.Constant) and isinstance(one.value, str):
                        yield one.value


def test_no_text_is_hidden_from_the_template() -> None:
    """Inside of another text the extractor sees nothing: two readers that are not its own."""
    known, hidden = texts(), []
    folders = [TOP / "sim", TOP / "grader", TOP / "lessons" / "workbench"]
    for file in sorted(file for folder in folders for file in folder.rglob("*.py")):
        said = python_texts(ast.parse(file.read_text("utf-8")))
        hidden += [f"{file.name}: {text}" for text in said if text not in known]
    for file in sorted((TOP / "lessons" / "workbench").rglob("*.js")):
        said = (one for match in JS.finditer(file.read_text("utf-8")) for one in match.groups())
        hidden += [f"{file.name}: {text}" for text in said if text and text not in known]
    assert hidden == []


def test_a_hidden_text_would_be_seen() -> None:
    assert list(python_texts(ast.parse("x = f\"{say('never seen')}\""))) == ["never seen"]
    assert [match[1] for match in JS.finditer('h(1, t("never seen"), tn("one", "two", 2))')] == [
        "never seen",
        "one",
    ]


def places(text: str) -> list[str]:
    return sorted(name for _text, name, _form, _as in string.Formatter().parse(text) if name)


@pytest.mark.parametrize("file", LANGUAGES, ids=lambda file: file.parents[1].name)
def test_a_language_says_every_text_with_the_same_places(file: Path) -> None:
    theirs, faults = messages(read(file)), []
    template = messages(read(TEMPLATE))
    assert theirs.keys() == template.keys()
    for key, message in theirs.items():
        english = [message.id] if isinstance(message.id, str) else list(message.id)
        said = [message.string] if isinstance(message.string, str) else list(message.string)
        if message.fuzzy or not all(one.strip() for one in said):
            faults.append(f"{key}: fuzzy, or not said")
        elif any(places(one) != places(english[-1]) for one in said):
            faults.append(f"{key}: other places in {said}")
        elif any(one[:1].isspace() or one[-1:].isspace() for one in (*said, *english)):
            faults.append(f"{key}: a space at an end, where pieces would be glued")
    assert faults == []
    assert [message.locations for message in theirs.values()] == [
        message.locations for message in template.values()
    ]


def test_german_is_there_and_addresses_nobody() -> None:
    assert [file.parents[1].name for file in LANGUAGES] == ["de"]
    addressed = re.compile(r"\b(?:[Dd]u|[Dd]ich|[Dd]ir|[Dd]ein\w*)\b")
    said = [str(one.string) for one in messages(read(LANGUAGES[0])).values()]
    assert [text for text in said if addressed.search(text)] == []
