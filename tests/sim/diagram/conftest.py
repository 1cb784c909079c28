"""Circuits and their drawings."""

from pathlib import Path

import pytest

from sim.circuit import Circuit
from sim.circuitfile import read_circuit
from sim.diagram import Drawing, draw
from tests.sim.diagram.plans import NAMES, RELIEF, SHIPPED, STOP_LAMPS, TOP, written


@pytest.fixture(scope="module", params=NAMES)
def circuit(request: pytest.FixtureRequest, tmp_path_factory: pytest.TempPathFactory) -> Circuit:
    """Give every shipped circuit, and two of other shapes."""
    own = {"stop lamps": STOP_LAMPS, "relief": RELIEF}
    if request.param in own:
        return written(tmp_path_factory.mktemp("circuit"), own[request.param])
    return read_circuit(SHIPPED[NAMES.index(request.param)])


@pytest.fixture(scope="module")
def drawing(circuit: Circuit) -> Drawing:
    """Give its diagram."""
    return draw(circuit)


@pytest.fixture
def heater() -> Circuit:
    """Give the circuit whose wiring the tests below know by heart."""
    return read_circuit(TOP / "lessons" / "circuits" / "rear-window-heater.circuit.yaml")


@pytest.fixture
def stop_lamps(tmp_path: Path) -> Circuit:
    """Give three tracks, two of them through one connector, the second fed from the first."""
    return written(tmp_path, STOP_LAMPS)
