"""The meter's other positions: its jacks, its zero, and what it keeps over an action."""

from dataclasses import replace

import numpy as np
import pytest

from sim.action import Reading, action_from_json
from sim.errors import ActionError
from sim.instruments import multimeter
from sim.instruments.counts import Accuracy
from sim.instruments.multimeter import show_duty, show_hertz, show_milliamps
from sim.network import METER_FUSE
from sim.situation import Situation
from tests.sim.instruments.rig import Rig, circuit, resistor, wire
from tests.sim.van import OFF, ON, Hands

ACROSS = {"red": "B1.+", "black": "B1.-"}


def test_ten_megohms_load_a_divider_of_250_megohms(tmp_path):
    """Lessons In Electric Circuits, volume I, chapter 8: 24 V over 2 x 250 Mohm reads 0.8889 V."""
    parts = [resistor("R1", 250e6), resistor("R2", 250e6)]
    wires = [wire("B2.+", "R1.1"), wire("R1.2", "R2.1"), wire("R2.2", "body")]
    rig = Rig(circuit(tmp_path, parts, wires))
    assert rig.do(measure="volts", red="B2.+", black="body").value == "24.00"
    do = action_from_json({"measure": "volts", "red": "R2.1", "black": "body"})
    outcome = rig.bench.try_out(do).outcome
    # the leak of 1 Tohm at each of a handful of points is all the difference
    assert outcome.numbers[0] == pytest.approx(0.8889, abs=2e-4)
    assert outcome.floating[0]  # behind 125 Mohm the last digits wander


def test_a_meter_of_5_kilohms_beside_100_kilohms(tmp_path):
    """US Army MM3246, solutions: 1 kohm/V on 5 V is 5 kohm; beside 100 kohm, 4.76 kohm."""
    rig = Rig(
        circuit(
            tmp_path,
            [resistor("R1", 100e3), resistor("R2", 5e3)],
            [wire("R1.1", "R2.1"), wire("R1.2", "R2.2")],
        )
    )
    assert rig.do(measure="ohms", red="R1.1", black="R1.2") == Reading("4.762", "kohm", "6")


def test_a_shunt_of_20_milliohms_in_ten_ohms_reads_a_fifth_of_a_per_cent_low(tmp_path):
    """OpenStax College Physics 2e: 0.0200 ohm in 10.00 ohm, -0.20 %."""
    whole = circuit(tmp_path, [resistor("R1", 10.0)], [wire("B1.+", "R1.1")])
    bench = Rig(whole).bench
    solver = replace(bench.fleet.solver, lead=1e-9)
    network = solver.network
    amps = []
    for ohms in (1e-9, 0.02):
        lanes = solver.lanes(np.zeros(1, dtype=np.int64))
        lanes.instruments[0, 2, :3] = (1 / ohms, 0.0, 100.0)
        lanes.attached[0, :2] = (network.node("R1.2"), network.node("body"))
        solution = solver.solve(bench.fleet.rows, lanes)
        amps.append(solution.current[0, network.element(METER_FUSE)])
    assert amps[1] / amps[0] - 1 == pytest.approx(-0.002, abs=1e-5)


def test_standard_uncertainty_of_a_rectangle():
    """JCGM 100:2008, 4.3.7: u = a / sqrt 3; a = 3.6 mV gives 2.08 mV, and 4.16 mV at k = 2."""
    accuracy = Accuracy(0.0, 36)  # 36 counts of 0.1 mV
    u = accuracy.standard_uncertainty(0.1, 0.6)
    assert u == pytest.approx(2.08e-3, abs=5e-6)
    assert 2 * u == pytest.approx(4.16e-3, abs=5e-6)


@pytest.mark.parametrize(
    ("amps", "shown"),
    [
        (0.0, ("0.00", "mA", "60")),
        (0.0123456, ("12.35", "mA", "60")),
        (0.06, ("60.0", "mA", "400")),
        (-0.3994, ("-399.4", "mA", "400")),
        (0.4, ("OL", "mA", "400")),
    ],
)
def test_milliamps_have_the_digits_of_their_range(amps, shown):
    assert show_milliamps(amps) == Reading(*shown)


def test_hertz_and_duty_are_shown_with_their_units():
    assert show_hertz(0.0) == Reading("0.00", "Hz", "60")
    assert show_hertz(103.27) == Reading("103.3", "Hz", "600")
    assert show_duty(33.333) == Reading("33.3", "%", "100")
    assert show_duty(float("nan")) == Reading(words="no edges")


def test_what_stands_still_has_no_alternating_volts_and_no_edges():
    hands = Hands()
    hands.do(set=ON)
    leads = {"red": "C41.1b", "black": "body"}
    assert hands.do(measure="AC volts", **leads) == Reading("0.0", "mV", "600")
    assert hands.do(measure="hertz", **leads) == Reading("0.00", "Hz", "60")
    assert hands.do(measure="duty", **leads) == Reading(words="no edges")


def test_the_switch_lamps_current_on_milliamps():
    """A coil of 85 ohm and a 1.2 W lamp: 0.245 A, and the jack's own 1.5 ohm takes 3 % of it."""
    hands = Hands()
    hands.do(pull="F12")
    hands.do(set=ON)
    fine = hands.do(measure="milliamps", red="F12.1", black="F12.2")
    coarse = hands.amps("F12.1", "F12.2")
    assert fine.unit == "mA"
    assert float(fine.value) / 1e3 == pytest.approx(coarse, rel=0.03)
    assert float(fine.value) / 1e3 < coarse


def test_the_milliamps_jack_has_a_fuse_of_its_own_that_does_not_come_back():
    hands = Hands()
    step = hands.step(measure="milliamps", **ACROSS)
    assert step.harm == ("the meter's 400 mA fuse has blown",)
    assert step.reading == Reading("0.00", "mA", "60")
    again = hands.step(measure="milliamps", **ACROSS)
    assert (again.reading.value, again.harm) == ("0.00", ())
    # the other jack is as it was
    hands.do(pull="F12")
    hands.do(set=ON)
    assert hands.amps("F12.1", "F12.2") > 0.2
    assert hands.step(measure="amps", **ACROSS).harm == ("the meter's fuse has blown",)
    assert hands.step(measure="milliamps", red="F12.1", black="F12.2").reading.value == "0.00"


@pytest.mark.parametrize(
    ("jack", "harm"),
    [("10 A", "the meter's fuse has blown"), ("mA", "the meter's 400 mA fuse has blown")],
)
def test_a_lead_left_in_an_amps_jack_is_a_short_across_the_battery(jack, harm):
    hands = Hands()
    hands.do(jack=jack)
    step = hands.step(measure="volts", **ACROSS)
    assert step.harm == (harm,)
    assert step.reading.value == "0.0"
    assert hands.step(measure="volts", **ACROSS).harm == ()
    hands.do(jack="with the function")
    assert hands.volts("B1.+", "B1.-") > 12.0  # the volts jack has no fuse


def test_in_the_wrong_jack_every_function_shows_an_open_input():
    hands = Hands()
    hands.do(jack="10 A")
    leads = {"red": "F7.1b", "black": "F7.2b"}
    assert hands.do(measure="ohms", **leads).value == "OL"
    assert hands.do(measure="diode", **leads).value == "OL"
    assert hands.do(measure="continuity", **leads).words == "silent"
    hands.do(jack="volts")
    step = hands.step(measure="amps", **ACROSS)
    assert (step.reading.value, step.harm) == ("0.000", ())


def test_leads_that_are_not_zeroed_are_in_the_reading():
    hands = Hands()
    hands.bench.situation = Situation(leads_zeroed=False)
    assert hands.ohms("F7.1b", "F7.2b") == 0.1
    hands.do(zero="leads")
    assert hands.ohms("F7.1b", "F7.2b") == 0.0
    hands.do(zero="off")
    assert hands.ohms("F7.1b", "F7.2b") == 0.1


def test_zeroing_takes_a_moment_and_touches_no_vehicle():
    hands = Hands()
    changed = hands.bench.situation.changed
    step = hands.step(zero="leads")
    assert 0.0 < step.minutes < 1.0
    assert step.reading is None
    assert hands.bench.situation.changed == changed


def test_minimum_and_maximum_while_a_control_is_operated_and_put_back():
    hands = Hands()
    feed = {"red": "K3.86", "black": "body"}
    hands.do(set=ON)
    on = hands.volts("K3.86")
    hands.do(set=OFF)
    shown = hands.do(measure="volts", **feed, **{"while": ON})
    assert float(shown.value) == pytest.approx(on, abs=0.05)
    assert dict(shown.also) == {"minimum": "0.00", "maximum": shown.value}
    assert hands.bench.situation.position(hands.bench.circuit, "key") == "off"
    assert hands.volts("K3.86") == 0.0


def test_a_capture_counts_as_operating_the_controls():
    hands = Hands()
    hands.do(wait="10 min")
    hands.do(measure="volts", red="B1.+", black="body", **{"while": ON})
    assert hands.bench.situation.rested == 0.0


def test_what_blows_during_a_capture_is_the_faults_deed_and_what_the_meter_blows_is_harm():
    hands = Hands("wire 9=short to ground:0.1 ohm")
    step = hands.step(measure="volts", red="C41.1a", black="body", **{"while": ON})
    assert step.harm == ()
    assert "melted" in hands.words(look="fuse panel")
    hands = Hands()
    hands.do(pull="F7")
    step = hands.step(measure="amps", red="F7.2", black="F7.1", **{"while": ON})
    # 13 A, over the range: red lies on the load side, so the current is negative
    assert dict(step.reading.also) == {"minimum": "OL", "maximum": "OL"}


@pytest.mark.parametrize(
    ("do", "says"),
    [
        ({"measure": "ohms", "red": "body", "black": "B1.-", "while": ON}, "keeps them of volts"),
        ({"measure": "volts", "red": "body", "black": "B1.-", "while": {"key": "up"}}, "position"),
        ({"measure": "volts", "red": "body", "black": "B1.-", "while": {}}, "must give a control"),
        ({"zero": "battery"}, "can be zeroed: leads, clamp, off"),
        ({"jack": "20 A"}, "the red lead goes to volts, 10 A, mA"),
    ],
)
def test_what_the_meter_cannot_is_said_in_one_line(do, says):
    with pytest.raises(ActionError, match=says) as caught:
        Hands().do(**do)
    assert "\n" not in str(caught.value)


def test_the_specification_stands_in_the_docstring():
    text = multimeter.__doc__
    for words in ("10 Mohm", "400 mA", "true RMS", "0.1 ohm"):
        assert words in text
