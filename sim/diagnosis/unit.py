"""One control unit as the diagnostic services see it: frozen data.

Before a request the vehicle fills in what the unit measures and whether it can be reached; after
it, the vehicle reads which outputs a tester holds (`UnitState.commanded`) and which routines run
(`UnitState.running`). Times are seconds of the bench's clock.
"""

from __future__ import annotations

import math
import re
from collections.abc import Iterable, Mapping
from dataclasses import dataclass, field, replace
from enum import IntEnum

from sim.diagnosis.memory import Memory
from sim.diagnosis.parameters import PARAMETERS
from sim.diagnosis.readiness import GROUPS
from sim.diagnosis.scaling import Scaling
from sim.errors import DiagnosisError

SESSION_TIME = 5.0  # s without a request until the default session is back; S3, ISO 14229-2
VIN = "[0-9A-HJ-NPR-Z]{17}"  # ISO 3779
STANDARD_DATA = range(0xF180, 0xFA00)  # identifiers that ISO 14229-1 gives a meaning, annex C
LARGEST_CAN_ID = 0x7FF  # 11 bits
FUNCTIONAL_CAN_ID = 0x7DF  # ISO 15765-4


class Session(IntEnum):
    """Diagnostic sessions, ISO 14229-1."""

    DEFAULT = 1
    EXTENDED = 3


class Hold(IntEnum):
    """Who decides over an output: the control parameters of service 2F, ISO 14229-1."""

    UNIT = 0
    DEFAULT = 1
    FROZEN = 2
    ADJUSTED = 3


@dataclass(frozen=True, slots=True)
class Datum:
    """One maker-specific value; it may show a substitute where service 01 shows what is measured.

    Attributes
    ----------
    identifier : int
        Data identifier, outside of those that ISO 14229-1 gives a meaning.
    value : float
        In SI.
    """

    identifier: int
    name: str
    scaling: Scaling
    value: float


@dataclass(frozen=True, slots=True)
class Output:
    """One output that a tester may hold.

    Attributes
    ----------
    identifier : int
        Data identifier for services 22 and 2F.
    value : float
        What it does now, in SI; the vehicle fills it in.
    default : float
        What "reset to default" makes it do, in SI.
    least, largest : float
        What a tester may ask for, in SI.
    permitted : bool
        Whether the unit lets a tester hold it now.
    hold, demand : Hold, float
        Who decides, and what a tester asks for; the server sets both.
    """

    identifier: int
    name: str
    scaling: Scaling
    value: float = 0.0
    default: float = 0.0
    least: float = 0.0
    largest: float = 1.0
    permitted: bool = True
    hold: Hold = Hold.UNIT
    demand: float = 0.0


@dataclass(frozen=True, slots=True)
class Routine:
    """One routine that a tester may start.

    Attributes
    ----------
    identifier : int
        Routine identifier for service 31.
    seconds : float
        How long it runs by itself.
    permitted : bool
        Whether it may be started now.
    results : bytes
        What "request results" returns behind the state byte; the vehicle fills it in.
    started, stopped : float or None
        Clock at the last start, and at a stop by the tester since; the server sets both.
    """

    identifier: int
    name: str
    seconds: float
    permitted: bool = True
    results: bytes = b""
    started: float | None = None
    stopped: float | None = None

    def runs(self, clock: float) -> bool:
        """Tell whether it is running."""
        if self.started is None or self.stopped is not None:
            return False
        return clock - self.started < self.seconds


@dataclass(frozen=True, slots=True)
class UnitState:
    """A control unit.

    Attributes
    ----------
    name : str
    request_id, answer_id : int
        11-bit CAN identifiers; ISO 15765-4 gives 7E0 to 7E7 and 7E8 to 7EF.
    address : int
        Logical address for ISO 13400-2.
    memory : Memory
        Trouble codes.
    reachable : bool
        Whether it has power, ground and bus; if not it does not answer.
    generic : bool
        Whether it answers the services of SAE J1979.
    values : mapping
        Values of service 01, as measured, in SI, by parameter id.
    data, outputs, routines : tuples
    labels : mapping
        Texts by data identifier, such as F187, the spare part number.
    vin, calibration : str
        Service 09; empty if it does not say.
    may_clear : bool
        Whether codes may be cleared now (many units refuse with the engine running).
    session, last_heard : Session, float
        Diagnostic session, and clock of the last request; the server sets both.
    resets : int
        How often a tester has reset it; the server counts.
    """

    name: str
    request_id: int
    answer_id: int
    address: int
    memory: Memory = field(default_factory=Memory)
    reachable: bool = True
    generic: bool = True
    values: Mapping[int, float] = field(default_factory=dict)
    data: tuple[Datum, ...] = ()
    outputs: tuple[Output, ...] = ()
    routines: tuple[Routine, ...] = ()
    labels: Mapping[int, str] = field(default_factory=dict)
    vin: str = ""
    calibration: str = ""
    may_clear: bool = True
    session: Session = Session.DEFAULT
    last_heard: float = -math.inf
    resets: int = 0

    def __post_init__(self) -> None:
        """Refuse what no answer could carry."""
        _check_addresses(self)
        _check_values(self)
        _check_identifiers(self)
        _check_texts(self)

    @property
    def readable(self) -> tuple[Datum | Output, ...]:
        """What service 22 reads by an identifier of the maker's own."""
        return (*self.data, *self.outputs)

    def commanded(self) -> dict[str, float]:
        """Return what outputs that a tester holds are to do, in SI, by name."""
        return {one.name: one.demand for one in self.outputs if one.hold is not Hold.UNIT}

    def running(self, clock: float) -> tuple[str, ...]:
        """Return the names of routines that run."""
        return tuple(one.name for one in self.routines if one.runs(clock))


def settled(unit: UnitState, clock: float) -> UnitState:
    """Return the unit as it is at a clock: without requests for 5 s the tester's hold is over."""
    if unit.session is Session.DEFAULT or clock - unit.last_heard < SESSION_TIME:
        return unit
    return released(unit, unit.last_heard + SESSION_TIME)


def released(unit: UnitState, clock: float) -> UnitState:
    """Return the unit back in its default session, outputs its own again and routines ended."""
    return replace(
        unit,
        session=Session.DEFAULT,
        outputs=tuple(replace(one, hold=Hold.UNIT) for one in unit.outputs),
        routines=tuple(
            replace(one, stopped=clock) if one.runs(clock) else one for one in unit.routines
        ),
    )


def _check_addresses(unit: UnitState) -> None:
    for identifier in (unit.request_id, unit.answer_id):
        if not 0 <= identifier <= LARGEST_CAN_ID or identifier == FUNCTIONAL_CAN_ID:
            raise DiagnosisError(
                f"{unit.name}: got CAN identifier 0x{identifier:X}, expected 0 to 7FF, not 7DF"
            )
    if not 0 < unit.address <= 0xFFFF:  # noqa: PLR2004 -- two bytes
        raise DiagnosisError(f"{unit.name}: got address {unit.address}, expected 1 to 65535")


def _check_values(unit: UnitState) -> None:
    unknown = sorted(unit.values.keys() - PARAMETERS.keys())
    if unknown:
        raise DiagnosisError(
            f"{unit.name}: parameter 0x{unknown[0]:02X} is none of those in sim.diagnosis"
            ".parameters; a value of the maker's own goes into data"
        )
    named = [*((PARAMETERS[key].name, value) for key, value in unit.values.items())]
    named += [(one.name, one.value) for one in unit.data]
    for one in unit.outputs:
        named += [(one.name, value) for value in (one.value, one.default, one.demand)]
    for name, value in named:
        if math.isnan(value):
            raise DiagnosisError(f"{unit.name}: {name}: got nan, expected a number")
    groups = {one.group for one in unit.memory.monitors if one.group} - GROUPS
    if groups:
        raise DiagnosisError(
            f"{unit.name}: got readiness group {min(groups)!r}, expected one of: "
            f"{', '.join(sorted(GROUPS))}"
        )


def _check_identifiers(unit: UnitState) -> None:
    numbered = [one.identifier for one in unit.readable]
    _check_unique(unit, "data identifier", [*numbered, *unit.labels])
    _check_unique(unit, "routine identifier", [one.identifier for one in unit.routines])
    for one in unit.readable:
        if one.identifier in STANDARD_DATA:
            raise DiagnosisError(
                f"{unit.name}: {one.name}: identifier 0x{one.identifier:04X} has a meaning in "
                "ISO 14229-1; choose one below F180"
            )


def _check_unique(unit: UnitState, kind: str, identifiers: Iterable[int]) -> None:
    seen: set[int] = set()
    for identifier in identifiers:
        if identifier in seen or not 0 <= identifier <= 0xFFFF:  # noqa: PLR2004 -- two bytes
            raise DiagnosisError(
                f"{unit.name}: got {kind} 0x{identifier:04X}, expected each once, 0 to FFFF"
            )
        seen.add(identifier)


def _check_texts(unit: UnitState) -> None:
    if unit.vin and re.fullmatch(VIN, unit.vin) is None:
        raise DiagnosisError(
            f"{unit.name}: got VIN {unit.vin!r}, expected 17 digits and capitals without I, O, Q"
        )
    for text in (unit.calibration, *unit.labels.values()):
        if not text.isascii():
            raise DiagnosisError(f"{unit.name}: got {text!r}, expected ASCII characters")
