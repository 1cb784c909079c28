"""What every family of parts provides, and the joint that most of them share.

A part is expanded into *elements*, two-terminal branches between points. Every branch obeys ``i =
g (v_a - v_b - e)`` with i in amperes from a to b, g in siemens and e in volts, except those of
`CURVED`, whose laws stand in `sim.solver.laws`. A part emits the same elements, in the same
order, whatever its faults are (an open is exactly g = 0), so that all faults of a circuit share
one topology.

Likelihoods are relative, the project's own judgement of how often a part fails in each way on a
vehicle of ten years (common practice, no source); a circuit file may override each.
"""

from __future__ import annotations

import math
import re
from collections.abc import Callable, Mapping
from dataclasses import dataclass, field
from enum import IntEnum
from types import MappingProxyType

from sim.circuit import Part
from sim.modules.behaviour import Behaviour
from sim.modules.pins import PinWords
from sim.quantity import parse


class Law(IntEnum):
    """Which law an element obeys; the numbers are those of the solver's kernel."""

    LINEAR = 0
    LAMP = 1
    DIODE = 2
    CONTACT = 3
    FUSE = 4
    COIL = 5
    MOTOR = 6
    LIMITER = 7


#: Laws whose current is no straight line of the voltage.
CURVED = (Law.LAMP, Law.DIODE, Law.MOTOR, Law.LIMITER)


class Trigger(IntEnum):
    """What makes an element take its other conductance.

    Stress, a touch, falling asleep; of a bus: a dominant bit of its unit, a scan tool plugged in.
    """

    NEVER = 0
    VIBRATION = 1
    HEAT = 2
    MOISTURE = 3
    DISTURBED = 4
    ASLEEP = 5
    DOMINANT = 6
    TESTER = 7


class Wave(IntEnum):
    """How an element changes with time in a waveform; a steady state does not see it.

    SINE adds ``amplitude sin(2 pi (frequency t + phase))`` volts to the EMF. SWITCHED has the
    conductance of the row for a share `amplitude` of every period, beginning at t = -phase /
    frequency, and is open for the rest.
    """

    NONE = 0
    SINE = 1
    SWITCHED = 2


@dataclass(frozen=True, slots=True)
class Motion:
    """What an element does in time.

    Attributes
    ----------
    inductance : float
        H, in series with the element's resistance.
    capacitance : float
        F. Beside the conductance of a straight element; for a motor its inertia J over k^2, across
        the back-EMF: ``C de/dt = i - load(e)``. For a lamp the heat capacity of its filament, J/K;
        0 if it is at once as hot as its voltage makes it.
    wave, amplitude, frequency, phase
        See `Wave`; frequency in Hz, phase in turns, amplitude in V or as a share of the period.
    """

    inductance: float = 0.0
    capacitance: float = 0.0
    wave: Wave = Wave.NONE
    amplitude: float = 0.0
    frequency: float = 0.0
    phase: float = 0.0


STILL = Motion()


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
        Volts, as in ``i = g (v_a - v_b - emf)``; a diode too sees ``v_a - v_b - emf``.
    shape : tuple of three floats
        Constants of the law: lamp (cold ohms, k, exponent), diode (saturation current in A, n Vt
        in V, -), contact (1 if normally closed, 1 if stuck closed or 2 if stuck open, -), fuse
        (opening current in A, -, -), coil (pull-in A, drop-out A, -), motor (A to start turning,
        A/V and A/V^2 of back-EMF), limiter (most A from b to a, most A from a to b, S beyond:
        above 0).
    relay : str
        The relay that a coil drives or a contact belongs to.
    joint : bool
        True if pulling or unplugging the part opens it.
    positions : tuple of str
        Positions of the control that sets the part in which the element is in circuit; empty if
        it always is.
    other : float
        Conductance in S it has instead while `trigger` applies to its part.
    motion : Motion
        What it does in time.
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
    other: float = 0.0
    trigger: Trigger = Trigger.NEVER
    motion: Motion = STILL


@dataclass(frozen=True, slots=True)
class Parameter:
    """A parameter of a family: its quantity (see `sim.quantity`, or "text") and default."""

    quantity: str
    default: float | str | bool | None = None
    words: tuple[str, ...] = ()


@dataclass(frozen=True, slots=True)
class Way:
    """A way of failing: at which terminal, with which severities, how likely, what it looks like.

    The likelihood is shared equally by the severities; with likelihood 0 it happens only on a
    vehicle whose circuit file says so. `quantity` is the severity's kind; none may be above `most`.
    """

    name: str
    pin: str | None = None
    severities: tuple[float, ...] = ()
    likelihood: float = 1.0
    quantity: str = "resistance"
    seen: str = ""
    most: float = math.inf


@dataclass(frozen=True, slots=True)
class FreeKeys:
    """Keys that a part may have as many of as it likes: ``pin 4: input``.

    All begin with `prefix`; `read` takes the text of one and raises `QuantityError` where it is
    wrong; `description` is for editors.
    """

    prefix: str
    read: Callable[[str], object]
    description: str


@dataclass(frozen=True, slots=True)
class Ruled:
    """What a part that follows rules says of itself.

    `pins` describes those of its contacts that rules drive, by the last word of their relay's name;
    `behaviour` gives its rules, where they are the same in every circuit file; `sees` the points
    inside (last word of their names) that rules look at in place of a pin's own side.
    """

    pins: Callable[[Part], Mapping[str, PinWords]]
    behaviour: Callable[[Part], Behaviour] | None = None
    sees: Mapping[str, str] = field(default_factory=dict)


@dataclass(frozen=True, slots=True)
class Family:
    """One kind of part.

    `pins` gives its terminals; `elements` its branches with the part's faults applied; `ways` how
    it fails; `removable` whether it can be pulled out of its holder (fuse, relay) and `separable`
    whether its plug comes apart. `load` is the end of the name of the element that does the part's
    work, `nominal_power` its rating in W. `probing` says how leads get at its terminals while it
    is fitted: "tops" (a fuse's bare tops, its own side), "open" (bare metal, both sides), "back"
    (back-probed, harness side) or "hidden" (not at all, under tape). `setting` is the kind of
    quantity (see `sim.quantity`) that the positions of a control that sets the part carry, as
    `settings` reads them; empty if none. `free` are keys beside the parameters, kept as text;
    `ruled` says of a part with rules (see `sim.modules`) what its pins do.
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
    setting: str = ""
    free: FreeKeys | None = None
    ruled: Ruled | None = None


def settings(part: Part, kind: str) -> tuple[tuple[str, float], ...]:
    """Return (position, value in SI) for every position of the control that sets the part.

    A position carries its value in its own words: ``idle 800 rpm`` or ``90 degC``; one without a
    number, such as ``off``, is 0.

    Raises
    ------
    QuantityError
        A number with a unit of another kind.
    """
    found = []
    for position in part.settings:
        words = position.split()
        start = next((i for i, word in enumerate(words) if _NUMBER.match(word)), None)
        value = 0.0 if start is None else parse(" ".join(words[start:]), kind)
        found.append((position, value))
    return tuple(found)


_NUMBER = re.compile(r"[-+]?\.?\d")


def conductance(resistance: float) -> float:
    """Return 1 / R in siemens for a resistance in ohms."""
    return 1.0 / resistance


CONTACT_RESISTANCE = 0.003  # ohm, a sound crimped terminal pair; common practice, no source

JOINT_SEVERITIES = (0.4, 1.2)  # ohm, ours: enough to starve a load of ten amperes

#: Ways in which a contact opens for as long as something is done to it.
OPENS_UNDER: Mapping[str, Trigger] = MappingProxyType(
    {
        "open on vibration": Trigger.VIBRATION,
        "open on heat": Trigger.HEAT,
        "open in the wet": Trigger.MOISTURE,
    }
)


def passing(part: Part, pin: str | None, siemens: float) -> tuple[float, float, Trigger]:
    """Return (conductance, other conductance, trigger) of a contact whose faults come and go.

    Parameters
    ----------
    part, pin
        Where the faults of `passing_ways` are looked up.
    siemens : float
        Conductance the contact has without them, in S; 0 for one that is open for good.
    """
    for way, trigger in OPENS_UNDER.items():
        if part.has(way, pin):
            return siemens, 0.0, trigger
    poor = part.severity("poor contact", pin)
    if poor is not None and siemens > 0.0:
        return conductance(1.0 / siemens + poor), siemens, Trigger.DISTURBED
    return siemens, 0.0, Trigger.NEVER


def passing_ways(pin: str | None) -> tuple[Way, ...]:
    """Return the faults of a contact that come and go; only where a circuit file names them.

    A poor contact is one of high resistance that unplugging and plugging wipes clean for a while.
    """
    opening = tuple(Way(name, pin, (), 0.0) for name in OPENS_UNDER)
    return (*opening, Way("poor contact", pin, JOINT_SEVERITIES, 0.0))


def own_side(part: Part, pin: str, pins: tuple[str, ...]) -> str:
    """Return the point on the part's own side of a terminal, ``PART.PINb``.

    Where that is the name of another of its terminals (87b beside 87), it is ``PART.PIN-b``.
    """
    between = "-" if f"{pin}b" in pins else ""
    return f"{part.name}.{pin}{between}b"


def joint(part: Part, pin: str, *, outer: str = "", inner: str = "b") -> Element:
    """Return the joint between harness terminal ``PART.PIN`` and the part's own terminal.

    Open when the terminal has backed out, of higher resistance when it is spread or corroded; both
    may come and go (see `passing_ways`).
    """
    resistance = CONTACT_RESISTANCE + (part.severity("high resistance", pin) or 0.0)
    siemens = 0.0 if part.has("open", pin) else conductance(resistance)
    now, other, trigger = passing(part, pin, siemens)
    name = f"{part.name}.{pin}"
    a, b = name + outer, name + inner
    return Element(name, a, b, now, joint=True, other=other, trigger=trigger)


def joint_ways(pin: str, *, likelihood: float = 0.5) -> tuple[Way, ...]:
    """Return how a plug-in terminal fails: backed out, spread and corroded, or now and then."""
    return (
        Way("open", pin, (), likelihood),
        Way("high resistance", pin, JOINT_SEVERITIES, likelihood),
        *passing_ways(pin),
    )
