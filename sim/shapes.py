"""Shapes of files: pydantic models in which every scalar is text, and what they complain of.

All complaints about one file are gathered: an entry of the wrong shape is left out, and the rest is
looked at again.
"""

from __future__ import annotations

from collections.abc import Mapping
from types import UnionType
from typing import Any, TypeVar, Union, get_args, get_origin

from pydantic import BaseModel, ConfigDict, ValidationError

from sim.mistakes import Mistake, nearest, perhaps
from sim.yamltext import Document, Entry, Where

WORDS = {
    "extra_forbidden": "is not a key that belongs here; check its spelling",
    "string_type": "must be plain text",
    "dict_type": "must be entries of the form `key: value`",
    "model_type": "must be entries of the form `key: value`",
    "list_type": "must be a list",
}
SHOWN = 60  # characters of what was written that a message repeats
ATTEMPTS = 50  # each leaves out at least one entry; more layers of mistakes no file has

Model = TypeVar("Model", bound=BaseModel)


class Strict(BaseModel):
    """An entry that knows all of its keys."""

    model_config = ConfigDict(extra="forbid")


def keys_of(model: type[BaseModel]) -> tuple[str, ...]:
    """Return the keys of an entry as they are written."""
    return tuple(field.alias or name for name, field in model.model_fields.items())


def shape_mistakes(
    document: Document, model: type[Model]
) -> tuple[Model | None, tuple[Mistake, ...], frozenset[str]]:
    """Return the file's entries, every complaint about their shape, and the sections lost by it.

    Entries that have the wrong shape are left out of what is returned; it is None where even that
    does not help.
    """
    found: list[Mistake] = []
    lost: set[str] = set()
    data: dict[str, Entry] = document.data
    for _attempt in range(ATTEMPTS):
        try:
            return model.model_validate(data), tuple(found), frozenset(lost)
        except ValidationError as error:
            found += _complaints(document, error, model)
            for one in reversed(error.errors(include_url=False)):  # so that indices stay true
                where = tuple(one["loc"])
                data = _left_out(data, where, one["type"], model)
                if len(where) == 1 and one["type"] != "extra_forbidden":
                    lost.add(str(where[0]))
    return None, tuple(found), frozenset(lost)


def _complaints(
    document: Document, error: ValidationError, model: type[BaseModel]
) -> list[Mistake]:
    """Return one mistake for everything the model complains of.

    A key that is missing beside one that looks like it is a misspelling, and one mistake.
    """
    complaints = [(tuple(one["loc"]), one) for one in error.errors(include_url=False)]
    meant = {
        (*where[:-1], nearest(str(where[-1]), _keys_at(model, where[:-1])))
        for where, one in complaints
        if one["type"] == "extra_forbidden"
    }
    found = []
    refused = {mistake.line for mistake in document.mistakes}  # told already, and left empty
    for where, one in complaints:
        if one["type"] == "missing" and where in meant:
            continue
        if _is_empty(one["type"], one.get("input")) and document.line(*where) in refused:
            continue
        text = _complaint(where, one["type"], one["msg"], one.get("input"))
        if _is_empty(one["type"], one.get("input")):
            text += _what_to_fill(model, where)
        if one["type"] == "extra_forbidden":
            text += perhaps(str(where[-1]), _keys_at(model, where[:-1]))
        found.append(document.mistake(where, text))
    return found


def _complaint(where: Where, kind: str, message: str, got: object) -> str:
    name = ".".join(str(step) for step in where) or "file"
    if kind == "value_error":
        return f"{name}: {message.removeprefix('Value error, ')}"
    if kind == "missing":
        return f"{name} is missing; {'it is needed here' if where[1:] else 'every file needs it'}"
    if kind == "extra_forbidden" and got == "":
        comma = "if it is the rest of a text with a comma in it, put that text in quotes"
        return f"{name} is not a key that belongs here, and has no value; {comma}"
    shown = f", got {got[:SHOWN]!r}" if isinstance(got, str) else ""
    if _is_empty(kind, got):
        shown = ", got nothing; "  # what to do is said by `_what_to_fill`
    return f"{name} {WORDS.get(kind, message)}{shown}"


def _is_empty(kind: str, got: object) -> bool:
    """Tell whether a section has its heading and nothing below it."""
    return got == "" and kind in {"dict_type", "model_type", "list_type"}


def _what_to_fill(model: type[BaseModel], where: Where) -> str:
    """Return what to do about a section without entries: leaving it out may be a mistake too."""
    fields = {field.alias or name: field for name, field in model.model_fields.items()}
    known = fields.get(str(where[0])) if len(where) == 1 else None
    if known is None or not known.is_required():
        return "fill it or leave it out"
    nothing = "[]" if get_origin(known.annotation) is list else "{}"
    return f"fill it, or write {where[0]}: {nothing} if there is nothing to say"


def _keys_at(model: type[BaseModel], where: Where) -> tuple[str, ...]:
    """Return the keys that belong to an entry somewhere below a model."""
    at: Any = model
    for step in where:
        if isinstance(at, type) and issubclass(at, BaseModel):
            fields = {field.alias or name: field for name, field in at.model_fields.items()}
            at = fields[str(step)].annotation if str(step) in fields else None
        elif get_origin(at) in {dict, list}:
            at = get_args(at)[-1]
        if get_origin(at) in {Union, UnionType}:
            at = next((one for one in get_args(at) if one is not type(None)), None)
    return keys_of(at) if isinstance(at, type) and issubclass(at, BaseModel) else ()


def _left_out(
    data: dict[str, Entry], where: Where, kind: str, model: type[BaseModel]
) -> dict[str, Entry]:
    """Return the data without the entry that is wrong; a section is there, but empty."""
    if kind == "extra_forbidden":
        return dict(_without_key(data, where))
    if len(where) > 1:
        return dict(_without_key(data, where[:2]))
    fields = {field.alias or name: field for name, field in model.model_fields.items()}
    origin = get_origin(fields[str(where[0])].annotation)
    empty: Entry = {} if origin is dict else [] if origin is list else ""
    return {**data, str(where[0]): empty}


def _without_key(data: Mapping[str, Entry], where: Where) -> dict[str, Entry]:
    first, *rest = where
    if not rest:
        return {key: value for key, value in data.items() if key != first}
    return {k: _without(v, tuple(rest)) if k == first else v for k, v in data.items()}


def _without(data: Entry, where: Where) -> Entry:
    if isinstance(data, dict):
        return _without_key(data, where)
    if isinstance(data, list):
        first, *rest = where
        if not rest:
            return [value for index, value in enumerate(data) if index != first]
        return [_without(v, tuple(rest)) if i == first else v for i, v in enumerate(data)]
    return data
