"""The scan tool at the bench of a vehicle with two CAN pairs: who answers, what it costs."""

import pytest

from sim.action import action_from_json
from sim.care import CLEARING, COMMANDED
from sim.cautions import cautions
from sim.errors import ActionError
from tests.sim.bus.conftest import Car, two_wires

UNITS = ("A1 engine", "A2 brakes", "A3 gateway", "A4 dash", "A5 driver's door", "A6 rear end")


def answering(car: Car) -> str:
    """Give the numbers of the units that answer a code scan."""
    told = car.words({"scan": "codes"}).split(" | ")
    assert [one.partition(": ")[0] for one in told] == list(UNITS)
    return "".join(str(n + 1) for n, one in enumerate(told) if not one.endswith(": no answer"))


@pytest.mark.parametrize(
    ("fault", "left"),
    [
        ("", "123456"),
        ("F3=open", "13456"),  # power
        ("A5.31=open", "12346"),  # ground
        ("C5.3=open", "12346"),  # bus
        ("A2=H and L shorted", ""),  # the pair with the socket
        ("A5=stuck dominant", "123"),  # the other pair, behind the gateway
        ("A3=dead", "12"),
        ("X9.6=open", ""),
        ("X9.16=open", ""),  # the tool itself has no supply
        ("A1=terminator open", "123456"),
    ],
)
def test_who_answers_follows_from_the_circuit(fault: str, left: str) -> None:
    assert answering(Car(fault)) == left


def test_units_behind_the_key_answer_with_it_and_the_others_until_they_sleep() -> None:
    car = Car()
    assert answering(car) == "123456"
    car.do({"set": {"key": "off"}})
    assert answering(car) == "346"
    assert answering(car.asleep()) == ""


def test_those_that_miss_a_unit_have_its_code() -> None:
    """U0121: no communication with the anti-lock brakes (SAE J2012; python-OBD's table)."""
    words = Car("F3=open").words({"scan": "codes"})
    told = dict(one.split(": ", 1) for one in words.split(" | "))
    for unit in ("A1 engine", "A3 gateway", "A4 dash"):
        assert told[unit].startswith("U0121-87 ")
        assert told[unit].endswith("confirmed, present")
    assert told["A6 rear end"] == "no codes"


def test_a_plug_put_back_leaves_a_code_that_is_history() -> None:
    car = Car()
    for do in ({"unplug": "A2"}, {"scan": "codes"}, {"plug": "A2"}):
        car.do(do)
    words = car.words({"scan": "codes", "unit": "A4"})
    assert "U0121-87" in words
    assert "not present now" in words
    car.do({"scan": "clear"})
    assert car.words({"scan": "codes", "unit": "A4"}) == "A4 dash: no codes"


def test_live_data_are_as_measured_to_the_standards_step() -> None:
    """Parameter 42 of SAE J1979: 1 mV a count; the same as a meter shows across the unit."""
    car = Car()
    words = car.words({"scan": "live data", "unit": "A1"})
    found = float(words.split("supply voltage at the unit ")[1].removesuffix(" V"))
    assert found == pytest.approx(car.measure("volts", "A1.30", "A1.31"), abs=0.03)


def test_a_unit_without_generic_services_says_so() -> None:
    words = Car().words({"scan": "live data", "unit": "A4"})
    assert words == "A4 dash: the unit does not know this service (11)"


def test_it_costs_the_way_to_the_socket_and_a_minute() -> None:
    bench = Car().bench
    first = bench.do(action_from_json({"scan": "codes"}))
    again = bench.do(action_from_json({"scan": "codes", "unit": "A4"}))
    reach = two_wires().places["driver footwell"].reach_minutes
    assert first.minutes == pytest.approx(reach + 1.0)
    assert again.minutes == pytest.approx(1.0)
    assert bench.situation.clock == pytest.approx(60.0 * (first.minutes + again.minutes))


@pytest.mark.parametrize(
    "do",
    [
        {"scan": "everything"},
        {"scan": "live data"},
        {"scan": "codes", "unit": "B1"},
        {"scan": "codes", "unit": "A1", "at": "5"},
        {"scan": "hold", "unit": "A1", "what": "fan"},
        {"scan": "hold", "unit": "A1", "what": "fan", "at": "much"},
        {"scan": "hold", "unit": "A1", "what": "fan", "at": "50"},
        {"scan": "routine", "unit": "A1", "what": "fan"},
        {"scan": "graph", "unit": "A1", "what": "fan", "over": "2 h"},
        {"scan": "codes", "while": {"key": "crank"}},
        {"scan": "live data", "unit": "A1", "while": {"key": "sideways"}},
    ],
)
def test_what_cannot_be_done_is_refused_in_one_line(do: dict) -> None:
    with pytest.raises(ActionError) as refused:
        Car().do(do)
    assert "\n" not in str(refused.value)


@pytest.mark.parametrize(
    "do",
    [
        {"scan": "hold", "unit": "A3", "what": "fan wanted", "at": "50"},
        {"scan": "release", "unit": "A3", "what": "fan wanted"},
        {"scan": "freeze frame", "unit": "A3"},
        {"scan": "clear"},
    ],
)
def test_its_json_reads_back_the_same(do: dict) -> None:
    assert action_from_json(do).to_json() == do


def test_cautions_go_with_clearing_and_commanding() -> None:
    circuit, situation = two_wires(), Car().bench.situation
    found = cautions(circuit, situation, action_from_json({"scan": "clear"}))
    assert [one.text for one in found] == [CLEARING]
    commanding = {"scan": "hold", "unit": "A1", "what": "fan", "at": "50"}
    found = cautions(circuit, situation, action_from_json(commanding))
    assert [one.text for one in found] == [COMMANDED]
