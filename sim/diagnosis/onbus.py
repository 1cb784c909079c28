"""The diagnostic server of a `bus unit`: what it misses on the bus, and its supply.

It counts on the messages of the units that it listens to, and sets the code that belongs to the
one that is missing (`lost code` of that part) after 2 s, a few periods being common practice (no
source). Identifiers are by its place among the circuit's units: requests at 7E0, 7E1 and so on (ISO
15765-4), addresses for ISO 13400-2 from 0101. The maker's own data: 2001 its supply, 2100 and on
whether each of those messages arrives.
"""

from __future__ import annotations

from sim.circuit import Circuit, Part
from sim.diagnosis.codes import Code
from sim.diagnosis.memory import Memory, Monitor
from sim.diagnosis.parameters import MILLIVOLT
from sim.diagnosis.sampling import Moment, Sample
from sim.diagnosis.scaling import Scaling
from sim.diagnosis.unit import Datum, UnitState

KIND = "bus unit"
MISSING = 0x87  # failure type: message missing
MISSED_AFTER = 2.0  # s; see above
FIRST_REQUEST, FIRST_ANSWER, FIRST_ADDRESS = 0x7E0, 0x7E8, 0x0101
FURTHER_REQUEST, FURTHER_ANSWER, GENERIC = 0x700, 0x740, 8  # of the ninth and on; ours
SUPPLY_DATA, HEARD_DATA = 0x2001, 0x2100
SUPPLY_VALUE = 0x42
AWAKE = "awake"


def listens_to(part: Part) -> tuple[str, ...]:
    """Return the names of the units whose messages a unit counts on."""
    words = (word.strip() for word in str(part.values["listens to"]).split(","))
    return tuple(word for word in words if word)


def unit_name(part: Part) -> str:
    """Return what a unit is called on the screen, such as ``A2 brakes``."""
    return f"{part.name} {part.values['serves']}".strip()


def place_ids(place: int) -> tuple[int, int, int]:
    """Return request and answer identifier, and address, of the unit at a place."""
    if place < GENERIC:
        return FIRST_REQUEST + place, FIRST_ANSWER + place, FIRST_ADDRESS + place
    return FURTHER_REQUEST + place, FURTHER_ANSWER + place, FIRST_ADDRESS + place


def _lost(circuit: Circuit, name: str) -> Code | None:
    text = str(circuit.parts[name].values["lost code"]) if name in circuit.parts else ""
    return Code(text, MISSING) if text else None


def unit_of(circuit: Circuit, part: Part, place: int) -> UnitState:
    """Return the control unit that a part is, fresh from the works."""
    generic = part.values["generic"] is True
    codes = {code for name in listens_to(part) if (code := _lost(circuit, name))}
    monitors = tuple(
        Monitor(
            code,
            MISSED_AFTER,
            MISSED_AFTER,
            frozenset({AWAKE}),
            lamp=generic,
            emissions=generic,
            group="",
        )
        for code in sorted(codes)
    )
    heard = tuple(
        Datum(HEARD_DATA + n, f"message from {name}", Scaling(1), 0.0)
        for n, name in enumerate(listens_to(part))
    )
    supply = Datum(SUPPLY_DATA, "supply voltage at the unit", MILLIVOLT, 0.0)
    request, answer, address = place_ids(place)
    return UnitState(
        unit_name(part),
        request,
        answer,
        address,
        Memory.fresh(monitors),
        generic=generic,
        values={SUPPLY_VALUE: 0.0} if generic else {},
        data=(supply, *heard),
    )


def sample_of(moment: Moment, part: Part) -> Sample:
    """Return what a unit takes in at one moment."""
    bus, lane = moment.solution.bus, moment.lane
    if bus is None or not bus.awake(lane, part.name):
        return Sample(awake=False)
    volts = moment.volts(f"{part.name}.30b") - moment.volts(f"{part.name}.31b")
    heard = {name: bus.heard(lane, name, part.name) for name in listens_to(part)}
    lost = ((_lost(moment.circuit, name), not there) for name, there in heard.items())
    failing: dict[Code, bool] = {}
    for code, missing in lost:
        if code is not None:
            failing[code] = failing.get(code, False) or missing
    data = {HEARD_DATA + n: float(there) for n, there in enumerate(heard.values())}
    return Sample(
        awake=True,
        values={SUPPLY_VALUE: volts} if part.values["generic"] is True else {},
        data={SUPPLY_DATA: volts, **data},
        failing=failing,
        holding=frozenset({AWAKE}),
    )
