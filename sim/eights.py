"""Eight numbers at once, for compiled code: what a processor's vector registers are for.

A compiler turns a loop over lanes into vectors only where it can see, or checks each time, that
what is written is not what is read next. Here nothing has to be seen: `eight` reads a row of an
array (n, 8), the operators work on all of it, `put_eight` writes it. Each of the eight numbers goes
through the same operation of IEEE 754 as it would alone, so that the bits are the same.

Without numba a row is an ordinary array, and the same source works on that.
"""

from __future__ import annotations

import operator
from importlib import import_module
from typing import Any

import numpy as np
import numpy.typing as npt

from sim.compiled import Number

LANES = 8  # numbers at once: two registers of four, or one of eight

Floats = npt.NDArray[np.float64]
Part = Any  #: something of numba's or llvmlite's own

ir: Part
types: Part
models: Part
intrinsic: Part
overload: Part
register_model: Part
make_array: Part
try:
    ir, types = import_module("llvmlite.ir"), import_module("numba").types
    models = import_module("numba.core.datamodel").models
    make_array = import_module("numba.np.arrayobj").make_array
    from numba.extending import intrinsic, overload, register_model
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


def larger(one: Number, other: Number) -> Number:
    """Return the larger of each two numbers, none of which is NaN."""
    return np.maximum(one, other)


if intrinsic is not None:
    REGISTER = ir.VectorType(ir.DoubleType(), LANES)

    class _Eight(types.Type):  # type: ignore[misc]
        """The type of eight numbers in compiled code."""

        def __init__(self) -> None:
            super().__init__(name="Eight")

    EIGHT = _Eight()

    @register_model(_Eight)
    class _EightModel(models.PrimitiveModel):  # type: ignore[misc]
        def __init__(self, manager: Part, kind: Part) -> None:
            super().__init__(manager, kind, REGISTER)

    def _place(context: Part, builder: Part, kind: Part, array: Part, row: Part) -> Part:
        data = make_array(kind)(context, builder, array).data
        at = builder.mul(row, ir.Constant(row.type, LANES))
        return builder.bitcast(builder.gep(data, [at]), REGISTER.as_pointer())

    @intrinsic  # type: ignore[untyped-decorator]
    def _read(_typing: Part, array: Part, row: Part) -> Part:  # noqa: ARG001 -- names, for numba
        def generate(context: Part, builder: Part, signature: Part, arguments: Part) -> Part:
            place = _place(context, builder, signature.args[0], *arguments)
            return builder.load(place, align=8)

        return EIGHT(array, types.int64), generate

    @intrinsic  # type: ignore[untyped-decorator]
    def _write(_typing: Part, array: Part, row: Part, values: Part) -> Part:  # noqa: ARG001
        def generate(context: Part, builder: Part, signature: Part, arguments: Part) -> Part:
            place = _place(context, builder, signature.args[0], *arguments[:2])
            builder.store(arguments[2], place, align=8)
            return context.get_dummy_value()

        return types.void(array, types.int64, EIGHT), generate

    @intrinsic  # type: ignore[untyped-decorator]
    def _spread(_typing: Part, value: Part) -> Part:  # noqa: ARG001
        def generate(_context: Part, builder: Part, _signature: Part, arguments: Part) -> Part:
            zero = ir.Constant(ir.IntType(32), 0)
            empty = ir.Constant(REGISTER, ir.Undefined)
            first = builder.insert_element(empty, arguments[0], zero)
            mask = ir.Constant(ir.VectorType(ir.IntType(32), LANES), [0] * LANES)
            return builder.shuffle_vector(first, empty, mask)

        return EIGHT(types.float64), generate

    @intrinsic  # type: ignore[untyped-decorator]
    def _larger(_typing: Part, one: Part, other: Part) -> Part:  # noqa: ARG001
        def generate(_context: Part, builder: Part, _signature: Part, arguments: Part) -> Part:
            return builder.select(builder.fcmp_ordered(">", *arguments), *arguments)

        return EIGHT(EIGHT, EIGHT), generate

    def _operation(name: str) -> Part:
        @intrinsic  # type: ignore[untyped-decorator]
        def work(_typing: Part, a: Part, b: Part) -> Part:  # noqa: ARG001
            def generate(_context: Part, builder: Part, _signature: Part, arguments: Part) -> Part:
                return getattr(builder, name)(*arguments)

            return EIGHT(EIGHT, EIGHT), generate

        return work

    # numba wants functions of its own, with the same names of arguments
    overload(eight)(
        lambda array, row: lambda array, row: _read(array, row)  # noqa: ARG005, PLW0108
    )
    overload(put_eight)(
        lambda array, row, values: (  # noqa: ARG005
            lambda array, row, values: _write(array, row, values)  # noqa: PLW0108
        )
    )
    overload(all_eight)(lambda value: lambda value: _spread(value))  # noqa: ARG005, PLW0108

    overload(larger)(lambda one, other: lambda one, other: _larger(one, other))  # noqa: ARG005, PLW0108

    def _overloaded(symbol: Part, work: Part) -> None:
        overload(symbol)(
            lambda a, b: (lambda a, b: work(a, b)) if a is b is EIGHT else None  # noqa: PLW0108
        )

    _overloaded(operator.add, _operation("fadd"))
    _overloaded(operator.sub, _operation("fsub"))
    _overloaded(operator.mul, _operation("fmul"))
    _overloaded(operator.truediv, _operation("fdiv"))
