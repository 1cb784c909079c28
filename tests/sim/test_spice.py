"""The netlist as text; what ngspice makes of it is in tests/reference."""

import re
from types import SimpleNamespace

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st

from sim.circuit import Circuit
from sim.faults import parse_faults, with_faults
from sim.network import Configuration, configured, stack_rows
from sim.solver.steady import Solver
from sim.spice import Held, spice_names, write_netlist

ON = Configuration((("key", "run"), ("heater switch", "on")))


def netlist(circuit: Circuit, faults: str = "", **held: object) -> str:
    """Give the netlist of a circuit with its controls on; states at rest unless given."""
    faulty = with_faults(circuit, parse_faults(circuit, faults)) if faults else circuit
    solver = Solver.of(circuit)
    row = configured(circuit, solver.network, stack_rows([faulty]), ON)[0]
    lanes = solver.lanes(np.array([0]))
    state = Held(
        held.get("closed", lanes.closed[0]),
        held.get("blown", lanes.blown[0]),
        held.get("attached", (-1, -1, -1, -1)),
    )
    return write_netlist(solver.network, row, state, str(held.get("title", "a title")))


def lines(text: str, start: str) -> list[str]:
    return [line for line in text.splitlines() if line.startswith(start)]


def test_every_point_is_named_and_leaks_a_tera_ohm(heater: Circuit) -> None:
    text = netlist(heater)
    points = dict(re.findall(r"^\* (\S+) = (.+)$", text, re.MULTILINE))
    assert set(points.values()) == set(Solver.of(heater).network.nodes[1:-4])
    leaks = [line.split() for line in lines(text, "Rleak")]
    assert [leak[1] for leak in leaks] == list(points)
    assert {(leak[2], float(leak[3])) for leak in leaks} == {("0", 1e12)}
    assert len(lines(text, "print v(")) == len(points)


def test_the_nodes_are_the_points_and_what_devices_force(heater: Circuit) -> None:
    """One more inside the battery, and one outside the circuit for each relay."""
    text = netlist(heater)
    points = dict(re.findall(r"^\* (\S+) = (.+)$", text, re.MULTILINE))
    used = set()
    for line in text.splitlines():
        if line[0] in "HVBSDR":
            used |= set(line.split()[1:3])
    assert used - set(points) - {"0"} == {"b1_inner", "k3_contact_inner", "k5_contact_inner"}


def test_an_open_element_is_left_out(heater: Circuit) -> None:
    assert lines(netlist(heater), "Hf7 ")
    assert not lines(netlist(heater, "F7=open"), "Hf7 ")
    assert not lines(netlist(heater), "Hs9_contact ")


def test_blown_and_pulled_in_come_from_history(heater: Circuit) -> None:
    network = Solver.of(heater).network
    blown = np.array([int(name == "F7") for name in network.fuse_names])
    assert not lines(netlist(heater, blown=blown), "Hf7 ")
    assert lines(netlist(heater), "Sk3_contact ")[0].endswith(" OFF")
    pulled = netlist(heater, closed=np.array([1, 0]))
    assert [line.split()[-1] for line in lines(pulled, "S")] == ["ON", "OFF"]


def test_the_thresholds_stand_in_the_netlist(heater: Circuit) -> None:
    """Pull-in 7 V and drop-out 2.5 V at 85 ohm, in amperes."""
    found = re.search(r"sw\(vt=(\S+) vh=(\S+) ron=(\S+) roff=(\S+)\)", netlist(heater))
    assert found
    middle, half, on, off = (float(number) for number in found.groups())
    assert middle + half == pytest.approx(7 / 85)
    assert middle - half == pytest.approx(2.5 / 85)
    assert (on, off) == (pytest.approx(0.0015), 1e30)


@pytest.mark.parametrize(
    ("fault", "switch", "plain"),
    [
        ("K3=wrong part", True, False),
        ("K3=stuck closed", False, True),
        ("K3=contact open", False, False),
        ("K3=coil open", False, False),
        ("K3=wrong part + K3=coil open", False, True),
    ],
)
def test_contacts_that_cannot_move(
    heater: Circuit, fault: str, *, switch: bool, plain: bool
) -> None:
    text = netlist(heater, fault)
    assert bool(lines(text, "Sk3_contact ")) is switch
    assert bool(lines(text, "Hk3_contact ")) is plain


def test_a_wrong_relay_opens_when_it_pulls_in(heater: Circuit) -> None:
    model = lines(netlist(heater, "K3=wrong part"), ".model k3_contact ")[0]
    assert "ron=1e+30" in model


def test_leads_that_are_on_are_in_and_loose_ones_are_not(heater: Circuit) -> None:
    node = Solver.of(heater).network.node("E9.1")
    text = netlist(heater, attached=(node, 0, -1, -1))
    assert lines(text, "Hlead0 ") == ["Hlead0 red_lead e9_1 Hlead0 0.05"]
    assert lines(text, "Hlead1 ") == ["Hlead1 black_lead 0 Hlead1 0.05"]
    assert not lines(text, "Hlead2 ")
    assert not [line for line in lines(text, "Rleak") if "lead " in line.split()[1]]
    assert "red_lead" not in netlist(heater)


def test_numbers_are_plain_floats(heater: Circuit) -> None:
    """What it cannot read, such as np.float64(1.0), ngspice ignores without a word."""
    text = netlist(heater, closed=np.array([1, 1]))
    assert "np." not in text
    for line in lines(text, "H"):
        assert float(line.split()[4]) > 0


def test_the_title_is_one_line(heater: Circuit) -> None:
    text = netlist(heater, title="one\n.include /etc/passwd\ntwo")
    assert text.splitlines()[0] == "* one .include /etc/passwd two"


def test_an_emf_makes_one_node(lab: SimpleNamespace) -> None:
    answer = lab.solve(lab.source("cell", "a", "b", 1.5, 0.2), lab.resistor("r", "b", "body", 1.0))
    network = answer.solver.network
    held = Held(answer.solution.closed[0], answer.solution.blown[0])
    text = write_netlist(network, answer.rows[0], held, "cell")
    assert "Vcell a cell_inner 1.5\nHcell cell_inner b Hcell 0.2\n" in text


@given(st.lists(st.text(max_size=8), unique=True))
def test_names_are_single_words_and_differ(names: list[str]) -> None:
    words = spice_names(names)
    assert len(set(words)) == len(names)
    assert all(re.fullmatch("[a-z][a-z0-9_]*", word) and word != "gnd" for word in words)


def test_plus_and_minus_of_a_battery_stay_apart() -> None:
    assert spice_names(["B1.+", "B1.-", "B1.plus"]) == ["b1_plus", "b1_minus", "b1_plus_2"]
