"""Transceivers in a network: which elements drive them, which nodes they look at.

A port is one transceiver: of a unit, of the second pair of a gateway, or of a scan tool at its
socket. They are found by their drivers, the elements that `Trigger.DOMINANT` closes.
"""

from __future__ import annotations

from dataclasses import dataclass

from sim.network import COLUMNS, CONDUCTANCE, OTHER, TRIGGER, Floats, Network, owner_of
from sim.parts.family import Element, Trigger

HIGH = " H driver"
TESTER = " tester"
SECOND = " 2"


@dataclass(frozen=True, slots=True)
class Port:
    """One transceiver.

    Attributes
    ----------
    unit : str
        Name of its part.
    second : bool
        Whether it is on the second pair of a gateway.
    tester : bool
        Whether it is a scan tool's.
    drivers : tuple of int
        Elements of the H and the L driver.
    high, low, minus, five : int
        Nodes of its lines, on its own side of the plug, of its ground, and of its 5 V.
    relay : int
        Number of the relay that says that its unit has supply.
    """

    unit: str
    second: bool
    tester: bool
    drivers: tuple[int, int]
    high: int
    low: int
    minus: int
    five: int
    relay: int


def has_bus(network: Network) -> bool:
    """Tell whether a network has a transceiver at all."""
    return any(element.trigger is Trigger.DOMINANT for element in network.elements)


def ports_of(network: Network) -> tuple[Port, ...]:
    """Return the transceivers, in the order of the network's elements."""
    return tuple(
        _port(network, number, element)
        for number, element in enumerate(network.elements)
        if element.trigger is Trigger.DOMINANT and HIGH in element.name
    )


def _port(network: Network, number: int, element: Element) -> Port:
    name, _, pair = element.name.partition(HIGH)
    low = network.element(f"{name} L driver{pair}")
    foot = network.element(f"{name} L diode{pair}")
    return Port(
        owner_of(element),
        pair == SECOND,
        name.endswith(TESTER),
        (number, low),
        network.node(element.b),
        int(network.ends[low, 0]),
        int(network.ends[foot, 1]),
        network.node(f"{name} 5V"),
        network.relay_names.index(element.relay),
    )


def dominant(rows: Floats, *ports: Port) -> Floats:
    """Return rows (..., E, 5), of rows (..., E, 13), with these transceivers sending dominant."""
    sending = rows[..., :COLUMNS].copy()
    for port in ports:
        for number in port.drivers:
            sending[..., number, CONDUCTANCE] = rows[..., number, OTHER]
    return sending


def plugged_in(network: Network, rows: Floats) -> Floats:
    """Return copies of rows (..., E, 13) with a scan tool in every diagnostic socket."""
    rows = rows.copy()
    for number, element in enumerate(network.elements):
        if element.trigger is Trigger.TESTER:
            on = rows[..., number, TRIGGER] == Trigger.TESTER
            rows[..., number, CONDUCTANCE][on] = rows[..., number, OTHER][on]
    return rows
