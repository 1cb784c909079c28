"""A thin way into libngspice, for a benchmark: load a netlist, alter a value, solve, read back."""

import ctypes
import ctypes.util
from collections.abc import Sequence

TAKE_TEXT = ctypes.CFUNCTYPE(ctypes.c_int, ctypes.c_char_p, ctypes.c_int, ctypes.c_void_p)
TAKE_EXIT = ctypes.CFUNCTYPE(
    ctypes.c_int, ctypes.c_int, ctypes.c_bool, ctypes.c_bool, ctypes.c_int, ctypes.c_void_p
)


class Complex(ctypes.Structure):
    """As in sharedspice.h: ngcomplex_t."""

    _fields_ = (("real", ctypes.c_double), ("imaginary", ctypes.c_double))


class Vector(ctypes.Structure):
    """As in sharedspice.h: vector_info."""

    _fields_ = (
        ("name", ctypes.c_char_p),
        ("type", ctypes.c_int),
        ("flags", ctypes.c_short),
        ("real", ctypes.POINTER(ctypes.c_double)),
        ("complex", ctypes.POINTER(Complex)),
        ("length", ctypes.c_int),
    )


def library_name() -> str | None:
    """Give the name of the shared library, None where it is not installed."""
    return ctypes.util.find_library("ngspice")


class Spice:
    """One ngspice in this process; it has one circuit at a time."""

    def __init__(self) -> None:
        self.library = ctypes.CDLL(library_name())
        self.library.ngGet_Vec_Info.restype = ctypes.POINTER(Vector)
        self.said: list[str] = []
        self._take = TAKE_TEXT(self._hear)
        self._exit = TAKE_EXIT(lambda *_: 0)
        nothing = ctypes.c_void_p()
        self.library.ngSpice_Init(
            self._take, self._take, self._exit, nothing, nothing, nothing, nothing
        )

    def _hear(self, text: bytes, _number: int, _user: object) -> int:
        self.said.append(text.decode(errors="replace"))
        return 0

    def do(self, command: str) -> None:
        """Give a command; what it says is kept in `said`."""
        self.library.ngSpice_Command(command.encode())

    def load(self, lines: Sequence[str]) -> None:
        """Take up a circuit."""
        array = (ctypes.c_char_p * (len(lines) + 1))(*(line.encode() for line in lines), None)
        self.library.ngSpice_Circ(array)

    def value(self, name: str) -> float:
        """Give the only number of a vector of the present plot."""
        vector = self.library.ngGet_Vec_Info(name.encode())
        return float(vector.contents.real[0])
