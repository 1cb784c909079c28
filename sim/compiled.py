"""The place that knows about numba: compile a function, or leave it be (and `sim.eights`).

Compiled or not, the same source gives the same values; only the speed differs (plain Python is
several hundred times slower, which is why the solver has a second way, in whole arrays). numba
keeps the machine code beside the source and makes it anew when *that file* changes, but it also
pastes functions of other files in; so the stamp it compares is widened here to the content of every
file of the folder that compiles something.
"""

from __future__ import annotations

import functools
import hashlib
from collections.abc import Callable
from pathlib import Path
from typing import Any, TypeVar, cast

import numpy as np

njit: Any
register_jitable: Any
overload: Any
config: Any
try:
    from numba import config, njit
    from numba.extending import overload, register_jitable
except ImportError:
    njit = register_jitable = overload = config = None

Number = Any  #: a number or an array of them
F = TypeVar("F", bound=Callable[..., Any])


def compiled(function: F) -> F:
    """Compile a function of numbers and arrays.

    Parameters
    ----------
    function : callable
        Uses integers, floats, arrays and named tuples of them; integers stay below 2**62, so that
        plain Python (whose numpy numbers warn of overflow) gives the same.

    Returns
    -------
    callable
        The compiled function, or `function` itself where numba is not installed.
    """
    return _compiled(function)


def inlined(function: F) -> F:
    """Compile a function that is pasted into each that calls it, whatever its length.

    So the arrays handed to it are not counted, which is most of what a short one takes.
    """
    return _compiled(function, forceinline=True)


def _compiled(function: F, **options: bool) -> F:
    if njit is None:
        return function
    try:
        dispatcher = njit(cache=True, error_model="numpy", **options)(function)
    except RuntimeError:  # there is no folder that machine code could be written to
        return cast("F", njit(error_model="numpy", **options)(function))
    _widen_stamp(dispatcher, Path(function.__code__.co_filename).parent)
    return cast("F", dispatcher)


def compilable(function: F) -> F:
    """Let compiled functions call a function that stays plain Python for everybody else.

    Its source takes numbers when it is compiled into another function, and arrays when it is not;
    integers wrap around in both.
    """
    return function if register_jitable is None else cast("F", register_jitable(function))


def choose(condition: Number, yes: Number, no: Number) -> Number:
    """Return `yes` where a condition holds and `no` elsewhere; for numbers or for arrays."""
    return np.where(condition, yes, no)


def _choose_number(condition: Number, yes: Number, no: Number) -> Number:  # noqa: ARG001 -- types, for numba
    def number(condition: Number, yes: Number, no: Number) -> Number:
        return yes if condition else no

    return number


if overload is not None:
    overload(choose)(_choose_number)


def compiles() -> bool:
    """Tell whether `compiled` compiles: numba is there, and not told to leave things be."""
    return njit is not None and not config.DISABLE_JIT


def _widen_stamp(dispatcher: object, folder: Path) -> None:
    """Let kept machine code depend on all compiled source of the folder.

    Reaches into numba's own cache object; should numba name it otherwise one day, no more than
    this guard against stale code is lost.
    """
    kept: Any = getattr(getattr(dispatcher, "_cache", None), "_cache_file", None)
    if hasattr(kept, "_source_stamp"):
        kept._source_stamp = _stamp(folder)  # noqa: SLF001


@functools.cache
def _stamp(folder: Path) -> str:
    digest = hashlib.sha256()
    ours = Path(__file__)
    for file in (ours, ours.with_name("eights.py"), *sorted(folder.glob("*.py"))):
        content = file.read_bytes()
        if file.parent == ours.parent or b"from sim.compiled import" in content:
            digest.update(content)
    return digest.hexdigest()
