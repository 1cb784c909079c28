"""An engine warms its sensor and lets it cool, by the bench's clock."""

import math
from dataclasses import replace

import pytest

from sim.action import action_from_json
from sim.bench import Bench
from sim.checks.names import unheard_warmers
from sim.circuitfile import read_circuit
from sim.faults import parse_faults, with_faults
from sim.parts.thermistor import resistance

TEXT = """
format: circuit
version: 1
id: warm-sensor
title: A sensor in an engine
vehicle: Ostler Quill, estate car
places:
  bonnet: {reach: 1 min, again: 0.5 min}
parts:
  B1: {kind: battery, at: bonnet}
  X1: {kind: ground stud, at: bonnet}
  F3: {kind: blade fuse, rating: 5 A, at: bonnet}
  R1: {kind: resistor, resistance: 2490 ohm, at: bonnet}
  S1: {kind: switch, closed in: running, at: bonnet}
  E2: {kind: lamp, power: 5 W at 12 V, at: bonnet}
  B2: {kind: thermistor, warmed by: engine, warm: 95 degC, warming: 4 min, cooling: 30 min,
       at: bonnet}
rails:
  "30": B1.+ through a 60 A link
  "31": body
controls:
  engine: {standing, running, sets: S1}
wires:
  1: [30, F3.1, red, 1 mm2, 0.5 m]
  2: [F3.2, R1.1, red, 1 mm2, 0.5 m]
  3: [R1.2, B2.1, grey, 1 mm2, 0.5 m]
  4: [B2.2, 31, brown, 1 mm2, 0.5 m]
  5: [B1.-, X1.ring, black, 16 mm2, 0.4 m]
  6: [F3.2, S1.in, red, 1 mm2, 0.5 m]
  7: [S1.out, E2.1, red, 1 mm2, 0.5 m]
  8: [E2.2, 31, brown, 1 mm2, 0.5 m]
effects:
  the lamp lights: E2 power >= 50 % of nominal
diagram:
  1: [30, F3, R1, B2, 31]
  2: [30, S1, E2, 31]
"""


def celsius(bench: Bench) -> float:
    """Return the temperature that the sensor has come to."""
    return float(bench.memory.celsius[0, 0])


def do(bench: Bench, **what: object) -> str:
    reading = bench.do(action_from_json(what)).reading
    return reading.value if reading else ""


@pytest.fixture(scope="module")
def circuit(tmp_path_factory):
    path = tmp_path_factory.mktemp("warm") / "warm-sensor.circuit.yaml"
    path.write_text(TEXT, encoding="utf-8")
    return read_circuit(path)


def test_it_warms_and_cools_exponentially(circuit):
    bench = Bench(circuit)
    assert celsius(bench) == 20.0
    do(bench, set={"engine": "running"})
    do(bench, wait="4 min")
    assert celsius(bench) == pytest.approx(95.0 - 75.0 / math.e, rel=1e-6)
    do(bench, wait="60 min")
    assert celsius(bench) == pytest.approx(95.0, abs=0.01)
    do(bench, set={"engine": "standing"})
    do(bench, wait="30 min")
    assert celsius(bench) == pytest.approx(20.0 + 75.0 / math.e, rel=1e-4)


def test_the_meter_reads_what_the_sensor_has_come_to(circuit):
    """Unplugged, its ohms are those of the table at the temperature it has by then."""
    bench = Bench(circuit)
    do(bench, set={"engine": "running"})
    do(bench, wait="8 min")
    do(bench, set={"engine": "standing"})
    do(bench, unplug="B2")
    ohms = float(do(bench, measure="ohms", red="B2.1b", black="B2.2b"))
    wanted = resistance(circuit.parts["B2"], celsius(bench))
    assert ohms * 1000.0 == pytest.approx(wanted, rel=0.02)
    assert wanted < 2000.0


def test_a_fault_stays_what_it_is(circuit):
    for fault, wanted in (("B2=open", 0.0), ("B2=shorted", 1.0)):
        bench = Bench(with_faults(circuit, parse_faults(circuit, fault)))
        do(bench, set={"engine": "running"})
        do(bench, wait="8 min")
        number = bench.fleet.solver.network.element("B2 bead")
        slow = bench.fleet.slow
        rows = slow.present(bench.circuit, bench.fleet.rows, bench.situation, bench.memory)
        assert rows[0, number, 0] == wanted


def test_a_warmer_there_is_not_is_named(circuit):
    part = circuit.parts["B2"]
    wrong = replace(part, values={**part.values, "warmed by": "engin"})
    found = list(unheard_warmers(replace(circuit, parts={**circuit.parts, "B2": wrong})))
    assert [finding.text for finding in found] == [
        "B2: warmed by 'engin', but there is no such control; did you mean 'engine'?"
    ]


@pytest.mark.parametrize("fault", ["B2=shorted", "B2=drift:200 %", "B2=wrong part", "B2=open"])
def test_a_known_good_sensor_has_none_of_the_faults_and_is_as_warm(circuit, fault):
    faulty, sound = Bench(with_faults(circuit, parse_faults(circuit, fault))), Bench(circuit)
    shown = []
    for bench in (faulty, sound):
        do(bench, set={"engine": "running"})
        do(bench, wait="2 min")
        do(bench, set={"engine": "standing"})
        before = volts(bench)
        do(bench, **{"try": "B2"})
        shown.append((before, volts(bench)))
    (old, new), (_sound_old, sound_new) = shown
    assert new == pytest.approx(sound_new, abs=1e-3)
    assert abs(old - new) > 0.05
    do(faulty, untry="B2")
    assert abs(volts(faulty) - new) > 0.05


def volts(bench: Bench) -> float:
    reading = bench.do(
        action_from_json({"measure": "volts", "red": "B2.1", "black": "B2.2"})
    ).reading
    assert reading is not None
    return float(reading.value) * {"V": 1.0, "mV": 1e-3}[reading.unit]
