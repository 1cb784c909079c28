"""What a fleet shows at once is what each van shows alone; parts, fuses and faults behave."""

from dataclasses import replace

import numpy as np
import pytest

from sim.action import action_from_json
from sim.faults import possible_faults, with_faults
from sim.observe import Fleet, observe
from sim.situation import Situation
from tests.sim.van import CHAFED, HORN, OFF, ON, Hands, healthy, solver

#: Every verb and every function of the meter, fuses blown and jumpers put on among them.
TOUR = (
    {"measure": "ohms", "red": "C41.1a", "black": "E9.1"},
    {"measure": "diode", "red": "K3.85", "black": "K3.86"},
    {"set": ON},
    {"listen": "K3", "set": {"heater switch": "off"}},
    {"listen": "K3", "set": {"heater switch": "on"}},
    {"watch": "switch lamp lights"},
    {"wait": "5 min"},
    {"watch": "rear window clears"},
    {"feel": "E9"},
    {"feel": "C41"},
    {"look": "fuse panel"},
    {"look": "tailgate hinge"},
    {"measure": "volts", "red": "C41.1b", "black": "body"},
    {"measure": "volts", "red": "K3.30", "black": "K3.87"},
    {"lamp": True, "red": "K3.86", "black": "body"},
    {"measure": "continuity", "red": "E9.1", "black": "E9.2"},
    {"clamp": "wire 8"},
    {"swap": ["K3", "K5"]},
    {"clamp": "wire 9"},
    {"pull": "F7"},
    {"measure": "amps", "red": "F7.1", "black": "F7.2"},
    {"insert": "F7"},
    {"unplug": "C41"},
    {"measure": "volts", "red": "C41.1b", "black": "body"},
    {"bridge": ["B1.+", "C41.1b"]},
    {"feel": "E9"},
    {"unbridge": True},
    {"renew": "F7"},
    {"measure": "amps", "red": "B1.+", "black": "B1.-"},
    {"look": "fuse panel"},
)


def test_many_vans_at_once_show_what_each_shows_alone_bit_for_bit():
    circuits = [healthy()] + [with_faults(healthy(), f) for f, _ in possible_faults(healthy())]
    together = Fleet.of(circuits, solver())
    situation, memory = Situation(), together.fresh_memory()
    alone = {lane: Fleet.of([circuits[lane]], solver()) for lane in range(0, len(circuits), 4)}
    own = {lane: fleet.fresh_memory() for lane, fleet in alone.items()}
    for do in TOUR:
        action = action_from_json(do)
        seen = observe(together, situation, memory, action)
        for lane, fleet in alone.items():
            one = observe(fleet, situation, own[lane], action)
            assert one.situation == seen.situation
            assert one.outcome.harm[0] == seen.outcome.harm[lane]
            if seen.outcome.words is not None:
                assert one.outcome.words == (seen.outcome.words[lane],)
            if seen.outcome.numbers is not None:
                assert one.outcome.numbers.tobytes() == seen.outcome.numbers[lane].tobytes()
                assert one.outcome.floating[0] == seen.outcome.floating[lane]
            assert np.array_equal(one.memory.closed[0], seen.memory.closed[lane])
            assert np.array_equal(one.memory.blown[0], seen.memory.blown[lane])
            own[lane] = one.memory
        situation, memory = seen.situation, seen.memory


def test_observing_leaves_its_arguments_as_they_were():
    fleet = Fleet.of([healthy()], solver())
    fresh = fleet.fresh_memory()
    memory = replace(fresh, closed=fresh.closed.copy(), blown=fresh.blown.copy())
    rows = fleet.rows.copy()
    for do in ({"set": ON}, {"measure": "amps", "red": "B1.+", "black": "B1.-"}):
        observe(fleet, Situation(), memory, action_from_json(do))
        assert not memory.closed.any()
        assert not memory.blown.any()
        assert np.array_equal(rows, fleet.rows)


def heats(hands: Hands) -> bool:
    hands.do(set=ON)
    return hands.clamp("wire 8") > 11.0


def sounds(hands: Hands) -> bool:
    hands.do(set=HORN)
    heard = hands.words(watch="horn sounds") == "yes"
    hands.do(set={"horn button": "released"})
    return heard


def test_a_healthy_van_heats_and_sounds_its_horn_with_either_relay():
    hands = Hands()
    assert (heats(hands), sounds(hands)) == (True, True)
    hands.do(swap=["K3", "K5"])
    assert (heats(hands), sounds(hands)) == (True, True)


@pytest.mark.parametrize("fault", ["K3=contact open", "K3=coil open"])
def test_a_fault_of_the_relay_goes_with_it_into_the_horns_socket(fault):
    hands = Hands(fault)
    assert (heats(hands), sounds(hands)) == (False, True)
    hands.do(swap=["K3", "K5"])
    assert (heats(hands), sounds(hands)) == (True, False)
    hands.do(swap=["K3", "K5"])
    assert (heats(hands), sounds(hands)) == (False, True)


@pytest.mark.parametrize("fault", ["K3.87=open", "K3.30=open", "K3.86=open", "K3.85=open"])
def test_a_fault_of_the_socket_stays(fault):
    hands = Hands(fault)
    assert (heats(hands), sounds(hands)) == (False, True)
    hands.do(swap=["K3", "K5"])
    assert (heats(hands), sounds(hands)) == (False, True)


@pytest.mark.parametrize("fault", [CHAFED, f"{CHAFED} + F7=open"])
def test_a_new_fuse_into_a_short_blows_again_every_time(fault):
    hands = Hands(fault)
    hands.do(set=ON)
    for _again in range(3):
        assert hands.step(renew="F7").harm == ("F7 has blown",)
        assert hands.words(look="fuse panel") == "F7: the strip in the window is melted through"
        assert hands.clamp("wire 8") == 0.0


def test_a_new_fuse_holds_until_the_short_is_fed():
    hands = Hands(f"{CHAFED} + F7=open")
    hands.do(set=OFF)
    assert hands.step(renew="F7").harm == ()
    assert hands.words(look="fuse panel") == "nothing out of the ordinary"
    assert hands.words(measure="continuity", red="F7.1b", black="F7.2b") == "beeps"
    # what blows when the driver's controls are used, the fault has blown
    assert hands.step(set=ON).harm == ()
    assert hands.words(look="fuse panel") == "F7: the strip in the window is melted through"


@pytest.mark.parametrize(("off", "on"), [({"unplug": "C41"}, "plug"), ({"pull": "K3"}, "insert")])
def test_what_a_short_blows_when_things_are_put_back_is_nobodys_harm(off, on):
    hands = Hands("wire 9=short to ground:0.1 ohm")
    hands.do(**off)
    hands.do(set=ON)
    [part] = off.values()
    assert hands.step(**{on: part}).harm == ()
    assert hands.words(look="fuse panel") == "F7: the strip in the window is melted through"


def test_a_blown_fuse_renewed_mends_a_circuit_that_is_otherwise_whole():
    hands = Hands("F7=open")
    assert not heats(hands)
    hands.do(renew="F7")
    assert heats(hands)
    assert hands.words(look="fuse panel") == "nothing out of the ordinary"


def test_harm_done_by_hand_is_listed_once_and_stays():
    hands = Hands()
    step = hands.step(bridge=["F9.1b", "X7.ring"])
    assert set(step.harm) & {"F9 has blown", "the jumper's fuse has blown"}
    assert hands.step(unbridge=True).harm == ()
    again = hands.step(measure="volts", red="B1.+", black="B1.-")
    assert again.harm == ()
    assert hands.bench.memory.blown.sum() == len(step.harm)


def test_the_jumpers_fuse_does_not_come_back():
    hands = Hands()
    harm = hands.step(bridge=["B1.+", "B1.-"]).harm
    assert harm == ("the jumper's fuse has blown",)
    hands.do(unbridge=True)
    hands.do(unplug="C41")
    hands.do(bridge=["B1.+", "C41.1b"])
    assert hands.clamp("wire 9") == 0.0


def test_a_jumper_proves_a_load_side():
    hands = Hands("K3.87=open")
    hands.do(unplug="C41")
    hands.do(bridge=["B1.+", "C41.1b"])
    hands.do(wait="1 min")
    assert hands.words(feel="E9") == "warm"


def test_unplugged_both_halves_can_be_read_and_nothing_flows():
    hands = Hands()
    hands.do(set=ON)
    hands.do(unplug="C41")
    assert hands.volts("C41.1a") > 12.0
    assert abs(hands.volts("C41.1b")) < 0.05
    assert hands.clamp("wire 8") == 0.0
    hands.do(plug="C41")
    assert hands.clamp("wire 8") > 11.0
