"""What the tests of lessons share: a demonstration's bench, worked by actions as in a record."""

from lessons.catalogue import circuit_path
from sim.action import Reading, action_from_json
from sim.bench import Bench
from sim.circuitfile import read_circuit
from sim.faults import parse_faults, with_faults

SCALES = {"V": 1.0, "mV": 1e-3, "A": 1.0, "ohm": 1.0}


def bench(circuit: str, fault: str = "", *actions: dict) -> Bench:
    """Give a bench with a fault on which some things were done already."""
    healthy = read_circuit(circuit_path(circuit))
    at = Bench(with_faults(healthy, parse_faults(healthy, fault)) if fault else healthy)
    do(at, *actions)
    return at


def do(at: Bench, *actions: dict) -> Reading:
    """Do things one after the other; give the last reading."""
    reading = Reading()
    for action in actions:
        reading = at.do(action_from_json(action)).reading or Reading()
    return reading


def number(reading: Reading) -> float:
    """Give a reading in V, A or ohm."""
    assert reading.steady
    return float(reading.value) * SCALES[reading.unit]


def volts(at: Bench, red: str, black: str = "body") -> float:
    return number(do(at, {"measure": "volts", "red": red, "black": black}))


def ohms(at: Bench, red: str, black: str = "body") -> float:
    return number(do(at, {"measure": "ohms", "red": red, "black": black}))


def amps(at: Bench, wire: str) -> float:
    return number(do(at, {"clamp": wire}))


def seen(at: Bench, effect: str) -> str:
    return do(at, {"watch": effect}).words
