"""The LED lamp: next to no load, shows polarity, glows where the filament stays dark."""

import pytest

from sim.instruments.led import FORWARD, SERIES, glow
from tests.sim.instruments.rig import Rig, circuit, resistor, wire
from tests.sim.van import ON, Hands


def lamps(hands: Hands, red: str, black: str = "body") -> tuple[str, str]:
    leads = {"red": red, "black": black}
    return hands.words(led=True, **leads), hands.words(lamp=True, **leads)


def test_it_shows_which_lead_is_the_more_positive():
    hands = Hands()
    assert lamps(hands, "B1.+") == ("red", "bright")
    assert lamps(hands, "body", "B1.+") == ("green", "bright")
    assert lamps(hands, "body", "X7.ring") == ("dark", "dark")


def test_it_glows_through_a_joint_that_leaves_the_filament_dark():
    hands = Hands("C41.1=high resistance:50 kohm")
    hands.do(set=ON)
    hands.do(unplug="E9")
    assert lamps(hands, "E9.1") == ("dim red", "dark")
    assert lamps(hands, "C41.1a") == ("red", "bright")


@pytest.mark.parametrize("ohms", [1.0, 1e3, 10e3, 50e3])
def test_its_current_is_what_ohm_says_of_a_diode_and_a_resistor(tmp_path, ohms):
    rig = Rig(circuit(tmp_path, [resistor("R1", ohms)], [wire("B1.+", "R1.1")]))
    words = rig.do(led=True, red="R1.2", black="body").words
    assert words == glow((12.0 - FORWARD) / (SERIES + ohms))


@pytest.mark.parametrize(
    ("amps", "seen"),
    [(0.0, "dark"), (9e-5, "dark"), (1e-4, "dim red"), (-2.9e-3, "dim green"), (3e-3, "red")],
)
def test_what_an_eye_tells_apart(amps, seen):
    assert glow(amps) == seen


def test_between_two_thresholds_neither_led_conducts(tmp_path):
    """A divider of 12 V that leaves 1.5 V: under the 1.8 V of an LED."""
    parts = [resistor("R1", 105.0), resistor("R2", 15.0)]
    wires = [wire("B1.+", "R1.1"), wire("R1.2", "R2.1"), wire("R2.2", "body")]
    rig = Rig(circuit(tmp_path, parts, wires))
    assert rig.do(measure="volts", red="R2.1", black="body").value == "1.500"
    assert rig.do(led=True, red="R2.1", black="body").words == "dark"
    assert rig.do(led=True, red="body", black="R2.1").words == "dark"
