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

from sim.circuit import BODY, Circuit
from sim.parts import FAMILIES
from sim.parts.family import Element, Law

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
#: Columns of a row: conductance, EMF and the three constants of the law.
CONDUCTANCE, EMF, SHAPE = 0, 1, 2
COLUMNS = 5


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
        for element in FAMILIES[part.kind].elements(part, circuit.temperature):
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
    """Return the row (E, 5) of one variant of a circuit."""
    return element_row(circuit_elements(circuit))


def element_row(elements: Sequence[Element]) -> Floats:
    """Return the row (E, 5) of elements: conductance in S, EMF in V, constants of the law."""
    return np.array([(e.conductance, e.emf, *e.shape) for e in elements], dtype=np.float64)


@dataclass(frozen=True, slots=True)
class Configuration:
    """How the vehicle stands, apart from its faults.

    `controls` gives each control's position; `apart` the parts unplugged or pulled out; `swapped`
    pairs of like parts that sit in each other's socket; `renewed` parts replaced by new ones.
    """

    controls: tuple[tuple[str, str], ...] = ()
    apart: tuple[str, ...] = ()
    swapped: tuple[tuple[str, str], ...] = ()
    renewed: tuple[str, ...] = ()


def configured(
    circuit: Circuit, network: Network, rows: Floats, configuration: Configuration
) -> Floats:
    """Return copies of rows (..., E, 5) with switches set and joints opened.

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
    position = _positions(circuit, dict(configuration.controls))
    for number, element in enumerate(network.elements):
        owner = element.name.partition(" ")[0].partition(".")[0]
        switched_off = element.positions and position.get(owner) not in element.positions
        if switched_off or (element.joint and owner in configuration.apart):
            rows[..., number, CONDUCTANCE] = 0.0
    return rows


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
    """Return the rows (V, E, 5) of several variants of one circuit."""
    return np.stack([circuit_row(circuit) for circuit in circuits])
