"""The way of the current, found in solved circuits, against what the wiring diagram says."""

import numpy as np
import pytest

from grader.because import solved
from grader.currentpath import CARRIES, EXCESS, Lane, culprit, way_between, way_of, way_through
from grader.outcomes import confirmed
from sim.action import action_from_json
from tests.grader.foggy import prepared

LOAD = ["wire 6", "F7", "wire 7", "K3", "wire 8", "C41", "wire 9", "E9", "wire 10", "X7"]
CONTROL = ["wire 11", "S1", "wire 1", "F12", "wire 2", "S4", "wire 3", "K3", "wire 5"]


def lane(cause: str, do: dict) -> Lane:
    """Solve an action on the sound vehicle ('') or on one suspect."""
    one = prepared()
    fleet = one.lineup.fleet if cause else one.healthy
    number = one.lineup.index(cause) * one.lineup.corners if cause else 0
    situation, memory = confirmed(one.lineup, fleet)
    solution, _shown = solved(fleet, situation, memory, action_from_json(do))
    return Lane.of(fleet.solver.network, solution, number)


def volts(red: str, black: str = "body") -> dict:
    return {"measure": "volts", "red": red, "black": black}


def vehicle(owners: tuple[str, ...]) -> list[str]:
    """Leave out the cables and studs at the battery."""
    return [o for o in owners if o not in ("X1", "wire 12", "link30") and "strap" not in o]


def test_the_way_through_a_point_is_the_track_of_the_wiring_diagram():
    way = way_through(lane("", volts("C41.1b")), "C41.1b")
    assert vehicle(way.owners()) == LOAD
    assert vehicle(way.owners(0, way.position("C41.1b"))) == LOAD[:6]


def test_the_way_of_a_coil_is_the_control_track():
    sound = lane("", {"listen": "K3", "set": {"heater switch": "on"}})
    coil = sound.network.element("K3 coil")
    assert vehicle(way_of(sound, coil).owners()) == CONTROL


def test_losses_along_a_whole_way_add_up_to_what_the_battery_gives():
    """Kirchhoff's voltage law."""
    for cause in ("", "C41.1=high resistance:0.8 ohm", "wire 10=open"):
        sound, one = lane("", volts("C41.1b")), lane(cause, volts("C41.1b"))
        way = way_through(sound, "C41.1b")
        names = one.network.nodes
        battery = one.volts[names.index("B1.+")] - one.volts[names.index("B1.-")]
        assert way.losses(one).sum() == pytest.approx(battery, abs=1e-9)


@pytest.mark.parametrize(
    ("cause", "element"),
    [
        ("F7=open", "F7"),
        ("K3=contact open", "K3 contact"),
        ("K3=coil open", "K3 contact"),
        ("wire 8=open", "wire 8 second half"),
        ("wire 8=short to ground:0.1 ohm", "F7"),
        ("C41.1=high resistance:2 ohm", "C41.1"),
        ("E9=all lines open", "E9 grid"),
        ("X7=high resistance:1.2 ohm", "X7"),
        ("X1=high resistance:0.4 ohm", "X1"),
    ],
)
def test_the_culprit_is_where_the_fault_takes_the_voltage(cause, element):
    sound, one = lane("", volts("C41.1b")), lane(cause, volts("C41.1b"))
    way = way_through(sound, "C41.1b")
    worst = culprit(way, sound, one)
    assert worst is not None
    assert one.network.elements[way.legs[worst].element].name == element


def test_a_load_that_is_itself_broken_is_known_by_its_current():
    do = {"listen": "K3", "set": {"heater switch": "on"}}
    sound, one = lane("", do), lane("K3=coil open", do)
    way = way_of(sound, sound.network.element("K3 coil"))
    worst = culprit(way, sound, one)
    assert one.network.elements[way.legs[worst].element].name == "K3 coil"


def test_a_fault_on_another_track_is_no_culprit():
    sound, one = lane("", volts("K3.86")), lane("F7=open", volts("K3.86"))
    assert culprit(way_through(sound, "K3.86"), sound, one) is None


def test_an_ohmmeters_way_runs_from_lead_to_lead():
    one = prepared()
    start = one.start
    do = action_from_json({"measure": "ohms", "red": "E9.1", "black": "body"})
    solution, _shown = solved(one.healthy, start, one.healthy_memory(), do)
    way = way_between(Lane.of(one.healthy.solver.network, solution, 0), "E9.1", "body")
    assert way.owners() == ("E9", "wire 10", "X7")


def test_nothing_flows_to_a_point_that_nothing_feeds():
    one = prepared()
    do = action_from_json(volts("K3.87"))
    solution, _shown = solved(one.healthy, one.start, one.healthy_memory(), do)
    sound = Lane.of(one.healthy.solver.network, solution, 0)
    fed = [leg for leg in way_through(sound, "K3.87").legs if sound.current[leg.element] > 1e-3]
    assert fed == []


def test_what_counts_as_flowing_lies_between_the_solvers_leak_and_a_meter():
    assert 12.0 * prepared().lineup.fleet.solver.leak < CARRIES / 100
    assert 100 * CARRIES < 12.0 / 10e6  # a voltmeter of 10 Mohm
    assert 0.0 < EXCESS < 0.4  # less than the least listed resistance takes at 9 A: 3.6 V
    assert np.isfinite(EXCESS)
