"""What every family of parts provides, and the joint that most of them share.

A part is expanded into *elements*, two-terminal branches between points. Every branch obeys ``i =
g (v_a - v_b - e)`` with i in amperes from a to b, g in siemens and e in volts, except lamps and
diodes, whose law stands in `sim.solver.laws`. A part emits the same elements, in the same order,
whatever its faults are (an open is exactly g = 0), so that all faults of a circuit share one
topology.

Likelihoods are relative, the project's own judgement of how often a part fails in each way on a
vehicle of ten years (common practice, no source); a circuit file may override each.
"""

from __future__ import annotations

import math
from collections.abc import Callable, Mapping
from dataclasses import dataclass
from enum import IntEnum

from sim.circuit import Part


class Law(IntEnum):
    """Which law an element obeys; the numbers are those of the solver's kernel."""

    LINEAR = 0
    LAMP = 1
    DIODE = 2
    CONTACT = 3
    FUSE = 4
    COIL = 5


@dataclass(frozen=True, slots=True)
class Element:
    """One branch of the network.

    Attributes
    ----------
    name : str
        Unique; begins with the name of its part.
    a, b : str
        The points it lies between; current counts from a to b.
    conductance : float
        Siemens; 0 is an exact open. For lamps and diodes: 1 if it is in circuit, 0 if not.
    emf : float
        Volts, as in ``i = g (v_a - v_b - emf)``.
    shape : tuple of three floats
        Constants of the law: lamp (cold ohms, k, exponent), diode (saturation current in A, n Vt
        in V, -), contact (1 if normally closed, 1 if stuck closed or 2 if stuck open, -), fuse
        (opening current in A, -, -), coil (pull-in A, drop-out A, -).
    relay : str
        The relay that a coil drives or a contact belongs to.
    joint : bool
        True if pulling or unplugging the part opens it.
    control : tuple
        (control's part, positions in which a switch contact is closed); empty if not switched.
    """

    name: str
    a: str
    b: str
    conductance: float
    emf: float = 0.0
    law: Law = Law.LINEAR
    shape: tuple[float, float, float] = (0.0, 0.0, 0.0)
    relay: str = ""
    joint: bool = False
    positions: tuple[str, ...] = ()


@dataclass(frozen=True, slots=True)
class Parameter:
    """A parameter of a family: its quantity (see `sim.quantity`, or "text") and default."""

    quantity: str
    default: float | str | bool | None = None
    words: tuple[str, ...] = ()


@dataclass(frozen=True, slots=True)
class Way:
    """A way of failing: at which terminal, with which severities, how likely, what it looks like.

    The likelihood is shared equally by the severities. `quantity` is the severity's kind; none may
    be above `most`.
    """

    name: str
    pin: str | None = None
    severities: tuple[float, ...] = ()
    likelihood: float = 1.0
    quantity: str = "resistance"
    seen: str = ""
    most: float = math.inf


@dataclass(frozen=True, slots=True)
class Family:
    """One kind of part.

    `pins` gives its terminals; `elements` its branches with the part's faults applied; `ways` how
    it fails; `removable` whether it can be pulled out of its holder (fuse, relay) and `separable`
    whether its plug comes apart. `load` is the end of the name of the element that does the part's
    work, `nominal_power` its rating in W. `probing` says how leads get at its terminals while it
    is fitted: "tops" (a fuse's bare tops, its own side), "open" (bare metal, both sides) or "back"
    (back-probed, harness side).
    """

    kind: str
    parameters: Mapping[str, Parameter]
    pins: Callable[[Part], tuple[str, ...]]
    elements: Callable[[Part, float], tuple[Element, ...]]
    ways: Callable[[Part], tuple[Way, ...]]
    removable: bool = False
    separable: bool = False
    nominal_power: Callable[[Part], float] | None = None
    load: str = ""
    probing: str = "back"


def conductance(resistance: float) -> float:
    """Return 1 / R in siemens for a resistance in ohms."""
    return 1.0 / resistance


CONTACT_RESISTANCE = 0.003  # ohm, a sound crimped terminal pair; common practice, no source

JOINT_SEVERITIES = (0.4, 1.2)  # ohm, ours: enough to starve a load of ten amperes


def joint(part: Part, pin: str, *, outer: str = "", inner: str = "b") -> Element:
    """Return the joint between harness terminal ``PART.PIN`` and the part's own terminal.

    Open when the terminal has backed out, of higher resistance when it is spread or corroded.
    """
    resistance = CONTACT_RESISTANCE + (part.severity("high resistance", pin) or 0.0)
    siemens = 0.0 if part.has("open", pin) else conductance(resistance)
    name = f"{part.name}.{pin}"
    return Element(name, name + outer, name + inner, siemens, joint=True)


def joint_ways(pin: str, *, likelihood: float = 0.5) -> tuple[Way, ...]:
    """Return how a plug-in terminal fails: backed out, or spread and corroded."""
    return (
        Way("open", pin, (), likelihood),
        Way("high resistance", pin, JOINT_SEVERITIES, likelihood),
    )
