"""YAML 1.2 text -> plain data in which every scalar is a string, with the line of every entry.

So that `on`, `1E9` and `12` stay what the author wrote until the field that holds them says what
they are. Refused, politely: anchors and aliases (a few lines of them can unfold into gigabytes),
tags, more than 1 MB, more than 12 levels, a key given twice, a key that is not a plain text.
"""

from __future__ import annotations

from dataclasses import dataclass, field
from pathlib import Path
from typing import Any

from pydantic import ValidationError
from ruamel.yaml import YAML
from ruamel.yaml.error import MarkedYAMLError, YAMLError
from ruamel.yaml.nodes import MappingNode, Node, ScalarNode, SequenceNode

LARGEST = 1_000_000  # bytes
DEEPEST = 12  # levels

Entry = str | list["Entry"] | dict[str, "Entry"]
Where = tuple[str | int, ...]


class TextError(Exception):
    """A mistake in a file, with its line; callers turn it into an error of their own kind."""


@dataclass(slots=True)
class Document:
    """Parsed text: `data` with strings at the leaves, and the line of each entry."""

    source: str
    data: dict[str, Any]
    lines: dict[Where, int] = field(default_factory=dict)

    def at(self, *where: str | int) -> str:
        """Return ``file:line`` of an entry, or of the nearest entry above it."""
        while where and where not in self.lines:
            where = where[:-1]
        return f"{self.source}:{self.lines.get(where, 1)}"


def read_document(path: Path) -> Document:
    """Read and parse a file.

    Raises
    ------
    TextError
        The file cannot be read, or is not acceptable YAML.
    """
    try:
        size = path.stat().st_size
        if size > LARGEST:
            message = f"{path.name}: got {size} bytes, allowed at most {LARGEST}; split the file"
            raise TextError(message)
        text = path.read_text(encoding="utf-8")
    except OSError as error:
        message = f"{path}: cannot be read ({error.strerror}); check the name"
        raise TextError(message) from error
    except UnicodeDecodeError as error:
        message = f"{path.name}: byte {error.start} is not UTF-8; save the file as UTF-8"
        raise TextError(message) from error
    return parse_document(text, path.name)


def parse_document(text: str, source: str) -> Document:
    """Parse text; `source` is the name shown in messages."""
    try:
        node = YAML(typ="safe", pure=True).compose(text)
    except MarkedYAMLError as error:
        line = error.problem_mark.line + 1 if error.problem_mark else 1
        message = f"{source}:{line}: not YAML: {error.problem or error.context}"
        raise TextError(message) from error
    except (YAMLError, RecursionError, ValueError) as error:
        message = f"{source}:1: not YAML: {type(error).__name__}"
        raise TextError(message) from error
    document = Document(source, {})
    if not isinstance(node, MappingNode):
        message = f"{source}:1: expected entries of the form `key: value`"
        raise TextError(message)
    data = _plain(document, node, ())
    document.data = data if isinstance(data, dict) else {}
    return document


def _plain(document: Document, node: Node, where: Where) -> Entry:
    line = node.start_mark.line + 1
    document.lines.setdefault(where, line)
    place = f"{document.source}:{line}"
    if node.anchor is not None:
        message = f"{place}: anchors and aliases (& and *) are not allowed; write it out"
        raise TextError(message)
    if len(where) > DEEPEST:
        message = f"{place}: nested deeper than {DEEPEST} levels"
        raise TextError(message)
    if isinstance(node, ScalarNode):
        return str(node.value)
    if isinstance(node, SequenceNode):
        return [_plain(document, item, (*where, index)) for index, item in enumerate(node.value)]
    found: dict[str, Entry] = {}
    for key_node, value_node in node.value:
        key_line = key_node.start_mark.line + 1
        if not isinstance(key_node, ScalarNode):
            message = f"{document.source}:{key_line}: a key must be plain text"
            raise TextError(message)
        key = str(key_node.value)
        if key in found:
            message = f"{document.source}:{key_line}: {key!r} is given twice; keep one"
            raise TextError(message)
        document.lines[(*where, key)] = key_line
        found[key] = _plain(document, value_node, (*where, key))
    return found


def validation_text(document: Document, error: ValidationError) -> str:
    """Return the first complaint of a pydantic model as one line with file and line."""
    first = error.errors(include_url=False)[0]
    where = tuple(first["loc"])
    name = ".".join(str(step) for step in where) or "file"
    got = first.get("input")
    shown = "" if first["type"] == "missing" else f", got {str(got)[:60]!r}"
    words = {
        "missing": "is missing; every file needs it",
        "extra_forbidden": "is not a key that belongs here; check its spelling",
        "string_type": "must be plain text",
        "dict_type": "must be entries of the form `key: value`",
        "list_type": "must be a list",
    }
    what = words.get(first["type"], first["msg"].removeprefix("Value error, "))
    return f"{document.at(*where)}: {name} {what}{shown}"
