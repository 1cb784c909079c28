"""The thermometer shows ambient, and what a part's own power adds to it in time."""

import math

import pytest

from sim.circuitfile import read_circuit
from sim.instruments.thermometer import show_temperature
from sim.parts.heat import RISE, TIME_CONSTANT
from sim.slowheat import LOAD_SECONDS
from tests.sim.conftest import CIRCUITS
from tests.sim.instruments.rig import Rig
from tests.sim.van import OFF, ON, Hands


def degrees(hands: Hands, part: str) -> float:
    return float(hands.do(temperature=part).value)


def test_what_carries_nothing_is_at_the_ambient_temperature():
    hands = Hands()
    for part in ("C41", "E9", "K3", "F7", "X7"):
        assert degrees(hands, part) == hands.bench.circuit.temperature


def test_a_bad_joint_is_hot_and_a_good_one_is_not():
    bad, good = Hands("C41.1=high resistance:0.4 ohm"), Hands()
    for hands in (bad, good):
        hands.do(set=ON)
        hands.do(wait="5 min")
    assert degrees(bad, "C41") > 100.0
    assert degrees(good, "C41") < 40.0


def test_the_joint_that_a_hand_calls_hot_is_at_sixty_degrees():
    """2.5 W in a joint: 13 A through 14.8 mohm, 3 of them its own."""
    hands = Hands("C41.1=high resistance:11.8 mohm")
    hands.do(set=ON)
    hands.do(wait="10 min")
    assert degrees(hands, "C41") == pytest.approx(20.0 + RISE, abs=3.0)


def test_heat_comes_and_goes_with_one_time_constant():
    hands = Hands()
    hands.do(look="rear of van")
    hands.do(set=ON)
    first = degrees(hands, "E9") - 20.0
    seconds = hands.bench.situation.rested
    hands.do(wait="10 min")
    settled = degrees(hands, "E9") - 20.0
    assert first / settled == pytest.approx(1 - math.exp(-seconds / LOAD_SECONDS), abs=0.01)
    hands.do(set=OFF)
    first = degrees(hands, "E9") - 20.0
    seconds = hands.bench.situation.rested
    assert first / settled == pytest.approx(math.exp(-seconds / LOAD_SECONDS), abs=0.01)
    hands.do(wait="10 min")
    assert degrees(hands, "E9") == 20.0


def test_outside_its_range_it_shows_no_number():
    assert show_temperature(-41.0).value == "OL"
    assert show_temperature(500.0).value == "OL"
    assert show_temperature(-0.04).value == "0.0"
    assert show_temperature(499.94).value == "499.9"


def test_thermometer_hand_and_nose_tell_of_one_heat():
    """30 W in a joint: over 110 degC (smells), over 55 (hot), but not in its first seconds."""
    hands = Hands("C41.1=high resistance:0.4 ohm")
    hands.do(look="tailgate hinge")
    hands.do(set=ON)
    seconds, said = 0.0, {}
    while seconds < 4 * TIME_CONSTANT:
        celsius = degrees(hands, "C41")
        felt, smelt = hands.words(feel="C41"), hands.words(smell="tailgate hinge")
        said[celsius] = (felt, "hot plastic" in smelt)
        seconds = hands.bench.situation.rested
    for celsius, (felt, smells) in said.items():
        assert felt == "hot" or celsius < 55.0
        assert smells or celsius < 110.0
    assert min(said) < 110.0 < max(said)


def test_a_seized_motor_is_hotter_than_one_that_works():
    """All its power heats it: 12 A through the winding instead of 3.5 A."""
    wiper = read_circuit(CIRCUITS / "rear-wiper.circuit.yaml")
    felt, celsius = {}, {}
    for fault in ("", "M1=seized", "C42.1=high resistance:8 ohm"):
        rig = Rig(wiper, fault)
        rig.step(set={"key": "run", "rear wiper": "on"})
        rig.step(wait="10 min")
        felt[fault] = rig.do(feel="M1").words
        celsius[fault] = float(rig.do(temperature="M1").value)
    assert felt == {"": "warm", "M1=seized": "hot", "C42.1=high resistance:8 ohm": "lukewarm"}
    assert celsius[""] + 100.0 < celsius["M1=seized"]
