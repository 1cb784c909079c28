"""Circuit and configuration -> rows of numbers."""

from dataclasses import replace

import numpy as np
import pytest

from sim.circuit import Circuit
from sim.faults import parse_faults, possible_faults, with_faults
from sim.network import (
    CONDUCTANCE,
    LEADS,
    Configuration,
    Floats,
    build_network,
    circuit_elements,
    circuit_row,
    configured,
    stack_rows,
)


def siemens(circuit: Circuit, configuration: Configuration, faults: str = "") -> dict[str, float]:
    """Give the conductance of every element."""
    faulty = with_faults(circuit, parse_faults(circuit, faults)) if faults else circuit
    rows = configured(circuit, build_network(circuit), stack_rows([faulty]), configuration)
    names = [element.name for element in circuit_elements(circuit)]
    return dict(zip(names, rows[0, :, CONDUCTANCE].tolist(), strict=True))


def test_the_body_comes_first_and_the_leads_last(shipped: Circuit) -> None:
    network = build_network(shipped)
    assert network.nodes[0] == "body"
    assert network.nodes[-4:] == LEADS
    assert len(set(network.nodes)) == len(network.nodes)
    assert [network.node(name) for name in network.nodes] == list(range(len(network.nodes)))


def test_rails_are_points_not_nodes(heater: Circuit) -> None:
    network = build_network(heater)
    assert not {"15", "30", "31"} & set(network.nodes)
    fed = network.elements[network.element("wire 6 first half")]
    assert fed.a == "link30.2"


@pytest.mark.parametrize(
    ("key", "live"),
    [
        ("off", set()),
        ("accessory", {"accessory"}),
        ("run", {"accessory", "run"}),
        ("crank", {"run", "crank"}),
    ],
)
def test_the_key_switch_feeds_its_terminals(heater: Circuit, key: str, live: set[str]) -> None:
    """Terminal 15 stays live while cranking, 75 does not, 50 only then: DIN 72552, from memory."""
    found = siemens(heater, Configuration((("key", key),)))
    assert {pin for pin in ("accessory", "run", "crank") if found[f"S1 {pin}"] > 0} == live


def test_a_control_never_touched_is_in_its_first_position(heater: Circuit) -> None:
    first = tuple((name, control.positions[0]) for name, control in heater.controls.items())
    assert siemens(heater, Configuration()) == siemens(heater, Configuration(first))


def test_unplugging_opens_every_joint_of_the_part_and_nothing_else(heater: Circuit) -> None:
    before, after = siemens(heater, Configuration()), siemens(heater, Configuration(apart=("K3",)))
    changed = {name for name in before if before[name] != after[name]}
    assert changed == {"K3.30", "K3.87", "K3.85", "K3.86"}
    assert all(after[name] == 0.0 for name in changed)


def test_a_fault_inside_moves_with_the_part_and_a_fault_of_the_socket_stays(
    heater: Circuit,
) -> None:
    swapped = Configuration(swapped=(("K3", "K5"),))
    inside = siemens(heater, swapped, "K3=coil open")
    assert inside["K5 coil"] == 0.0
    assert inside["K3 coil"] > 0.0
    socket = siemens(heater, swapped, "K3.86=open")
    assert socket["K3.86"] == 0.0
    assert socket["K5.86"] > 0.0


def test_swapping_twice_is_not_swapping(heater: Circuit) -> None:
    pair = ("K3", "K5")
    twice = siemens(heater, Configuration(swapped=(pair, pair)), "K3=coil open")
    assert twice == siemens(heater, Configuration(), "K3=coil open")


def test_a_renewed_fuse_is_whole_in_a_socket_that_may_not_be(heater: Circuit) -> None:
    found = siemens(heater, Configuration(renewed=("F7",)), "F7=open + F7.1=open")
    assert found["F7"] > 0.0
    assert found["F7.1"] == 0.0


def test_configuring_leaves_the_rows_alone(heater: Circuit) -> None:
    rows: Floats = stack_rows([heater])
    before = rows.copy()
    configured(heater, build_network(heater), rows, Configuration(apart=("K3",)))
    assert (rows == before).all()
    assert (rows[0] == circuit_row(heater)).all()
    assert np.isfinite(rows).all()


def test_rows_of_many_variants_are_those_of_each_alone(heater: Circuit) -> None:
    """Only what differs from the first is expanded again; a vehicle as cold as no other is too."""
    faulty = [with_faults(heater, faults) for faults, _likelihood in possible_faults(heater)]
    variants = [heater, *faulty, replace(faulty[0], temperature=heater.temperature - 30.0)]
    alone = np.stack([circuit_row(circuit) for circuit in variants])
    assert stack_rows(variants).tobytes() == alone.tobytes()
