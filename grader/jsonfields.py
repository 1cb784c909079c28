"""Strict reading of JSON objects: known keys, values of the right kind, one clear line."""

from __future__ import annotations

import json
import math
from typing import TYPE_CHECKING

from grader.errors import ProblemError

if TYPE_CHECKING:
    from collections.abc import Sequence


def read_json(text: str) -> object:
    """Parse JSON as RFC 8259 has it: no NaN, no key twice.

    Raises
    ------
    ProblemError
        With line and column where it is no JSON.
    """
    try:
        return json.loads(text, object_pairs_hook=_unique_keys, parse_constant=_refuse_constant)
    except json.JSONDecodeError as error:
        where = f"line {error.lineno} column {error.colno}"
        raise ProblemError(f"not JSON at {where}: {error.msg}; correct the text there") from None
    except RecursionError:
        raise ProblemError("not a policy problem: lists or objects nested too deep") from None
    except ValueError as error:  # a whole number of thousands of digits
        raise ProblemError(f"not JSON that can be read: {error}".splitlines()[0]) from None


def _unique_keys(pairs: list[tuple[str, object]]) -> dict[str, object]:
    found = dict(pairs)
    if len(found) < len(pairs):
        keys = [key for key, _ in pairs]
        twice = next(key for key in keys if keys.count(key) > 1)
        raise ProblemError(f"key {twice!r} stands twice in one object; keep one")
    return found


def _refuse_constant(constant: str) -> object:
    raise ProblemError(f"{constant} is no number in JSON; write a finite number")


class Fields:
    """One JSON object whose keys are known beforehand.

    Parameters
    ----------
    data : object
        What `read_json` gave at this place.
    where : str
        Place in the file, for messages: ``"tests[3]"``.
    required, optional : sequence of str
        Keys that must, and that may, be there.

    Raises
    ------
    ProblemError
        For anything but an object with these keys.
    """

    def __init__(
        self, data: object, where: str, required: Sequence[str], optional: Sequence[str] = ()
    ) -> None:
        if not isinstance(data, dict):
            raise ProblemError(f"{where}: got {kind_of(data)}, must be an object")
        allowed = [*required, *optional]
        for key in data:
            if key not in allowed:
                raise ProblemError(f"{where}: unknown key {key!r}; allowed: {', '.join(allowed)}")
        for key in required:
            if key not in data:
                raise ProblemError(f"{where}: key {key!r} is missing; add it")
        self._data: dict[str, object] = data
        self.where = where

    def __contains__(self, key: str) -> bool:
        """Tell whether an optional key is there."""
        return key in self._data

    def text(self, key: str) -> str:
        """Give a string."""
        value = self._data[key]
        if not isinstance(value, str):
            raise ProblemError(f"{self.where}.{key}: got {kind_of(value)}, must be a string")
        return value

    def number(self, key: str) -> float:
        """Give a finite number."""
        value = self._data[key]
        if isinstance(value, bool) or not isinstance(value, int | float):
            raise ProblemError(f"{self.where}.{key}: got {kind_of(value)}, must be a number")
        try:
            number = float(value)
        except OverflowError:
            number = math.inf
        if not math.isfinite(number):
            raise ProblemError(f"{self.where}.{key}: the number is too large; at most about 1e308")
        return number

    def whole(self, key: str) -> int:
        """Give a whole number."""
        value = self._data[key]
        if isinstance(value, bool) or not isinstance(value, int):
            raise ProblemError(f"{self.where}.{key}: got {kind_of(value)}, must be a whole number")
        return value

    def items(self, key: str) -> list[object]:
        """Give a list."""
        value = self._data[key]
        if not isinstance(value, list):
            raise ProblemError(f"{self.where}.{key}: got {kind_of(value)}, must be a list")
        return value

    def texts(self, key: str) -> tuple[str, ...]:
        """Give a list of strings."""
        return tuple(self._label(key, index, (str,)) for index in range(len(self.items(key))))

    def labels(self, key: str) -> tuple[str, ...]:
        """Give a list of labels: strings, or whole numbers, which count as their digits."""
        return tuple(self._label(key, index, (str, int)) for index in range(len(self.items(key))))

    def _label(self, key: str, index: int, kinds: tuple[type, ...]) -> str:
        value = self.items(key)[index]
        if isinstance(value, bool) or not isinstance(value, kinds):
            wanted = "a string" if kinds == (str,) else "a string or a whole number"
            where = f"{self.where}.{key}[{index}]"
            raise ProblemError(f"{where}: got {kind_of(value)}, must be {wanted}")
        return str(value)


def kind_of(value: object) -> str:
    """Name a JSON value as a message should."""
    if value is None:
        return "null"
    if isinstance(value, bool):
        return "true" if value else "false"
    if isinstance(value, dict):
        return "an object"
    if isinstance(value, list):
        return "a list"
    if isinstance(value, str):
        return f"the string {value[:40]!r}"
    return f"the number {value!r}"[:60]
