"""The multimeter: loading, ranges and accuracy by published figures, and what it gets wrong."""

import math

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st

from sim.action import Reading, action_from_json
from sim.faults import possible_faults, with_faults
from sim.instruments import multimeter
from sim.instruments.multimeter import (
    COUNTS,
    Accuracy,
    show_amps,
    show_diode,
    show_ohms,
    show_volts,
)
from sim.observe import Fleet, observe
from sim.solver.steady import LEAK, Solver
from tests.sim.van import OFF, ON, Hands, healthy, solver


def test_ten_megohms_load_a_divider_of_250_megohms(lab):
    """Kuphaldt, Lessons in Electric Circuits vol. I ch. 8: 24 V, 12 V true, 0.8889 V read."""
    answer = lab.solve(
        lab.source("battery", "plus", "body", 24.0),
        lab.resistor("upper", "plus", "middle", 250e6),
        lab.resistor("lower", "middle", "body", 250e6),
        red="middle",
        black="body",
        meter=(multimeter.INPUT_RESISTANCE, 0.0),
    )
    assert answer.drop["meter"] == pytest.approx(0.8889, abs=1e-4)
    assert show_volts(answer.drop["meter"]) == Reading("0.889", "V", "6")


@pytest.mark.parametrize(("volts", "error"), [(32.00, 0.83), (0.09, 0.03225)])
def test_accuracy_is_percent_of_reading_plus_counts(volts, error):
    """Kwantlen Polytechnic University, physics laboratory notes: +-(2.5 % + 3), 0.01 V a count."""
    scale = 0.01 * COUNTS
    assert Accuracy(0.025, 3).half_width(volts, scale) == pytest.approx(error, abs=1e-12)
    assert Accuracy(0.025, 3).half_width(-volts, scale) == pytest.approx(error, abs=1e-12)


@pytest.mark.parametrize(
    ("volts", "shown"),
    [
        (0.0, ("0.0", "mV", "600")),
        (-0.00001, ("0.0", "mV", "600")),  # no minus before nothing
        (0.59994, ("599.9", "mV", "600")),
        (0.6, ("0.600", "V", "6")),
        (-0.6, ("-0.600", "V", "6")),
        (5.9994, ("5.999", "V", "6")),
        (6.0, ("6.00", "V", "60")),
        (12.6449, ("12.64", "V", "60")),
        (59.994, ("59.99", "V", "60")),
        (60.0, ("60.0", "V", "600")),
        (599.94, ("599.9", "V", "600")),
        (600.0, ("OL", "V", "600")),
        (-1e4, ("OL", "V", "600")),
    ],
)
def test_volts_have_the_digits_of_their_range(volts, shown):
    assert show_volts(volts) == Reading(*shown)


@pytest.mark.parametrize(
    ("ohms", "shown"),
    [
        (0.0, ("0.0", "ohm", "600")),
        (0.94, ("0.9", "ohm", "600")),
        (599.94, ("599.9", "ohm", "600")),
        (600.0, ("0.600", "kohm", "6")),
        (5999.4, ("5.999", "kohm", "6")),
        (6e3, ("6.00", "kohm", "60")),
        (59.99e3, ("59.99", "kohm", "60")),
        (60e3, ("60.0", "kohm", "600")),
        (600e3, ("0.600", "Mohm", "6")),
        (6e6, ("6.00", "Mohm", "60")),
        (60e6, ("OL", "Mohm", "60")),
        (math.inf, ("OL", "Mohm", "60")),
    ],
)
def test_ohms_have_the_digits_of_their_range(ohms, shown):
    assert show_ohms(ohms) == Reading(*shown)


@pytest.mark.parametrize(
    ("amps", "shown"),
    [
        (0.0, ("0.000", "A", "6")),
        (-5.9994, ("-5.999", "A", "6")),
        (6.0, ("6.00", "A", "10")),
        (9.99, ("9.99", "A", "10")),
        (10.0, ("OL", "A", "10")),
    ],
)
def test_amps_have_the_digits_of_their_range(amps, shown):
    assert show_amps(amps) == Reading(*shown)


def test_the_diode_test_ends_at_two_volts():
    assert show_diode(0.6123) == Reading("0.612", "V", "2")
    assert show_diode(1.9994) == Reading("1.999", "V", "2")
    assert show_diode(2.0) == Reading("OL", "V", "2")


UNIT = {"mV": 1e-3, "V": 1.0, "A": 1.0, "ohm": 1.0, "kohm": 1e3, "Mohm": 1e6}


@given(
    st.sampled_from([show_volts, show_ohms, show_amps]),
    st.floats(min_value=-1e9, max_value=1e9) | st.floats(min_value=-7.0, max_value=7.0),
)
def test_no_reading_has_more_than_6000_counts_or_is_off_by_more_than_half_a_count(show, value):
    reading = show(value)
    if reading.value == "OL":
        assert abs(value) >= {"V": 600.0, "A": 10.0, "Mohm": 60e6}[reading.unit]
        return
    digits = reading.value.removeprefix("-").replace(".", "")
    assert int(digits) <= COUNTS
    decimals = len(reading.value.partition(".")[2])
    count = UNIT[reading.unit] * 10.0**-decimals
    assert abs(float(reading.value) * UNIT[reading.unit] - value) <= count / 2 * (1 + 1e-6)


def test_an_open_shows_supply_through_a_joint_that_cannot_carry_a_load():
    hands = Hands("C41.1=high resistance:50 kohm")
    hands.do(set=ON)
    hands.do(unplug="E9")
    assert hands.volts("E9.1") > 12.0
    assert hands.words(lamp=True, red="E9.1", black="body") == "dark"
    assert hands.words(lamp=True, red="C41.1a", black="body") == "bright"
    # with the load on it the joint takes it all
    hands.do(plug="E9")
    assert hands.volts("C41.1b") < 0.1
    assert hands.volts("C41.1a", "C41.1b") > 12.0


def test_through_ten_megohms_an_open_shows_half():
    """A 10 Mohm meter behind 10 Mohm is a divider by two: arithmetic."""
    hands = Hands("C41.1=high resistance:10 Mohm")
    hands.do(set=ON)
    hands.do(unplug="E9")
    supply = hands.volts("C41.1a")
    assert hands.volts("E9.1") == pytest.approx(supply / 2, abs=0.01)


def test_ohms_on_a_live_circuit_lie():
    hands = Hands()
    hands.do(set=OFF)
    dead = hands.ohms("H1.1", "H1.2")
    assert dead == pytest.approx(2.4, abs=0.1)  # 12 V, 60 W
    hands.do(set={"horn button": "pressed"})
    live = hands.ohms("H1.1", "H1.2")
    assert abs(live) > 5 * dead


def test_ohms_see_parallel_paths():
    """Coil 85 ohm; beside it the lamp in the switch, 120 ohm hot, 120 / 13.7 ohm cold."""
    hands = Hands()
    in_circuit = hands.ohms("K3.86", "K3.85")
    assert 1 / (1 / 85 + 13.7 / 120) < in_circuit < 0.2 * 85
    hands.do(pull="K3")
    assert hands.ohms("K3.86b", "K3.85b") == pytest.approx(85.0, rel=0.01)


def test_ohms_of_a_short_are_zeroed_and_of_an_open_over_range():
    hands = Hands()
    assert hands.ohms("F7.1b", "F7.2b") == 0.0
    hands.do(pull="F7")
    assert hands.ohms("F7.1", "F7.2") == math.inf


@pytest.mark.parametrize("ohms", [1.0, 470.0, 3.3e3, 47e3, 330e3, 2.2e6, 22e6])
def test_ohms_are_within_the_specification_in_every_range(ohms):
    hands = Hands(f"C41.1=high resistance:{ohms!r} ohm")
    hands.do(unplug="E9")
    hands.do(pull="K3")
    shown = hands.ohms("K3.87", "E9.1")
    scale = multimeter.range_for(ohms, multimeter.FULL_SCALE)
    allowed = multimeter.OHMS_ACCURACY.half_width(ohms, scale)
    assert shown == pytest.approx(ohms, abs=allowed)


def test_a_diode_conducts_one_way():
    hands = Hands()
    hands.do(pull="K5")
    forward = hands.do(measure="diode", red="K5.85b", black="K5.86b")
    assert 0.0 < float(forward.value) < 0.8  # the coil, 85 ohm, lies beside it
    hands = Hands("K5=coil open")
    hands.do(pull="K5")
    forward = hands.do(measure="diode", red="K5.85b", black="K5.86b")
    assert 0.3 < float(forward.value) < 0.8  # a silicon diode; common practice, no source
    assert hands.do(measure="diode", red="K5.86b", black="K5.85b").value == "OL"


def test_amps_in_series_with_a_load():
    hands = Hands()
    hands.do(pull="F12")
    hands.do(set=ON)
    # coil 85 ohm and a 1.2 W lamp at some 12 V: 0.14 A and 0.1 A
    assert hands.amps("F12.1", "F12.2") == pytest.approx(0.245, abs=0.02)
    assert hands.words(watch="switch lamp lights") == "no"  # the leads are off again by then


def test_an_ammeter_across_the_battery_blows_its_fuse_for_good():
    hands = Hands()
    step = hands.step(measure="amps", red="B1.+", black="B1.-")
    assert step.harm == ("the meter's fuse has blown",)
    assert step.reading.value == "0.000"
    hands.do(pull="F12")
    hands.do(set=ON)
    again = hands.step(measure="amps", red="F12.1", black="F12.2")
    assert (again.reading.value, again.harm) == ("0.000", ())
    assert hands.volts("F12.1") > 12.0  # the other jacks still work


def test_a_heater_is_too_much_for_the_ammeter():
    """160 W at 12 V are 13 A: over the range of 10 A, under the 14.85 A that open the fuse."""
    hands = Hands()
    hands.do(set=ON)
    hands.do(unplug="C41")
    step = hands.step(measure="amps", red="C41.1a", black="C41.1b")
    assert step.reading == Reading("OL", "A", "10")
    assert step.harm == ()


def test_what_floats_does_not_hang_on_the_leak_of_the_solver():
    """Ten times the leak, every point, every fault, live and dead: the same kind of reading."""
    circuits = [with_faults(healthy(), faults) for faults, _ in possible_faults(healthy())]
    fleets = [
        Fleet.of(circuits, solver()),
        Fleet.of(circuits, Solver.of(healthy(), leak=10 * LEAK)),
    ]
    points = ("F7.2b", "K3.30", "K3.87", "C41.1a", "C41.1b", "E9.1", "E9.2b", "X7.ring", "K3.86")
    loose = 0
    for before in ([{"set": ON}], [{"unplug": "C41"}, {"set": ON}], [{"pull": "F7"}, {"set": OFF}]):
        states = [(Hands().bench.situation, fleet.fresh_memory()) for fleet in fleets]
        for do in before:
            seen = [
                observe(fleet, *state, action_from_json(do))
                for fleet, state in zip(fleets, states, strict=True)
            ]
            states = [(one.situation, one.memory) for one in seen]
        for point in points:
            do = action_from_json({"measure": "volts", "red": point, "black": "body"})
            one, two = (
                observe(fleet, *state, do).outcome
                for fleet, state in zip(fleets, states, strict=True)
            )
            assert np.array_equal(one.floating, two.floating)
            held = ~one.floating
            assert np.allclose(one.numbers[held], two.numbers[held], atol=1e-4)
            loose += int(one.floating.sum())
    assert loose > 100
