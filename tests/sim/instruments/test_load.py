"""The load draws what it is set to where the source can give it, and shows what is left."""

import pytest

from sim import care
from sim.action import action_from_json
from sim.cautions import cautions
from sim.errors import ActionError, SimError
from sim.parts.battery import internal_resistance, open_circuit_voltage
from sim.situation import Situation
from tests.sim.instruments.rig import Rig, circuit, resistor, wire
from tests.sim.van import Hands, healthy

POSTS = {"red": "B1.+", "black": "B1.-"}


def amps(reading) -> float:
    return float(dict(reading.also)["amps"])


@pytest.mark.parametrize(
    ("load", "current", "power"), [(5.0, 10.0, 500.0), (10.0, 20 / 3, 4000 / 9), (20.0, 4.0, 320.0)]
)
def test_a_source_of_100_volts_and_5_ohms_scaled_to_12_volts(tmp_path, load, current, power):
    """NEETS Module 1, figure 3-36 (exact values); here 12 V and 0.5 ohm, so 1.2 times the amps."""
    rig = Rig(circuit(tmp_path, [resistor("R1", 0.5)], [wire("B1.+", "R1.1")]))
    drawn = rig.do(load=f"{current * 1.2:.6g} A", red="R1.2", black="body")
    volts = float(drawn.value)
    assert amps(drawn) == pytest.approx(current * 1.2, abs=0.051)
    # the terminals and the battery's own resistance add some 10 mohm to the half ohm
    assert volts == pytest.approx(load * current * 0.12, abs=0.15)
    assert volts * current * 1.2 == pytest.approx(power * 0.12 * 1.2, rel=0.03)


def test_half_the_cranking_current_leaves_a_good_battery_above_the_limit():
    """The rule of a battery tester's manual: half of 640 A for 15 s, 9.6 V or more (from memory).

    Arithmetic on the battery's own equation: E - I R.
    """
    hands = Hands()
    left = open_circuit_voltage(0.85) - 320.0 * internal_resistance(640.0, 20.0)
    reading = hands.do(load="320 A", **POSTS)
    assert float(reading.value) == pytest.approx(left, abs=0.01)
    assert (reading.words, amps(reading)) == ("green", 320.0)


def test_a_battery_that_cannot_give_it_is_in_the_red():
    reading = Hands("B1=high resistance").do(load="320 A", **POSTS)
    assert reading.words == "red"
    assert amps(reading) < 200.0


def test_the_bulb_shows_a_joint_that_a_voltmeter_does_not():
    """55 W at 12 V are 4.6 A: 1 ohm in the feed takes some 4 V; a filament draws I ~ V^0.55."""
    hands = Hands("K3.30=high resistance:1 ohm")
    hands.do(pull="K3")
    assert hands.volts("K3.30") > 12.0
    hands.do(insert="K3")
    hands.do(set={"key": "run", "heater switch": "on"})
    hands.do(unplug="E9")
    assert hands.volts("E9.1") > 12.0
    reading = hands.do(load="55 W", red="E9.1", black="X7.ring")
    assert 7.0 < float(reading.value) < 9.0
    assert amps(reading) == pytest.approx(3.9, abs=0.3)
    assert reading.words == ""


def test_what_the_load_blows_is_harm():
    hands = Hands()
    step = hands.step(load="60 A", red="F9.2b", black="body")
    assert step.harm == ("F9 has blown",)
    assert amps(step.reading) == 0.0
    assert Hands().step(load="12 A", red="F9.2b", black="body").harm == ()


def test_turning_up_does_not_overshoot():
    """15 A times 1.35 are 20.25 A: 20 A hold, and the fuse is whole afterwards."""
    step = Hands().step(load="20 A", red="F9.2b", black="body")
    assert step.harm == ()
    assert amps(step.reading) == 20.0


@pytest.mark.parametrize(
    ("size", "says"), [("0.5 A", "1 A to 500 A"), ("900 A", "the bulb is 55 W"), ("60 W", "A")]
)
def test_what_it_cannot_draw_is_refused(size, says):
    with pytest.raises(SimError, match=says) as caught:
        action_from_json({"load": size, **POSTS})
    assert "\n" not in str(caught.value)


def test_a_size_is_needed():
    with pytest.raises(ActionError, match="must be a name"):
        action_from_json({"load": True, **POSTS})


def test_heat_and_hydrogen_are_said():
    action = action_from_json({"load": "320 A", **POSTS})
    texts = {c.text for c in cautions(healthy(), Situation(), action)}
    assert {care.LOAD_HEAT, care.HYDROGEN, care.RINGS} <= texts
