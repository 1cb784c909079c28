"""What is shown is text to the last digit, and the same again in a replay."""

import pytest

from sim.action import Action
from sim.display import HUM, shown
from sim.observe import Fleet, observe
from sim.situation import Situation
from tests.sim.van import ON, Hands, healthy, solver


def test_a_loose_wire_shows_a_few_millivolts_that_wander():
    hands = Hands("wire 9=open")
    hands.do(set=ON)
    hands.do(unplug="E9")
    seen = []
    for _again in range(6):
        reading = hands.do(measure="volts", red="E9.1", black="body")
        assert reading.unit == "mV"
        assert not reading.steady
        assert abs(float(reading.value)) <= HUM * 1e3
        seen.append(reading.value)
        hands.do(wait="10 s")
    assert len(set(seen)) > 3


def test_the_wandering_digits_are_the_same_in_a_replay():
    def play() -> list[str]:
        hands = Hands("wire 9=open")
        hands.do(unplug="E9")
        return [
            hands.do(measure="volts", red="E9.1", black="body").value
            for _ in range(3)
            if hands.step(wait="7 s")
        ]

    assert play() == play()


def test_a_wire_that_is_held_stands_still():
    hands = Hands()
    hands.do(set=ON)
    values = set()
    for _again in range(3):
        reading = hands.do(measure="volts", red="F7.1b", black="body")
        assert reading.steady
        values.add(reading.value)
        hands.do(wait="10 s")
    assert len(values) == 1


def test_handling_shows_nothing():
    fleet = Fleet.of([healthy()], solver())
    action = Action("pull", "F7")
    seen = observe(fleet, Situation(), fleet.fresh_memory(), action)
    assert shown(action, seen.situation, seen.outcome) is None


@pytest.mark.parametrize(
    ("do", "unit"),
    [
        ({"measure": "volts", "red": "B1.+", "black": "B1.-"}, "V"),
        ({"measure": "ohms", "red": "H1.1", "black": "body"}, "ohm"),
        ({"measure": "diode", "red": "K3.85", "black": "K3.86"}, "V"),
        ({"measure": "amps", "red": "F7.1b", "black": "F7.2b"}, "A"),
        ({"clamp": "wire 8"}, "A"),
    ],
    ids=str,
)
def test_every_number_has_its_unit(do, unit):
    assert Hands().do(**do).unit == unit


def test_continuity_speaks():
    hands = Hands()
    assert hands.words(measure="continuity", red="F7.1b", black="F7.2b") == "beeps"
    assert hands.words(measure="continuity", red="K3.30", black="K3.87") == "silent"
