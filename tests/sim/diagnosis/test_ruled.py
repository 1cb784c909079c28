"""Diagnostic servers of control units in a solved circuit.

An unplugged NTC reads at or below -40 degC and a shorted one at its hot limit: common practice, no
source. Codes P0117 and P0118: SAE J2012 (python-OBD's table). Bytes are decoded by python-OBD.
"""

import random
from collections.abc import Callable

import obd
import pytest
from obd.protocols.protocol import Message

from sim.action import action_from_json
from sim.bench import Bench
from sim.circuit import Circuit
from sim.diagnosis import refusals
from sim.diagnosis.bus import DiagnosticBus
from sim.diagnosis.server import answer
from sim.diagnosis.unit import UnitState
from sim.faults import parse_faults, with_faults
from sim.served import Served
from sim.situation import Situation

REQUESTS = 10_000
LISTED = {
    getattr(refusals, name) for name in dir(refusals) if isinstance(getattr(refusals, name), int)
}


def shown(bench: Bench, task: str, **more: str) -> str:
    reading = bench.do(action_from_json({"scan": task, "unit": "A3", **more})).reading
    assert reading is not None
    return reading.words


def decoded(data: bytes, command: obd.OBDCommand) -> float:
    """Give what python-OBD makes of an answer."""
    message = Message([])
    message.data = bytearray(data)
    value = command.decode([message])
    return float(value.magnitude)


def served(circuit: Circuit, fault: str = "") -> Served:
    broken = with_faults(circuit, parse_faults(circuit, fault)) if fault else circuit
    return Served.of(broken, Situation(controls=(("ignition", "on"),)))


def coolant(circuit: Circuit, fault: str = "") -> float:
    """Ask for parameter 05 over real frames, a minute after the ignition was turned on."""
    vehicle = served(circuit, fault)
    with DiagnosticBus(vehicle.units()) as bus:
        vehicle.refresh(bus, 0.0)
        vehicle.refresh(bus, 60.0)
        (found,) = bus.ask("A3", bytes.fromhex("0105"))
    return decoded(found.data, obd.commands.COOLANT_TEMP)


def test_a_sound_sensor_reads_what_the_coolant_has(fan: Circuit) -> None:
    assert coolant(fan) == pytest.approx(20.0, abs=1.0)


@pytest.mark.parametrize("fault", ["R4=open", "R4.1=open", "wire 7=open", "wire 8=open"])
def test_an_unplugged_ntc_reads_very_cold(fan: Circuit, fault: str) -> None:
    assert coolant(fan, fault) <= -40.0


@pytest.mark.parametrize("fault", ["R4=shorted", "wire 7=short to ground:0.1 ohm"])
def test_a_shorted_ntc_reads_at_its_hot_limit(fan: Circuit, fault: str) -> None:
    hottest = max(fan.modules["A3"].inputs[0].values)
    assert coolant(fan, fault) == pytest.approx(hottest, abs=1.0)


@pytest.mark.parametrize(
    ("fault", "code", "actual"), [("R4=open", "P0118", "-40"), ("R4=shorted", "P0117", "130")]
)
def test_generic_data_are_actual_and_the_makers_may_be_substituted(
    fan_bench: Callable[[str], Bench], fault: str, code: str, actual: str
) -> None:
    bench = fan_bench(fault)
    codes = shown(bench, "codes")
    assert code in codes
    assert "confirmed, present" in codes
    assert f"coolant temperature {actual} °C" in shown(bench, "live data")
    assert "coolant, used 85 °C" in shown(bench, "maker data")
    frame = shown(bench, "freeze frame")
    assert f"code that froze the frame {code}; coolant temperature {actual} °C" in frame


def test_a_cleared_code_comes_back_while_its_cause_is_there(
    fan_bench: Callable[[str], Bench],
) -> None:
    bench = fan_bench("R4=open")
    assert shown(bench, "clear") == "A3: codes cleared"
    assert "P0118" in shown(bench, "codes")


def test_a_code_stays_when_its_cause_has_gone_until_it_is_cleared(
    fan: Circuit, fan_bench: Callable[[str], Bench]
) -> None:
    bench = fan_bench("R4=open")
    assert "present" in shown(bench, "codes")
    bench.mend(fan)
    assert "P0118" in shown(bench, "codes")
    assert "not present now" in shown(bench, "codes")
    shown(bench, "clear")
    assert shown(bench, "codes") == "A3: no codes"


def test_a_code_cleared_too_early_is_back_once_its_monitor_has_judged(
    fan: Circuit, fan_bench: Callable[[str], Bench]
) -> None:
    """Asleep, or with the sensor whole, nothing is judged wrong; the minute of a scan is judged."""
    bench = fan_bench("R4=open")
    shown(bench, "clear")
    assert "P0118" in shown(bench, "codes")
    assert "confirmed, present" in shown(bench, "codes")
    shown(bench, "clear")
    bench.mend(fan)
    assert shown(bench, "codes") == "A3: no codes"
    bench.mend(with_faults(fan, parse_faults(fan, "R4=open")))
    assert "confirmed, present" in shown(bench, "codes")


@pytest.mark.parametrize(
    "do",
    [
        {"scan": "hold", "unit": "A3", "what": "fan wanted", "at": "100"},
        {"scan": "release", "unit": "A3", "what": "fan wanted"},
        {"scan": "codes"},
    ],
)
def test_every_task_of_the_tool_takes_its_minute(
    fan_bench: Callable[[str], Bench], do: dict[str, str]
) -> None:
    bench = fan_bench("")
    step = bench.do(action_from_json(do))
    assert (step.minutes, step.clock) == (1.0, 60.0)


def test_what_a_tester_holds_is_done_by_the_circuit_until_it_lets_go(
    fan_bench: Callable[[str], Bench],
) -> None:
    bench = fan_bench("")
    runs = action_from_json({"watch": "the fan runs"})

    def watched() -> str:
        reading = bench.do(runs).reading
        assert reading is not None
        return reading.words

    assert watched() == "no"
    assert "held at 100.0 %" in shown(bench, "hold", what="fan wanted", at="100")
    assert watched() == "yes"
    assert "fan wanted 100.0 %" in shown(bench, "maker data")
    shown(bench, "release", what="fan wanted")
    assert watched() == "no"


def test_live_data_can_be_read_while_controls_are_operated(
    fan_bench: Callable[[str], Bench],
) -> None:
    bench = fan_bench("")
    hot = {"scan": "live data", "unit": "A3", "while": {"coolant": "hot 105 degC"}}
    assert action_from_json(hot).to_json() == hot
    reading = bench.do(action_from_json(hot)).reading
    assert reading is not None
    assert "coolant temperature 105 °C" in reading.words
    assert "coolant temperature 20 °C" in shown(bench, "live data")


def test_a_graph_follows_a_line_of_data_over_the_bench_s_clock(
    fan_bench: Callable[[str], Bench],
) -> None:
    """The after-run of 30 s begins when the coolant is cold again: on for 30 s of 100, then off."""
    bench = fan_bench("")
    for do in ({"set": {"coolant": "hot 105 degC"}}, {"wait": "10 s"}):
        bench.do(action_from_json(do))
    bench.do(action_from_json({"scan": "codes"}))
    before = bench.situation.clock
    graph = {"scan": "graph", "unit": "A3", "what": "fan wanted", "over": "100 s"}
    graph["while"] = {"coolant": "cold 20 degC"}  # type: ignore[assignment]
    step = bench.do(action_from_json(graph))
    assert step.reading is not None
    assert step.reading.words == "A3: " + ", ".join(["100.0 %"] * 2 + ["0.0 %"] * 8)
    assert step.minutes == pytest.approx(1.0 + 100.0 / 60.0)
    assert bench.situation.clock - before == pytest.approx(160.0)


def test_a_hold_ends_when_the_unit_loses_its_power(fan_bench: Callable[[str], Bench]) -> None:
    bench = fan_bench("")
    shown(bench, "hold", what="fan wanted", at="100")
    for do in ({"pull": "F1"}, {"wait": "1 min"}, {"insert": "F1"}, {"wait": "1 min"}):
        bench.do(action_from_json(do))
    reading = bench.do(action_from_json({"watch": "the fan runs"})).reading
    assert reading is not None
    assert reading.words == "no"


@pytest.mark.parametrize("fault", ["wire 3=open", "wire 6=open", "F1=open", "A3=dead"])
def test_a_unit_without_power_or_ground_does_not_answer(
    fan_bench: Callable[[str], Bench], fault: str
) -> None:
    assert shown(fan_bench(fault), "codes") == "A3: no answer"


def requests(rng: random.Random) -> bytes:
    """Give a request: any bytes, or a service that exists with any bytes behind it."""
    known = (0x01, 0x02, 0x03, 0x04, 0x07, 0x09, 0x10, 0x11, 0x14, 0x19, 0x22, 0x2F, 0x31, 0x3E)
    first = bytes((rng.choice(known),)) if rng.random() < 0.8 else b""
    if rng.random() < 0.4:
        middle = rng.choice((b"\x30\x01\x03", b"\x21\x00", b"\x20\x01", b"\x05", b"\x02\xff"))
        first += middle
    return first + rng.randbytes(rng.randrange(6))


def test_ten_thousand_random_requests_get_standard_answers(fan: Circuit) -> None:
    """Positive: service + 40; negative: 7F, service, a listed code (ISO 14229-1). Seed 13."""
    rng, clock = random.Random(13), 0.0  # noqa: S311 -- requests, no secrets
    (unit,) = served(fan, "R4=open").units()
    assert isinstance(unit, UnitState)
    for _request in range(REQUESTS):
        clock += rng.random()
        asked = requests(rng)
        data, unit = answer(unit, asked, clock)
        if data is None:
            continue
        negative = data[0] == refusals.NEGATIVE
        assert data[0] == asked[0] + 0x40 or (negative and data[1] == asked[0])
        assert not negative or (len(data) == 3 and data[2] in LISTED)


def test_random_requests_over_frames_do_not_upset_a_vehicle(fan: Circuit) -> None:
    """With the circuit solved before each: whatever is held, it has a steady state. Seed 14."""
    rng, vehicle = random.Random(14), served(fan)  # noqa: S311 -- as above
    with DiagnosticBus(vehicle.units()) as bus:
        for second in range(40):
            vehicle.refresh(bus, float(second))
            bus.ask("A3", requests(rng) or b"\x3e\x00")
            bus.ask("A3", b"\x10\x03")
            bus.ask("A3", bytes((0x2F, 0x30, 0x01, 0x03, rng.randrange(256))))
