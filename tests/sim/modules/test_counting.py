"""Engine speed from the edges of a crank sensor: in live data, in rules, and its code without.

Scaling of parameter 0C: a quarter of 1/min a bit, two bytes (SAE J1979); decoded by python-OBD.
P0335 "crankshaft position sensor A circuit": SAE J2012 (python-OBD's table). A wheel with z edges
in a turn gives f = z n / 60.
"""

from pathlib import Path

import obd
import pytest
from obd.codes import DTC
from obd.protocols.protocol import Message

from sim.action import action_from_json
from sim.bench import Bench
from sim.circuit import Circuit
from sim.circuitfile import read_circuit
from sim.diagnosis.bus import DiagnosticBus
from sim.faults import parse_faults, with_faults
from sim.served import Served
from sim.situation import Situation

FILE = Path(__file__).parents[3] / "lessons/circuits/no-start.circuit.yaml"
AMPLITUDE = "amplitude at 1000 rpm"
CRANK = {"key": "crank 250 rpm"}


@pytest.fixture(scope="module")
def car() -> Circuit:
    return read_circuit(FILE)


def bench_of(circuit: Circuit, fault: str = "") -> Bench:
    return Bench(with_faults(circuit, parse_faults(circuit, fault)) if fault else circuit)


def words(bench: Bench, do: dict) -> str:
    reading = bench.do(action_from_json(do)).reading
    assert reading is not None
    return reading.words


def test_the_bytes_of_service_01_say_the_cranking_speed(car: Circuit) -> None:
    vehicle = Served.of(car, Situation(controls=tuple(CRANK.items())))
    with DiagnosticBus(vehicle.units()) as bus:
        vehicle.refresh(bus, 0.0)
        found = [one for one in bus.ask("A1", bytes.fromhex("010C")) if one.data[:1] == b"\x41"]
    assert found[0].data[2:] == (250 * 4).to_bytes(2, "big")
    message = Message([])
    message.data = bytearray(found[0].data)
    assert obd.commands.RPM.decode([message]).magnitude == 250.0


def test_speed_is_there_while_it_turns_and_nothing_while_it_stands(car: Circuit) -> None:
    bench = bench_of(car)
    bench.do(action_from_json({"set": {"key": "run"}}))
    live = {"scan": "live data", "unit": "A1"}
    assert "engine speed 0.00 1/min" in words(bench, live)
    assert "engine speed 250.00 1/min" in words(bench, {**live, "while": CRANK})


@pytest.mark.parametrize(
    "fault",
    ["R7=stuck high", "R7=stuck low", "R7=supply open", "wire 32=open", "wire 33=open",
     "wire 31=open", "wire 32=short to ground:0.1 ohm", "F3=open"],
)  # fmt: skip
def test_no_edges_no_speed_no_pump_and_a_code(car: Circuit, fault: str) -> None:
    """Whatever takes the edges away does; the code says only that they are missing."""
    assert "P0335" in DTC
    bench = bench_of(car, fault)
    bench.do(action_from_json({"set": {"key": "run"}}))
    live = {"scan": "live data", "unit": "A1", "while": CRANK}
    assert "engine speed 0.00 1/min" in words(bench, live)
    bench.do(action_from_json({"set": CRANK}))
    assert words(bench, {"watch": "engine cranks"}) == "yes"
    assert words(bench, {"watch": "fuel pump hums"}) == "no"
    bench.do(action_from_json({"wait": "5 s"}))
    codes = words(bench, {"scan": "codes", "unit": "A1"})
    assert "P0335-31" in codes
    assert "confirmed, present" in codes


def test_a_sound_car_has_no_code_while_it_cranks_or_stands(car: Circuit) -> None:
    bench = bench_of(car)
    for do in ({"set": {"key": "run"}}, {"wait": "10 s"}, {"set": CRANK}, {"wait": "5 s"}):
        bench.do(action_from_json(do))
    assert words(bench, {"scan": "codes", "unit": "A1"}) == "A1: no codes"
    assert words(bench, {"watch": "fuel pump hums"}) == "yes"


def inductive(tmp_path: Path, amplitude: str) -> Circuit:
    """Give the same car with a coil for a sensor; pulled up to 5 V it stands at some 1.5 V."""
    changes = {
        "R7: {kind: Hall sensor, ": f"R7: {{kind: reluctance sensor, {AMPLITUDE}: {amplitude}, ",
        "R7.s,    A1.7": "R7.1,    A1.7",
        "R7.-,    A1.18": "R7.2,    A1.18",
        "rises above: 4 V, falls below: 1 V": "rises above: 2 V, falls below: 1 V",
    }
    text = FILE.read_text(encoding="utf-8")
    for old, new in changes.items():
        assert old in text
        text = text.replace(old, new)
    gone = ("  31: ", "  R7=", "  R7.s=", "  wire 31=")
    lines = [line for line in text.splitlines() if not line.startswith(gone)]
    file = tmp_path / "inductive.circuit.yaml"
    file.write_text("\n".join(lines) + "\n", encoding="utf-8")
    return read_circuit(file)


@pytest.mark.parametrize(("amplitude", "speed"), [("12 V", "250.00"), ("1 V", "0.00")])
def test_a_coil_counts_once_its_voltage_is_enough(
    tmp_path: Path, amplitude: str, speed: str
) -> None:
    """E = E_1000 n / 1000: at 250 1/min 3 V and 0.25 V about the 1.5 V of the bias."""
    bench = bench_of(inductive(tmp_path, amplitude))
    bench.do(action_from_json({"set": {"key": "run"}}))
    told = words(bench, {"scan": "live data", "unit": "A1", "while": CRANK})
    assert f"engine speed {speed} 1/min" in told
