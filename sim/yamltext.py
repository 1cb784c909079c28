"""YAML 1.2 text -> plain data in which every scalar is a string, with the line of every entry.

So that `on`, `1E9` and `12` stay what the author wrote until the field that holds them says what
they are. Refused, politely: anchors and aliases (a few lines of them can unfold into gigabytes),
tags, more than 1 MB, more than 12 levels, a key given twice, a key that is not a plain text.
"""

from __future__ import annotations

import stat
from dataclasses import dataclass, field
from functools import lru_cache
from pathlib import Path
from typing import Any

from ruamel.yaml import YAML
from ruamel.yaml.error import MarkedYAMLError, YAMLError
from ruamel.yaml.nodes import MappingNode, Node, ScalarNode, SequenceNode
from ruamel.yaml.reader import ReaderError

from sim.mistakes import Mistake

LARGEST = 1_000_000  # bytes
DEEPEST = 12  # levels
REMEMBERED = 32  # texts; a lesson opens one circuit ten times, and parsing is most of reading it
#: What a value may be without saying so.
PLAIN_TAGS = frozenset(
    f"tag:yaml.org,2002:{kind}"
    for kind in ("map", "seq", "str", "int", "float", "bool", "null", "timestamp", "merge", "value")
)

#: What to do about what YAML's own words say of a mistake, by how those begin.
ADVICE = {
    "mapping values are not allowed": "a colon is missing after a name before it, or a text with "
    "a colon in it needs quotes",
    "could not find expected ':'": "a colon is missing after the name in this line",
    "expected <block end>, but found '<scalar>'": "a text with a quote or an apostrophe in "
    "it needs double quotes around all of it",
    "expected <block end>": "indent the entries of one section alike, with spaces",
    "expected ',' or": "the bracket opened in line {opened} is not closed, or a text in it needs "
    "quotes (around a comma, a colon or an apostrophe: double ones)",
    "found unexpected end of stream": "the quote opened in line {opened} is not closed",
    "found undefined alias": "a text that begins with * needs quotes",
}

Entry = str | list["Entry"] | dict[str, "Entry"]
Where = tuple[str | int, ...]


class TextError(Exception):
    """A mistake in a file, with its line; callers turn it into an error of their own kind."""


@dataclass(slots=True)
class Document:
    """Parsed text: `data` with strings at the leaves, and the line of each entry.

    `mistakes` holds what was wrong with single entries; those entries are left out of `data`.
    """

    source: str
    data: dict[str, Any]
    lines: dict[Where, int] = field(default_factory=dict)
    mistakes: list[Mistake] = field(default_factory=list)

    def line(self, *where: str | int) -> int:
        """Return the line of an entry, or of the nearest entry above it."""
        while where and where not in self.lines:
            where = where[:-1]
        return self.lines.get(where, 1)

    def at(self, *where: str | int) -> str:
        """Return ``file:line`` of an entry, or of the nearest entry above it."""
        return f"{self.source}:{self.line(*where)}"

    def mistake(self, where: Where, text: str, *, warning: bool = False) -> Mistake:
        """Return a mistake at an entry."""
        return Mistake(self.line(*where), text, self.source, warning)


def read_document(path: Path, *, tolerant: bool = False) -> Document:
    """Read and parse a file.

    Parameters
    ----------
    path : Path
    tolerant : bool
        Keep mistakes in single entries in `Document.mistakes` instead of raising the first.

    Raises
    ------
    TextError
        The file cannot be read, or is not acceptable YAML.
    """
    try:
        status = path.stat()
        if not stat.S_ISREG(status.st_mode):  # a pipe or a device may have no end
            what = "a folder" if stat.S_ISDIR(status.st_mode) else "no plain file"
            raise TextError(f"{path}: cannot be read (it is {what}); name the file itself")
        if status.st_size > LARGEST:
            got = f"{path.name}: got {status.st_size} bytes"
            raise TextError(f"{got}, allowed at most {LARGEST}; split the file")
        text = path.read_text(encoding="utf-8")
    except OSError as error:
        message = f"{path}: cannot be read ({error.strerror}); check the name"
        raise TextError(message) from error
    except UnicodeDecodeError as error:
        before = error.object[: error.start].count(b"\n")
        message = (
            f"{path.name}:{before + 1}: byte {error.start} is not UTF-8; save the file as UTF-8"
        )
        raise TextError(message) from error
    return parse_document(text, path.name, tolerant=tolerant)


def parse_document(text: str, source: str, *, tolerant: bool = False) -> Document:
    """Parse text; `source` is the name shown in messages."""
    node = _compose(text, source)
    document = Document(source, {})
    if not isinstance(node, MappingNode):
        got = "an empty file" if node is None else "a list" if _is_list(node) else "one word"
        message = f"{source}:1: expected entries of the form `key: value`, got {got}"
        raise TextError(message)
    data = _plain(document, node, ())
    document.data = data if isinstance(data, dict) else {}
    if document.mistakes and not tolerant:
        raise TextError(str(document.mistakes[0]))
    return document


@lru_cache(maxsize=REMEMBERED)
def _compose(text: str, source: str) -> Node | None:
    """Return the tree of a text, which nobody changes; what is no YAML is told each time."""
    try:
        node: Node | None = YAML(typ="safe", pure=True).compose(text)
    except MarkedYAMLError as error:
        raise TextError(_not_yaml(error, text, source)) from error
    except ReaderError as error:
        line = text.count("\n", 0, error.position) + 1
        message = (
            f"{source}:{line}: not YAML: the character U+{ord(text[error.position]):04X} is not "
            "allowed; a circuit or case is a plain text file"
        )
        raise TextError(message) from error
    except RecursionError as error:
        message = f"{source}:1: not YAML: nested far deeper than {DEEPEST} levels"
        raise TextError(message) from error
    except (YAMLError, ValueError) as error:
        message = f"{source}:1: not YAML: {type(error).__name__}"
        raise TextError(message) from error
    return node


def _not_yaml(error: MarkedYAMLError, text: str, source: str) -> str:
    """Return what is wrong with a text that is no YAML, and what to do about it."""
    problem = error.problem or error.context or ""
    begun = error.context_mark or error.problem_mark
    # The name without its colon is where the entry began; YAML notices a line later.
    mark = begun if problem.startswith("could not find") else error.problem_mark or begun
    line = mark.line + 1 if mark else 1
    message = f"{source}:{line}: not YAML: {problem}"
    if mark and "\t" in "".join(text.splitlines()[mark.line : mark.line + 1]):
        return f"{message}; indent and separate with spaces, not with tabs"
    for start, advice in ADVICE.items():
        if problem.startswith(start):
            return f"{message}; {advice.format(opened=begun.line + 1 if begun else line)}"
    return message


def _is_list(node: Node) -> bool:
    return isinstance(node, SequenceNode)


def _refused(document: Document, line: int, text: str) -> str:
    """Note what is wrong with an entry; it is read as empty."""
    document.mistakes.append(Mistake(line, text, document.source))
    return ""


def _plain(document: Document, node: Node, where: Where) -> Entry:
    line = node.start_mark.line + 1
    document.lines.setdefault(where, line)
    if node.anchor is not None:  # not followed: what it unfolds into may be endless
        at = document.lines[where]
        text = "anchors and aliases (& and *) are not allowed; write it out"
        return _refused(document, at, text)
    if len(where) > DEEPEST:
        return _refused(document, line, f"nested deeper than {DEEPEST} levels")
    if node.tag not in PLAIN_TAGS:
        text = f"the tag {node.tag} is not allowed; write plain text, in quotes if need be"
        return _refused(document, line, text)
    if isinstance(node, ScalarNode):
        return str(node.value)
    if isinstance(node, SequenceNode):
        return [_plain(document, item, (*where, index)) for index, item in enumerate(node.value)]
    found: dict[str, Entry] = {}
    first: dict[str, int] = {}
    for key_node, value_node in node.value:
        key_line = key_node.start_mark.line + 1
        if not isinstance(key_node, ScalarNode) or key_node.anchor is not None:
            _refused(document, key_line, "a key must be plain text")
            continue
        key = str(key_node.value)
        if key in found:
            text = f"{key!r} is given twice; keep one (the first is in line {first[key]})"
            _refused(document, key_line, text)
            continue
        first[key] = document.lines[(*where, key)] = key_line
        found[key] = _plain(document, value_node, (*where, key))
    return found
