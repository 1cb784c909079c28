"""The conductance tester measures what the circuit conducts, and says what it makes of it."""

from pathlib import Path

import pytest

from sim.action import action_from_json
from sim.bench import Bench
from sim.circuitfile import read_circuit
from sim.errors import SimError
from sim.instruments.conductance import verdict
from sim.parts.battery import internal_resistance
from sim.solver.steady import Solver
from tests.sim.instruments.rig import Rig, circuit, resistor, wire
from tests.sim.van import ON, Hands

POSTS = {"red": "B1.+", "black": "B1.-"}


def siemens(reading) -> float:
    return float(dict(reading.also)["siemens"])


def test_a_battery_alone_shows_one_over_its_resistance_and_its_own_rating():
    reading = Hands().do(conductance="640 A", **POSTS)
    assert siemens(reading) == pytest.approx(1 / internal_resistance(640.0, 20.0), abs=1.0)
    assert float(reading.value) == pytest.approx(640, abs=1)  # SAE J537: 7.2 V at the rating
    assert reading.words == "good"


def test_fifteen_volts_behind_one_ohm_are_one_siemens(tmp_path):
    """NEETS Module 1, figure 3-35: a source of 1 ohm internal resistance, whatever it delivers."""
    rig = Rig(circuit(tmp_path, [resistor("R1", 1.0)], [wire("B1.+", "R1.1")]))
    assert siemens(rig.do(conductance="640 A", red="R1.2", black="body")) == 1


def test_parallel_conductances_add(tmp_path):
    """20, 30 and 40 ohm side by side are 9.23 ohm (NEETS Module 1, figure 3-46); here mohm."""
    parts = [resistor(f"R{n}", n * 1e-3) for n in (20, 30, 40)]
    wires = [wire(f"R{n}.{end}", f"R20.{end}") for n in (30, 40) for end in (1, 2)]
    whole = circuit(tmp_path, parts, [*wires, wire("R20.2", "body")])
    ends = {"red": "R20.1", "black": "R20.2"}
    action = action_from_json({"conductance": "640 A", **ends})
    found = Rig(whole).bench.try_out(action).outcome.figure("siemens", 0)
    joints = 6e-3  # two terminals of 3 mohm each, in every branch
    expected = sum(1 / (n * 1e-3 + joints) for n in (20, 30, 40))
    assert found == pytest.approx(expected, rel=0.05)


@pytest.mark.parametrize("posts", [POSTS, {"red": "B1.-", "black": "B1.+"}])
def test_what_a_battery_accepts_when_charged_is_not_what_its_plates_conduct(posts):
    """A tester's pulses are too quick for what holds a charging current back."""
    path = Path(__file__).parents[3] / "lessons/circuits/charging.circuit.yaml"
    circuit = read_circuit(path)
    battery = circuit.parts["B1"]
    assert battery.number("accepts") > 0.0
    bench = Bench(circuit, Solver.of(circuit))
    found = bench.try_out(action_from_json({"conductance": "540 A", **posts})).outcome
    ohms = internal_resistance(540.0, 20.0, battery.number("charge"))
    assert found.figure("siemens", 0) == pytest.approx(1 / ohms, rel=0.01)


def test_consumers_left_on_make_the_battery_look_better():
    hands = Hands()
    alone = float(hands.do(conductance="640 A", **POSTS).value)
    hands.do(set=ON)
    assert float(hands.do(conductance="640 A", **POSTS).value) > alone


def test_a_terminal_between_clip_and_post_makes_it_look_worse():
    hands = Hands("X1=high resistance:0.4 ohm")
    assert hands.do(conductance="640 A", **POSTS).words == "good"
    reading = hands.do(conductance="640 A", red="B1.+", black="body")
    assert float(reading.value) < 100
    assert reading.words == "replace"


def test_a_worn_battery_is_found_and_an_empty_one_asked_to_be_charged():
    assert Hands("B1=high resistance").do(conductance="640 A", **POSTS).words == "replace"
    assert verdict(300.0, 12.0, 640.0) == "charge and test again"
    assert verdict(600.0, 12.0, 640.0) == "good, charge it"
    assert verdict(512.0, 12.4, 640.0) == "good"
    assert verdict(511.0, 12.4, 640.0) == "replace"


def test_where_there_is_no_battery_it_says_so():
    assert Hands().do(conductance="640 A", red="X7.ring", black="body").words == "no battery"


@pytest.mark.parametrize("rating", ["50 A", "5 kA", "640 V"])
def test_a_rating_that_no_battery_has_is_refused(rating):
    with pytest.raises(SimError) as caught:
        action_from_json({"conductance": rating, **POSTS})
    assert "\n" not in str(caught.value)


def test_it_is_no_milliohmmeter_for_a_cable():
    """Behind the two clips there has to be a battery: the rest of the circuit shows its volts."""
    rusty = Hands("X1=high resistance:0.4 ohm")
    reading = rusty.do(conductance="640 A", red="X1.ring", black="body")
    assert (reading.value, reading.words) == ("OL", "no battery")
    assert [name for name, _text in reading.also] == ["volts"]
