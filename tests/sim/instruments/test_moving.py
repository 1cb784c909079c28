"""What moves: a meter on a switched output shows the mean, its edges count, a scope sees its shape.

Mean of a square wave is duty times height, its RMS without the mean height sqrt(d (1 - d)) (derived
by integration); the ripple of a six-pulse bridge 1 - cos(pi/6) = 13.4 % of the peak (derived).
"""

import math
from dataclasses import replace
from pathlib import Path

import pytest

from sim.action import action_from_json
from sim.bench import Bench
from sim.circuit import Circuit, Part
from sim.circuitfile import read_circuit

MACHINES = Path(__file__).parents[1] / "parts/machines.circuit.yaml"
OUT = {"red": "V3.out", "black": "body"}
SWITCHED = {"key": "run", "fan": "40 %"}


@pytest.fixture(scope="module")
def machines() -> Circuit:
    """Give the machines with a heater in place of the fan, which holds its wire at no voltage."""
    whole = read_circuit(MACHINES)
    heater = Part("M2", "horn", "bench", {"voltage": 12.0, "power": 120.0})
    names = ("B1", "X1", "link30", "S1", "V3", "M2", "G1", "H1")
    ends = ("B1", "X1", "link30", "S1", "V3", "M2", "G1", "H1")
    parts = {n: p for n, p in whole.parts.items() if n in names or _joins(p, ends)}
    return replace(whole, parts={**parts, "M2": heater}, effects={}, notes=(), diagram={})


def _joins(part: Part, owners: tuple[str, ...]) -> bool:
    """Tell whether a wire leads from one of these parts to another, a rail or the body."""
    if part.kind != "wire":
        return False
    found = {str(part.values[key]).partition(".")[0] for key in ("from", "to")}
    return found <= {*owners, "30", "15", "31", "body"}


def read(circuit: Circuit, controls: dict[str, str], **do: object):
    bench = Bench(circuit)
    bench.do(action_from_json({"set": controls}))
    return bench.do(action_from_json(do)).reading


def test_a_meter_shows_mean_rhythm_and_rms_of_what_is_switched(machines: Circuit) -> None:
    full = float(read(machines, {"key": "run", "fan": "on"}, measure="volts", **OUT).value)
    assert full > 11.0
    mean = float(read(machines, SWITCHED, measure="volts", **OUT).value)
    assert mean == pytest.approx(0.4 * full, abs=0.25)
    assert float(read(machines, SWITCHED, measure="hertz", **OUT).value) == pytest.approx(200, 1e-3)
    assert float(read(machines, SWITCHED, measure="duty", **OUT).value) == pytest.approx(40, abs=1)
    rms = float(read(machines, SWITCHED, measure="AC volts", **OUT).value)
    assert rms == pytest.approx(full * math.sqrt(0.4 * 0.6), rel=0.05)


def test_what_stands_still_has_no_rhythm(machines: Circuit) -> None:
    assert read(machines, {"key": "run", "fan": "on"}, measure="hertz", **OUT).value == "0.00"
    assert read(machines, {"key": "run"}, measure="AC volts", **OUT).value == "0.0"


def test_a_scope_shows_the_shape_from_its_trigger_on(machines: Circuit) -> None:
    reading = read(
        machines,
        SWITCHED,
        scope={"A": ["V3.out", "body"]},
        time="20 ms",
        trigger={"channel": "A", "level": "6 V", "slope": "rising"},
    )
    figures = dict(reading.also)
    assert float(figures["A frequency"].removesuffix(" Hz")) == pytest.approx(200, rel=1e-2)
    assert float(figures["A duty"].removesuffix(" %")) == pytest.approx(40, abs=1)
    counts = [int(count) for count in figures["A samples"].split()]
    # a tenth of the screen stands before the rise
    assert counts[22] < 50
    assert counts[28] > 150
    assert min(counts) == 0


def test_the_charging_system_ripples_at_six_times_its_frequency(machines: Circuit) -> None:
    running = {"key": "run", "engine": "idle 800 rpm"}
    reading = read(machines, running, scope={"A": ["B1.+", "B1.-"]}, time="20 ms")
    figures = dict(reading.also)
    swing, unit = figures["A peak to peak"].split()
    volts = float(swing) * (1e-3 if unit == "mV" else 1.0)
    assert 0.02 < volts < 0.134 * 14.4
