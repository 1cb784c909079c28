"""A vehicle with rules, an NTC and a scan tool, the radiator fan of the tests of modules; loopback.

Its control unit gives the coolant's temperature in service 01 and goes on with 85 degC in doubt.
"""

from collections.abc import Callable, Iterator
from pathlib import Path

import pytest

from sim.action import action_from_json
from sim.bench import Bench
from sim.circuit import Circuit
from sim.circuitfile import read_circuit
from sim.diagnosis.doip import Patience, VehicleOnLoopback
from sim.diagnosis.sample import sample_units
from sim.faults import parse_faults, with_faults
from tests.sim.diagnosis.loopback import FAR, Clock

FILE = Path(__file__).parents[1] / "modules/fan.circuit.yaml"
GIVEN = '        pin: "4"\n'
ADDED = GIVEN + '        parameter: "05"\n        substitute: 85 degC\n'


@pytest.fixture(scope="session")
def fan(tmp_path_factory: pytest.TempPathFactory) -> Circuit:
    text = FILE.read_text("utf-8")
    assert text.count(GIVEN) == 1
    path = tmp_path_factory.mktemp("circuits") / "fan.circuit.yaml"
    path.write_text(text.replace(GIVEN, ADDED), "utf-8")
    return read_circuit(path)


@pytest.fixture
def fan_bench(fan: Circuit) -> Callable[[str], Bench]:
    """Give what makes a bench with the fan's vehicle on it, ignition on."""

    def bench(fault: str = "") -> Bench:
        broken = with_faults(fan, parse_faults(fan, fault)) if fault else fan
        found = Bench(broken)
        found.do(action_from_json({"set": {"ignition": "on"}}))
        return found

    return bench


@pytest.fixture
def clock() -> Clock:
    """Give seconds that pass when a test says so."""
    return Clock()


@pytest.fixture
def vehicle(clock: Clock) -> Iterator[VehicleOnLoopback]:
    """Give the demonstration's units on loopback, patient with a slow machine."""
    patience = Patience(activation=FAR, message=FAR, alive=0.05)
    with VehicleOnLoopback(sample_units(), 0, clock, patience) as found:
        yield found
