"""Circuit -> network: nodes, elements and, for every variant of the circuit, a row of numbers.

The topology (which elements, between which nodes) is the same for every fault of a circuit; what
differs is the row. Configurations (controls, plugs, pulled and swapped parts) act on rows too, so
thousands of variants are solved as one batch.

Four more nodes stand for the ends of loose leads: the red and the black lead of the instrument and
the two ends of the jumper. They touch a point only where a lead is put on.
"""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import dataclass, replace

import numpy as np
import numpy.typing as npt

from sim.circuit import BODY, Circuit, Part
from sim.parts import FAMILIES
from sim.parts.family import STILL, Element, Law, Trigger

Floats = npt.NDArray[np.float64]
Ints = npt.NDArray[np.int64]

RED, BLACK, JUMPER_FROM, JUMPER_TO = "red lead", "black lead", "jumper from", "jumper to"
LEADS = (RED, BLACK, JUMPER_FROM, JUMPER_TO)
METER, METER_LAMP, METER_FUSE, JUMPER = "meter", "meter lamp", "meter shunt", "jumper"
#: What can lie between the leads, loose: the last elements of every network.
INSTRUMENTS = (
    Element(METER, RED, BLACK, 0.0),
    Element(METER_LAMP, RED, BLACK, 0.0, law=Law.LAMP, shape=(1.0, 1.0, 1.0)),
    Element(METER_FUSE, RED, BLACK, 0.0, law=Law.FUSE),
    Element(JUMPER, JUMPER_FROM, JUMPER_TO, 0.0, law=Law.FUSE),
)
#: Columns of a row. A steady state needs conductance, EMF and the three constants of the law;
CONDUCTANCE, EMF, SHAPE = 0, 1, 2
COLUMNS = 5
#: then come the other conductance and what brings it about (`Trigger`), which `configured` settles;
OTHER, TRIGGER = 5, 6
#: then what the element does in time (`Motion`), which only a waveform needs.
INDUCTANCE, CAPACITANCE, WAVE, AMPLITUDE, FREQUENCY, PHASE = 7, 8, 9, 10, 11, 12
ROW = 13


@dataclass(frozen=True, slots=True)
class Network:
    """What all variants of a circuit share.

    Attributes
    ----------
    nodes : tuple of str
        Point names; index 0 is the body, the last four are the leads.
    elements : tuple of Element
        In a fixed order; the last four are the instrument and the jumper.
    ends : int array (E, 2)
        Node numbers of a and b.
    laws, relays, fuses : int arrays (E,)
        Law of each element; number of the relay a coil or contact belongs to and of the fuse,
        -1 where none.
    """

    nodes: tuple[str, ...]
    elements: tuple[Element, ...]
    ends: Ints
    laws: Ints
    relays: Ints
    fuses: Ints
    relay_names: tuple[str, ...]
    fuse_names: tuple[str, ...]

    def node(self, point: str) -> int:
        """Return the number of a point."""
        return self.nodes.index(point)

    def element(self, name: str) -> int:
        """Return the number of an element."""
        for number, element in enumerate(self.elements):
            if element.name == name:
                return number
        raise KeyError(name)


def circuit_elements(circuit: Circuit) -> tuple[Element, ...]:
    """Return the elements of a circuit with its faults applied, and the loose instruments."""
    elements: list[Element] = []
    for part in circuit.parts.values():
        for element in part_elements(part, circuit.temperature):
            a, b = circuit.point(element.a), circuit.point(element.b)
            elements.append(_placed(element, a, b))
    return (*elements, *INSTRUMENTS)


def _placed(element: Element, a: str, b: str) -> Element:
    if (a, b) == (element.a, element.b):
        return element
    values = {name: getattr(element, name) for name in Element.__slots__}
    return Element(**{**values, "a": a, "b": b})


def build_network(circuit: Circuit) -> Network:
    """Return the network shared by a circuit and all of its faults."""
    return network_of(circuit_elements(circuit))


def network_of(elements: tuple[Element, ...]) -> Network:
    """Return the network of elements, of which `INSTRUMENTS` are the last."""
    points = [point for element in elements for point in (element.a, element.b)]
    inner = [point for point in dict.fromkeys(points) if point != BODY and point not in LEADS]
    nodes = (BODY, *inner, *LEADS)
    number = {point: index for index, point in enumerate(nodes)}
    relay_names = tuple(dict.fromkeys(e.relay for e in elements if e.relay))
    fuse_names = tuple(e.name for e in elements if e.law is Law.FUSE)
    return Network(
        nodes=nodes,
        elements=elements,
        ends=np.array([(number[e.a], number[e.b]) for e in elements], dtype=np.int64),
        laws=np.array([int(e.law) for e in elements], dtype=np.int64),
        relays=np.array([relay_names.index(e.relay) if e.relay else -1 for e in elements]),
        fuses=np.array([fuse_names.index(e.name) if e.law is Law.FUSE else -1 for e in elements]),
        relay_names=relay_names,
        fuse_names=fuse_names,
    )


def circuit_row(circuit: Circuit) -> Floats:
    """Return the row (E, 13) of one variant of a circuit."""
    return element_row(circuit_elements(circuit))


def element_row(elements: Sequence[Element]) -> Floats:
    """Return the row (E, 13) of elements, column by column as named above."""
    row = np.zeros((len(elements), ROW))
    row[:, :COLUMNS] = [(e.conductance, e.emf, *e.shape) for e in elements]
    for number, element in enumerate(elements):
        if element.trigger:
            row[number, OTHER : TRIGGER + 1] = element.other, element.trigger
        if element.motion is not STILL:
            m = element.motion
            row[number, INDUCTANCE:] = (
                m.inductance,
                m.capacitance,
                m.wave,
                m.amplitude,
                m.frequency,
                m.phase,
            )
    return row


@dataclass(frozen=True, slots=True)
class Configuration:
    """How the vehicle stands, apart from its faults.

    `controls` gives each control's position; `apart` the parts unplugged or pulled out; `swapped`
    pairs of like parts that sit in each other's socket; `renewed` parts replaced by new ones.
    `stressed` gives the parts that are shaken, heated or wetted now, each with what is done to it
    (a part named `EVERYTHING` stands for the whole vehicle); `disturbed` the parts that have just
    been unplugged and plugged; `asleep` those that have fallen asleep.
    """

    controls: tuple[tuple[str, str], ...] = ()
    apart: tuple[str, ...] = ()
    swapped: tuple[tuple[str, str], ...] = ()
    renewed: tuple[str, ...] = ()
    stressed: tuple[tuple[str, Trigger], ...] = ()
    disturbed: tuple[str, ...] = ()
    asleep: tuple[str, ...] = ()


EVERYTHING = "everything"


def configured(
    circuit: Circuit, network: Network, rows: Floats, configuration: Configuration
) -> Floats:
    """Return copies of rows (..., E, 13) with switches set, stresses applied and joints opened.

    Swapped parts exchange the rows of everything but their joints, so that a fault inside follows
    the part and a fault of the socket stays; renewed parts are whole inside.
    """
    rows = rows.copy()
    for name in configuration.renewed:
        whole = {**circuit.parts, name: replace(circuit.parts[name], faults=())}
        inside = _inside(network, name)
        rows[..., inside, :] = circuit_row(replace(circuit, parts=whole))[inside]
    for first, second in configuration.swapped:
        _swap(network, rows, first, second)
    _apply_triggers(network, rows, configuration)
    position = _positions(circuit, dict(configuration.controls))
    for number, element in enumerate(network.elements):
        owner = owner_of(element)
        switched_off = element.positions and position.get(owner) not in element.positions
        if switched_off or (element.joint and owner in configuration.apart):
            rows[..., number, CONDUCTANCE] = 0.0
    return rows


def owner_of(element: Element) -> str:
    """Return the name of the part an element belongs to (``wire 8``: both words)."""
    first, _, rest = element.name.partition(" ")
    if first in ("wire", "strap"):
        return f"{first} {rest.partition(' ')[0]}"
    return first.partition(".")[0]


def _apply_triggers(network: Network, rows: Floats, configuration: Configuration) -> None:
    """Give elements their other conductance where what brings it about applies to their part."""
    applied: dict[str, set[Trigger]] = {}
    for part, trigger in configuration.stressed:
        applied.setdefault(part, set()).add(trigger)
    for names, trigger in (
        (configuration.disturbed, Trigger.DISTURBED),
        (configuration.asleep, Trigger.ASLEEP),
    ):
        for part in names:
            applied.setdefault(part, set()).add(trigger)
    if not applied:
        return
    everywhere = applied.get(EVERYTHING, set())
    for number, element in enumerate(network.elements):
        for trigger in everywhere | applied.get(owner_of(element), set()):
            on = rows[..., number, TRIGGER] == trigger
            rows[..., number, CONDUCTANCE] = np.where(
                on, rows[..., number, OTHER], rows[..., number, CONDUCTANCE]
            )


def _positions(circuit: Circuit, controls: Mapping[str, str]) -> dict[str, str]:
    positions = {}
    for control in circuit.controls.values():
        for part in control.sets:
            positions[part] = controls.get(control.name, control.positions[0])
    return positions


def _swap(network: Network, rows: Floats, first: str, second: str) -> None:
    ours, theirs = (_inside(network, name) for name in (first, second))
    rows[..., ours, :], rows[..., theirs, :] = (
        rows[..., theirs, :].copy(),
        rows[..., ours, :].copy(),
    )


def _inside(network: Network, part: str) -> list[int]:
    return [
        number
        for number, element in enumerate(network.elements)
        if (element.name == part or element.name.startswith(f"{part} ")) and not element.joint
    ]


def stack_rows(circuits: Sequence[Circuit]) -> Floats:
    """Return the rows (V, E, 13) of several variants of one circuit.

    Only parts that differ from the first circuit's are expanded again.
    """
    first = circuits[0]
    base = circuit_row(first)
    rows = np.repeat(base[None], len(circuits), axis=0)
    counts = [len(part_elements(part, first.temperature)) for part in first.parts.values()]
    starts = np.concatenate([[0], np.cumsum(counts)])
    for row, circuit in zip(rows[1:], circuits[1:], strict=True):
        if circuit.temperature != first.temperature:
            row[:] = circuit_row(circuit)
            continue
        for start, (name, part) in zip(starts, circuit.parts.items(), strict=False):
            if part is not first.parts[name]:
                mine = element_row(part_elements(part, circuit.temperature))
                row[start : start + len(mine)] = mine
    return rows


def part_elements(part: Part, temperature: float) -> tuple[Element, ...]:
    """Return the elements of one part with its faults applied."""
    return FAMILIES[part.kind].elements(part, temperature)
