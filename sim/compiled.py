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
intrinsic: Any
make_array: Any
try:
    from numba import config, njit
    from numba.extending import intrinsic, overload, register_jitable
    from numba.np.arrayobj import make_array
except ImportError:
    njit = register_jitable = overload = config = intrinsic = make_array = None

Number = Any  #: a number or an array of them
Part = Any  #: something of numba's own
F = TypeVar("F", bound=Callable[..., Any])
A = TypeVar("A")


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
    if njit is None:
        return function
    try:
        dispatcher = njit(cache=True, error_model="numpy")(function)
    except RuntimeError:  # there is no folder that machine code could be written to
        return cast("F", njit(error_model="numpy")(function))
    _widen_stamp(dispatcher, Path(function.__code__.co_filename).parent)
    return cast("F", dispatcher)


def inlined(function: F) -> F:
    """Compile a function that is pasted into each that calls it, whatever its length.

    For what is called often and handed much: arrays are not counted then, nor many numbers put
    where the function finds them. Its code is there once for each call in the source.
    """
    if njit is None:
        return function
    return cast("F", njit(error_model="numpy", forceinline=True)(function))


def compilable(function: F) -> F:
    """Let compiled functions call a function that stays plain Python for everybody else.

    Its source takes numbers when it is compiled into another function, and arrays when it is not;
    integers wrap around in both. It is pasted in: a loop that calls a function is no vector's.
    """
    if register_jitable is None:
        return function
    return cast("F", register_jitable(error_model="numpy", forceinline=True)(function))


def choose(condition: Number, yes: Number, no: Number) -> Number:
    """Return `yes` where a condition holds and `no` elsewhere; for numbers or for arrays."""
    return np.where(condition, yes, no)


def _choose_number(condition: Number, yes: Number, no: Number) -> Number:  # noqa: ARG001 -- types, for numba
    def number(condition: Number, yes: Number, no: Number) -> Number:
        return yes if condition else no

    return number


def lent(array: A) -> A:
    """Return an array whose users are not counted by compiled code; it is the same array.

    To hand an array on costs two operations that lock the memory, one lent hardly anything. Only
    for arrays that a function was handed itself: those are there as long as it runs. Never to be
    returned or kept.
    """
    return array


if overload is not None:
    overload(choose)(_choose_number)

    @intrinsic  # type: ignore[untyped-decorator]
    def _uncounted(_typing: Part, array: Part) -> Part:
        def generate(context: Part, builder: Part, signature: Part, arguments: Part) -> Part:
            mine = make_array(signature.args[0])(context, builder, arguments[0])
            mine.meminfo, mine.parent = mine.meminfo.type(None), mine.parent.type(None)
            return mine._getvalue()  # noqa: SLF001

        return array(array), generate

    overload(lent)(lambda array: lambda array: _uncounted(array))  # noqa: ARG005, PLW0108


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
