"""Pieces of JSON Schema (draft 7, which most editors know) for files of text with units.

An editor reads YAML with types (`12` is a number to it, `off` may be a truth value), where
halfsplit reads text; so what is text here may be any scalar there, as long as its text would do.
"""

from __future__ import annotations

import re
from collections.abc import Mapping
from typing import Any

from sim.parts.family import Parameter
from sim.quantity import UNITS, write

DIALECT = "http://json-schema.org/draft-07/schema#"  # the dialect's name, not an address
Schema = dict[str, Any]
NUMBER = r"[-+]?(\d+([ \u202f]\d{3})*(\.\d*)?|\.\d+)([eE][-+]?\d+)?"


def scalar(description: str = "") -> Schema:
    """Return the schema of a text that an editor may take for something else."""
    types = ["string", "number", "boolean", "null"]
    return described({"type": types}, description)


def described(schema: Schema, description: str) -> Schema:
    """Return a schema with a description, if there is one."""
    return {**schema, "description": description} if description else schema


def quantity(kind: str, description: str = "") -> Schema:
    """Return the schema of a number with a unit of a kind, such as ``30 A``."""
    units = "|".join(re.escape(unit) for unit in sorted(UNITS[kind], key=len, reverse=True))
    bare = ["number"] if "" in UNITS[kind] else []
    pattern = rf"^\s*{NUMBER}\s*({units})\s*$"
    return described({"type": ["string", *bare], "pattern": pattern}, description)


def parameter(key: str, one: Parameter) -> Schema:
    """Return the schema of a part's parameter, its kind, units and default in the description."""
    units = ", ".join(unit or "no unit" for unit in UNITS.get(one.quantity, ()))
    what = f"{one.quantity} in {units}" if units else one.quantity
    default = "" if one.default is None else f"; default {_written(one)}"
    text = f"{key}: {what}{default}"
    if one.quantity == "flag":
        return {"enum": ["yes", "no"], "description": f"{key}: yes or no{default}"}
    if one.words:
        return {"enum": list(one.words), "description": f"{key}: {' or '.join(one.words)}{default}"}
    if one.quantity == "text":
        return scalar(text)
    return quantity(one.quantity, text)


def _written(one: Parameter) -> str:
    if isinstance(one.default, bool):
        return "yes" if one.default else "no"
    if isinstance(one.default, str):
        return one.default or "nothing"
    return write(float(one.default or 0.0), one.quantity)


def loosened(schema: Any) -> Any:  # noqa: ANN401 -- any piece of JSON
    """Return a schema in which every plain text may be any scalar."""
    if isinstance(schema, Mapping):
        if schema.get("type") == "string" and "pattern" not in schema:
            rest = {key: loosened(value) for key, value in schema.items() if key != "type"}
            return {**rest, **scalar()}
        return {key: loosened(value) for key, value in schema.items()}
    if isinstance(schema, list):
        return [loosened(value) for value in schema]
    return schema


def finished(schema: Schema, title: str, form: str, version: int) -> Schema:
    """Return the schema of a whole file: its dialect, title and header."""
    head: dict[str, Schema] = {
        "format": {"const": form},
        "version": {"enum": [version, str(version)]},
    }
    whole: Schema = {"$schema": DIALECT, **loosened(schema), "title": title}
    for key, value in head.items():
        whole["properties"][key] = described(value, whole["properties"][key].get("description", ""))
    return whole
