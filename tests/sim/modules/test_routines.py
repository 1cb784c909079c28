"""Routines of a circuit file: a scan tool starts them, they run their time and no longer."""

from functools import cache
from pathlib import Path

import numpy as np
import pytest

from lessons.catalogue import circuit_path
from sim.circuit import Circuit
from sim.circuitfile import read_circuit, read_through
from sim.diagnosis.bus import DiagnosticBus
from sim.observe import Fleet
from sim.served import Served
from sim.situation import Situation
from sim.solver.steady import Solver
from tests.sim.modules.stand import Stand

HUMS, TAKES = "the pump hums", 90.0
START = {"scan": "routine", "unit": "A1", "what": "pump test"}
FAN = (Path(__file__).parent / "fan.circuit.yaml").read_text("utf-8")


@cache
def pump() -> Circuit:
    return read_circuit(circuit_path("coolant-pump-last"))


@cache
def solver() -> Solver:
    return Solver.of(pump())


def stand(fault: str = "") -> Stand:
    """Give a vehicle with the key on and the engine cold: nothing asks for the pump."""
    found = Stand.of(pump(), solver(), fault, "A1")
    found.set(key="run")
    assert not found.sees(HUMS)
    return found


def started(fault: str = "") -> tuple[Stand, float]:
    """Start the routine; give the vehicle, and the clock then."""
    found = stand(fault)
    assert found.do(**START).words == "A1: pump test: running"
    return found, found.bench.situation.clock


def test_it_runs_its_time_and_no_longer() -> None:
    vehicle, began = started()
    hums = []
    for _time in range(6):
        vehicle.wait("15 s")
        left = began + TAKES - vehicle.bench.situation.clock
        hums.append((left > 0.0, vehicle.sees(HUMS)))
    assert {running for running, _heard in hums} == {True, False}
    assert all(running == heard for running, heard in hums)


@pytest.mark.parametrize("step", ["1 s", "7 s", "80 s"])
def test_it_does_not_matter_how_a_wait_is_divided(step: str) -> None:
    """What the pump has drawn in all is the same, the routine's end in the middle or not."""
    vehicle, _began = started()
    times = {"1 s": 120, "7 s": 17, "80 s": 1}[step]
    for _time in range(times):
        vehicle.wait(step)
    vehicle.wait(f"{160 - times * int(step.split(maxsplit=1)[0])} s")
    whole, _began = started()
    whole.wait("160 s")
    drawn = [one.bench.memory.drawn for one in (vehicle, whole)]
    assert np.allclose(*drawn, rtol=2e-3)  # volts follow the charge from look to look
    assert vehicle.sees(HUMS) is whole.sees(HUMS) is False


def test_what_a_tester_holds_goes_before() -> None:
    vehicle, _began = started()
    assert vehicle.sees(HUMS)
    vehicle.do(scan="hold", unit="A1", what="pump wanted", at="0")
    assert not vehicle.sees(HUMS)
    vehicle.do(scan="release", unit="A1", what="pump wanted")
    vehicle.do(**START)  # it has run out meanwhile
    assert vehicle.sees(HUMS)


def test_a_graph_shows_it_run_and_end_and_a_hold_outlast_it() -> None:
    """Ten moments of two minutes, after a minute of work: it has 90 s in all."""
    graph = {"scan": "graph", "unit": "A1", "what": "pump wanted", "over": "2 min"}
    vehicle, _began = started()
    words = vehicle.do(**graph).words.removeprefix("A1: ").split(", ")
    assert words == ["100.0 %"] * 2 + ["0.0 %"] * 8
    vehicle.do(scan="hold", unit="A1", what="pump wanted", at="100")
    assert set(vehicle.do(**graph).words.removeprefix("A1: ").split(", ")) == {"100.0 %"}


def test_a_unit_that_falls_asleep_ends_it() -> None:
    vehicle, _began = started()
    vehicle.set(key="off")
    vehicle.set(key="run")
    assert vehicle.sees(HUMS)  # it stays awake for a while
    vehicle, _began = started()
    vehicle.do(pull="F1")
    vehicle.do(insert="F1")
    assert not vehicle.sees(HUMS)


@pytest.mark.parametrize(
    ("fault", "hums"), [("wire 17=open", False), ("M1=dead", False), ("A1.8=stuck off", False)]
)
def test_what_cannot_be_carried_out_is_not(fault: str, hums: bool) -> None:  # noqa: FBT001
    vehicle, _began = started(fault)
    assert vehicle.sees(HUMS) is hums


def test_variants_that_are_told_nothing_go_on_by_their_rules() -> None:
    fleet = Fleet.of([pump()] * 2, solver())
    memory = fleet.fresh_memory(Situation(controls=(("key", "run"),)))
    assert memory.modules is not None
    told = memory.modules.imposing([0], 1.0)
    assert np.isnan(told.told(np.zeros(2))).sum() == told.imposed.size - 2
    assert np.isinf(told.ends(np.zeros(2))).all()


def test_over_the_network_it_begins_by_the_testers_clock() -> None:
    """Service 31 of ISO 14229-1; its state byte is ours: 1 running, 2 finished."""
    vehicle = Served.of(pump(), Situation(controls=(("key", "run"),)))
    demand, results = bytes.fromhex("223001"), bytes.fromhex("31030201")
    with DiagnosticBus(vehicle.units(), 5000.0) as bus:
        vehicle.refresh(bus, 5000.0)
        bus.ask("A1", bytes.fromhex("1003"))
        (began,) = bus.ask("A1", bytes.fromhex("31010201"))
        assert began.data[:4] == bytes.fromhex("71010201")
        answers = []
        for after in range(1, 100):
            bus.ask("A1", bytes.fromhex("3E00"))  # tester present, or the session ends after 5 s
            bus.clock = max(bus.clock, 5000.0 + after)
            vehicle.refresh(bus, bus.clock)
            (wants,), (state,) = bus.ask("A1", demand), bus.ask("A1", results)
            answers.append((wants.data[-1] > 0, state.data[4]))
    assert answers[0] == (True, 1)
    assert answers[-1] == (False, 2)
    assert 85 <= sum(on for on, _state in answers) <= 92


@pytest.mark.parametrize(
    ("routine", "says"),
    [
        ("{takes: 10 s, holds: {horn: on}}", "A3: routines: test: no output follows 'horn'"),
        ("{takes: 0 s, holds: {fan wanted: on}}", "takes more than 0 s"),
        ("{takes: 10 s, holds: {}}", "holds something"),
        ("{takes: 10 V, holds: {fan wanted: on}}", "got unit 'V'"),
        ("{takes: 10 s, holds: {gauge: 130 %}}", "expected on, off, or 0 % to 100 %"),
        ("{holds: {fan wanted: on}}", "takes"),
    ],
)
def test_a_mistake_is_named_with_its_line(routine: str, says: str, tmp_path: Path) -> None:
    path = tmp_path / "fan.circuit.yaml"
    mark = "    outputs:"
    assert FAN.count(mark) == 1
    path.write_text(FAN.replace(mark, f"    routines:\n      test: {routine}\n{mark}"), "utf-8")
    texts = [str(one) for one in read_through(path).mistakes]
    assert len(texts) == 1, texts
    assert says in texts[0]
    line = FAN[: FAN.index(mark)].count("\n") + 2
    assert texts[0].split(":")[1] == str(line)
