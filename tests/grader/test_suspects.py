"""Who is a suspect: what the complaint does not contradict, at every corner of what varies."""

from dataclasses import replace
from functools import cache

import numpy as np
import pytest

from grader.draw import assignable
from grader.possible import Possible, mending_unit, set_values
from grader.suspects import (
    Lineup,
    asked,
    corner_circuits,
    line_up,
    shows_complaint,
)
from sim.faults import parse_faults, possible_faults, with_faults
from sim.observe import Fleet
from sim.solver.steady import LEAK, Solver
from tests.grader.foggy import foggy, prepared

SINCE = "Since when?"


def names() -> list[str]:
    return [suspect.name for suspect in prepared().lineup.suspects]


def shown(fault: str) -> list[bool]:
    """Tell for every corner whether a fault shows the complaint."""
    faults = parse_faults(foggy().circuit, fault)
    fleet = Fleet.of([with_faults(c, faults) for c in corner_circuits(foggy())])
    return shows_complaint(foggy(), fleet).tolist()


@pytest.mark.parametrize(
    "fault",
    [
        "F12=open",  # the light in the switch stays dark
        "S4.lamp=open",
        "S4=lamp open",
        "wire 2=open",
        "K3=diode shorted",  # blows F12, and the light with it
        "S1=contact open",
        "F9=open",  # the horn's
        "H1=open",
        "K3=stuck closed",  # the window clears
        "B1=high resistance:0.08 ohm",
    ],
)
def test_what_contradicts_the_complaint_is_no_suspect_at_any_corner(fault):
    assert not any(shown(fault))
    assert fault not in names()


@pytest.mark.parametrize("fault", ["C41.1=open", "E9=line open:6", "K3.85=open", "X7=open"])
def test_a_suspect_shows_the_complaint_at_every_corner(fault):
    assert shown(fault) == [True] * 4
    assert fault in names()


def test_every_suspect_and_nobody_else_shows_the_complaint_everywhere():
    everywhere = {
        "+".join(f"{f.point}={f.way}:{f.severity}" for f in faults)
        for faults, _ in possible_faults(foggy().circuit)
        if all(
            shows_complaint(
                foggy(), Fleet.of([with_faults(c, faults) for c in corner_circuits(foggy())])
            )
        )
    }
    suspects = {
        "+".join(f"{f.point}={f.way}:{f.severity}" for f in s.faults)
        for s in prepared().lineup.suspects
    }
    assert suspects == everywhere


def test_what_shows_the_complaint_in_some_vans_only_is_no_suspect():
    # with one very long wire even a healthy van's window stays fogged: a dead horn is suspect then
    long = replace(foggy(), varies={"wire 9.length": (0.7, 700.0)})
    fleet = Fleet.of(corner_circuits(long))
    assert shows_complaint(long, fleet).tolist() == [False, True]
    found = {suspect.name for suspect in line_up(long).suspects}
    assert "H1=open" not in found
    assert "C41.1=open" in found


def test_there_is_enough_to_find_and_to_give():
    circuit = foggy().circuit
    possible = {
        " + ".join(f"{f.point}={f.way}" for f in faults) for faults, _ in possible_faults(circuit)
    }
    assert len(possible) >= 14
    assert possible >= {
        "wire 3=open",
        "C41.1=high resistance",  # broken strands in the hinge boot
        "K3=contact burnt",
        "S4=contact burnt",
        "K3=coil open",
        "K3=diode shorted",
        "wire 8=short to ground + F7=open",  # chafed feed that blows the fuse
        "X7=open",  # lost ground
        "K3=wrong part",
        "E9=line open",  # partial grid
    }
    severities = [n for n in names() if n.startswith("C41.1=high resistance")]
    assert len(severities) == 3
    given = assignable(prepared().lineup)
    assert len({suspect.name for suspect in given}) >= 8
    assert len({suspect.unit.name for suspect in given}) >= 8


def test_likelihoods_are_those_of_the_circuit_shared_by_severities():
    chances = dict(zip(names(), prepared().lineup.likelihoods, strict=True))
    assert sum(chances.values()) == pytest.approx(1.0, abs=1e-12)
    # the circuit file: 4 shared by three severities, against 2 for the open joint
    mild, worst = (chances[f"C41.1=high resistance:{s} ohm"] for s in ("0.4", "2"))
    assert mild == pytest.approx(worst)
    assert 3 * mild / chances["C41.1=open"] == pytest.approx(4 / 2)
    assert chances["K3=wrong part"] / chances["C41.1=open"] == pytest.approx(0.4 / 2)


def test_an_answer_moves_likelihoods_by_its_factors():
    before, after = (prepared().likelihoods(q) for q in ((), (SINCE,)))
    factor = np.ones(len(before))
    for index, suspect in enumerate(prepared().lineup.suspects):
        parts = {fault.part for fault in suspect.faults}
        factor[index] = 3.0 if "C41" in parts else 2.0 if "X7" in parts else 1.0
    assert after == pytest.approx(before * factor / (before * factor).sum(), abs=1e-15)
    assert after.sum() == pytest.approx(1.0, abs=1e-12)


def test_asking_twice_or_asking_in_vain_moves_nothing():
    lineup = prepared().lineup
    assert np.array_equal(asked(lineup, [SINCE, SINCE]), asked(lineup, [SINCE]))
    assert np.array_equal(asked(lineup, ["Is it worse in the wet?"]), lineup.likelihoods)
    assert np.array_equal(asked(lineup, ["Is it haunted?"]), lineup.likelihoods)


@pytest.mark.parametrize(
    ("fault", "unit"),
    [
        ("F7=open", "fuse F7"),
        ("F7.2=high resistance:0.4 ohm", "holder of F7"),
        ("wire 8=short to ground:0.1 ohm + F7=open", "wire 8"),
        ("wire 7=short to ground:0.1 ohm", "wire 7"),
        ("K3.87=open", "socket of K3"),
        ("K3=wrong part", "relay K3"),
        ("E9=line open:8", "grid lines"),
        ("E9.1=open", "tabs of E9"),
    ],
)
def test_a_suspect_belongs_to_the_first_unit_that_mends_all_of_it(fault, unit):
    one = Possible(fault, parse_faults(foggy().circuit, fault), 1.0)
    assert mending_unit(foggy(), one).name == unit


def test_the_fleet_holds_every_suspect_at_every_corner():
    lineup = prepared().lineup
    assert lineup.corners == 4
    assert len(lineup.fleet.circuits) == 4 * len(lineup.suspects)
    for index, suspect in enumerate(lineup.suspects):
        for corner, whole in enumerate(corner_circuits(foggy())):
            circuit = lineup.fleet.circuits[4 * index + corner]
            assert circuit.temperature == whole.temperature
            assert circuit.parts == with_faults(whole, suspect.faults).parts
        assert lineup.index(suspect.name) == index


def test_varied_values_are_set_where_they_belong():
    circuit = set_values(foggy().circuit, {"B1.charge": 0.8, "temperature": -2.0})
    assert circuit.parts["B1"].number("charge") == 0.8
    assert circuit.temperature == -2.0
    assert foggy().circuit.parts["B1"].number("charge") == 0.85


@cache
def leaky() -> Lineup:
    return line_up(foggy(), Solver.of(foggy().circuit, leak=10 * LEAK))


def test_the_leak_of_the_solver_makes_nobody_a_suspect():
    assert [suspect.name for suspect in leaky().suspects] == names()
    assert np.array_equal(leaky().likelihoods, prepared().lineup.likelihoods)
