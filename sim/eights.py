"""Eight numbers at once, for compiled code: what a processor's vector registers are for.

A compiler turns a loop over lanes into vectors only where it can see, or checks each time, that
what is written is not what is read next. Here nothing has to be seen: `eight` reads a row of an
array (n, 8), the operators work on all of it, `put_eight` writes it. Each of the eight numbers goes
through the same operation of IEEE 754 as it would alone, so that the bits are the same.

Without numba a row is an ordinary array, and the same source works on that.
"""

from __future__ import annotations

import operator
from typing import Any

import numpy as np

from sim.compiled import Number

Floats = Any

LANES = 8  # numbers at once: two registers of four, or one of eight

intrinsic: Any
try:
    from llvmlite import ir
    from numba import types
    from numba.core.datamodel import models
    from numba.extending import intrinsic, overload, register_model
    from numba.np.arrayobj import make_array
except ImportError:
    intrinsic = None


def eight(array: Floats, row: int) -> Number:
    """Return a row of an array (n, 8)."""
    return array[row].copy()


def put_eight(array: Floats, row: int, values: Number) -> None:
    """Write a row of an array (n, 8)."""
    array[row] = values


def all_eight(value: float) -> Number:
    """Return one number eight times."""
    return np.full(LANES, value)


if intrinsic is not None:
    REGISTER = ir.VectorType(ir.DoubleType(), LANES)

    class _Eight(types.Type):
        """The type of eight numbers in compiled code."""

        def __init__(self) -> None:
            super().__init__(name="Eight")

    EIGHT = _Eight()

    @register_model(_Eight)
    class _EightModel(models.PrimitiveModel):
        def __init__(self, manager: Any, kind: Any) -> None:
            super().__init__(manager, kind, REGISTER)

    def _place(context: Any, builder: Any, kind: Any, array: Any, row: Any) -> Any:
        data = make_array(kind)(context, builder, array).data
        at = builder.mul(row, ir.Constant(row.type, LANES))
        return builder.bitcast(builder.gep(data, [at]), REGISTER.as_pointer())

    @intrinsic
    def _read(_typing: Any, array: Any, row: Any) -> Any:
        def generate(context: Any, builder: Any, signature: Any, arguments: Any) -> Any:
            place = _place(context, builder, signature.args[0], *arguments)
            return builder.load(place, align=8)

        return EIGHT(array, types.int64), generate

    @intrinsic
    def _write(_typing: Any, array: Any, row: Any, values: Any) -> Any:
        def generate(context: Any, builder: Any, signature: Any, arguments: Any) -> Any:
            place = _place(context, builder, signature.args[0], *arguments[:2])
            builder.store(arguments[2], place, align=8)
            return context.get_dummy_value()

        return types.void(array, types.int64, EIGHT), generate

    @intrinsic
    def _spread(_typing: Any, value: Any) -> Any:
        def generate(_context: Any, builder: Any, _signature: Any, arguments: Any) -> Any:
            zero = ir.Constant(ir.IntType(32), 0)
            empty = ir.Constant(REGISTER, ir.Undefined)
            first = builder.insert_element(empty, arguments[0], zero)
            mask = ir.Constant(ir.VectorType(ir.IntType(32), LANES), [0] * LANES)
            return builder.shuffle_vector(first, empty, mask)

        return EIGHT(types.float64), generate

    def _operation(name: str) -> Any:
        @intrinsic
        def work(_typing: Any, a: Any, b: Any) -> Any:
            def generate(_context: Any, builder: Any, _signature: Any, arguments: Any) -> Any:
                return getattr(builder, name)(*arguments)

            return EIGHT(EIGHT, EIGHT), generate

        return work

    _ADD, _SUB, _MUL, _DIV = (_operation(name) for name in ("fadd", "fsub", "fmul", "fdiv"))

    overload(eight)(lambda array, row: lambda array, row: _read(array, row))  # noqa: ARG005
    overload(put_eight)(
        lambda array, row, values: lambda array, row, values: _write(array, row, values)  # noqa: ARG005
    )
    overload(all_eight)(lambda value: lambda value: _spread(value))  # noqa: ARG005
    overload(operator.add)(lambda a, b: (lambda a, b: _ADD(a, b)) if a is b is EIGHT else None)
    overload(operator.sub)(lambda a, b: (lambda a, b: _SUB(a, b)) if a is b is EIGHT else None)
    overload(operator.mul)(lambda a, b: (lambda a, b: _MUL(a, b)) if a is b is EIGHT else None)
    overload(operator.truediv)(lambda a, b: (lambda a, b: _DIV(a, b)) if a is b is EIGHT else None)
