"""A vehicle with rules, an NTC and a scan tool: the radiator fan of the tests of modules.

Its control unit gives the coolant's temperature in service 01 and goes on with 85 degC in doubt.
"""

from collections.abc import Callable
from pathlib import Path

import pytest

from sim.action import action_from_json
from sim.bench import Bench
from sim.circuit import Circuit
from sim.circuitfile import read_circuit
from sim.faults import parse_faults, with_faults

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
