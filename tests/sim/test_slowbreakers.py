"""Breakers that close by themselves: they come and go by the clock, as their own curve says."""

from collections.abc import Callable
from dataclasses import fields
from pathlib import Path

import numpy as np
import pytest

from sim.action import action_from_json
from sim.bench import Bench
from sim.circuit import Circuit
from sim.circuitfile import read_circuit
from sim.faults import parse_faults, possible_faults, with_faults
from sim.network import configured
from sim.observe import Fleet, Outcome, observe
from sim.parts.breaker import COOLING, cycle
from sim.situation import Memory, Situation
from tests.sim.instruments import rig

RATING = 10.0
WINDOW = Path(__file__).parents[2] / "lessons/circuits/window.circuit.yaml"
RUN = {"key": "run"}


@pytest.fixture(scope="module", params=[0.6, 0.35, 0.12])
def overload(request: pytest.FixtureRequest, tmp_path_factory: pytest.TempPathFactory) -> rig.Rig:
    """Give 12 V, a breaker of 10 A behind the key, and too much of a load behind that."""
    return loaded(tmp_path_factory.mktemp("rig"), request.param)


def loaded(folder: Path, ohms: float) -> rig.Rig:
    parts = ["  F1: {kind: circuit breaker, rating: 10 A, at: bench}", rig.resistor("R1", ohms)]
    wires = [
        rig.wire("S1.run", "F1.1"),
        rig.wire("F1.2", "R1.1"),
        rig.wire("R1.2", "body"),
    ]
    return rig.Rig(rig.circuit(folder, parts, wires))


def after(bench: Bench, *seconds: float) -> tuple[Bench, Memory]:
    """Turn the key on, and wait; give how it stands then."""
    new = Bench(bench.circuit)
    new.do(action_from_json({"set": RUN}))
    for each in seconds:
        new.do(action_from_json({"wait": f"{each!r} s"}))
    return new, new.memory


def heat(bench: Bench, memory: Memory) -> tuple[bool, float]:
    """Give whether the breaker is open, and its heat."""
    number = bench.fleet.solver.network.fuse_names.index("F1")
    return bool(memory.blown[0, number]), float(memory.heat[0, number])


def closed_amps(bench: Bench) -> float:
    """Give what flows through it while it is closed and nothing opens."""
    fleet = bench.fleet
    network = fleet.solver.network
    configuration = Situation(controls=tuple(RUN.items())).configuration
    rows = configured(bench.circuit, network, fleet.rows, configuration)
    solved = fleet.solver.solve(fleet.slow.fuses.held(rows), fleet.solver.lanes(np.arange(1)))
    return abs(float(solved.current[0, network.element("F1")]))


def closed_seconds(bench: Bench) -> float:
    """Give how long it stays closed, by its curve."""
    return float(cycle(RATING, closed_amps(bench))[0])


@pytest.mark.parametrize("seconds", [1.0, 9.0, 17.0, 60.0, 150.0])
def test_it_comes_and_goes_as_its_curve_says(overload: rig.Rig, seconds: float) -> None:
    """Closed for t(I), open for the cooling time: heat' = 1 / t, then -1 / COOLING."""
    bench, memory = after(overload.bench, seconds)
    closed = closed_seconds(overload.bench)
    phase = seconds % (closed + COOLING)
    is_open = phase >= closed
    expected = 1.0 - (phase - closed) / COOLING if is_open else phase / closed
    found = heat(bench, memory)
    assert found[0] is is_open
    assert found[1] == pytest.approx(expected, abs=1e-4 * seconds)


@pytest.mark.parametrize("step", [1.0, 7.5, 10.0, 20.0])
def test_a_wait_in_one_go_or_in_many_ends_in_the_same_state(overload: rig.Rig, step: float) -> None:
    """But for the battery, which is looked at more often and falls by 0.1 % in a minute."""
    bench, memory = after(overload.bench, 60.0)
    _, other = after(overload.bench, *[step] * round(60.0 / step))
    assert heat(bench, other)[0] is heat(bench, memory)[0]
    assert heat(bench, other)[1] == pytest.approx(heat(bench, memory)[1], abs=2e-3)
    assert other.drawn[0, 0] == pytest.approx(memory.drawn[0, 0], rel=1e-3)
    np.testing.assert_allclose(other.risen, memory.risen, atol=0.05)


def test_the_battery_gives_only_while_it_is_closed(overload: rig.Rig) -> None:
    """Ampere seconds are amperes times the time closed."""
    _, memory = after(overload.bench, 60.0)
    closed = closed_seconds(overload.bench)
    whole, rest = divmod(60.0, closed + COOLING)
    _, begun = after(overload.bench)
    amps = closed_amps(overload.bench)
    lasting = whole * closed + min(rest, closed)
    assert memory.drawn[0, 0] - begun.drawn[0, 0] == pytest.approx(amps * lasting, rel=0.01)


def test_once_the_overload_is_gone_it_closes_when_it_has_cooled(tmp_path: Path) -> None:
    bench, memory = after(loaded(tmp_path, 0.12).bench, 60.0)
    is_open, share = heat(bench, memory)
    assert is_open
    bench.do(action_from_json({"set": {"key": "off"}}))
    left = share * COOLING - (bench.situation.clock - 60.0)
    bench.do(action_from_json({"wait": f"{left - 0.1!r} s"}))
    assert heat(bench, bench.memory)[0]
    bench.do(action_from_json({"wait": "0.2 s"}))
    assert heat(bench, bench.memory) == (False, 0.0)
    bench.do(action_from_json({"wait": "1 h"}))
    assert heat(bench, bench.memory) == (False, 0.0)


def test_a_fuse_elsewhere_opens_meanwhile(tmp_path: Path) -> None:
    """Two overloads at once: the breaker goes on, the fuse of the other one has melted."""
    parts = [
        "  F1: {kind: circuit breaker, rating: 10 A, at: bench}",
        "  F2: {kind: blade fuse, rating: 5 A, at: bench}",
        rig.resistor("R1", 0.35),
        rig.resistor("R2", 0.6),
    ]
    ends = [("S1.run", "F1.1"), ("F1.2", "R1.1"), ("R1.2", "body")]
    ends += [("S1.run", "F2.1"), ("F2.2", "R2.1"), ("R2.2", "body")]
    circuit = rig.circuit(tmp_path, parts, [rig.wire(*pair) for pair in ends])
    bench, memory = after(rig.Rig(circuit).bench, 60.0)
    names = bench.fleet.solver.network.fuse_names
    assert memory.blown[0, names.index("F2")] == 1
    assert 0.0 < heat(bench, memory)[1] < 1.0


def test_a_breaker_saves_the_link_before_it() -> None:
    """A dead short for an hour: it comes and goes, and the link of 80 A is whole."""
    circuit = read_circuit(WINDOW)
    short = parse_faults(circuit, "wire 9=short to ground:0.1 ohm")
    bench = Bench(with_faults(circuit, short))
    for do in ({"set": RUN}, {"wait": "1 h"}):
        step = bench.do(action_from_json(do))
        assert step.harm == ()
    names = bench.fleet.solver.network.fuse_names
    blown = dict(zip(names, bench.memory.blown[0].tolist(), strict=True))
    assert not any(state for name, state in blown.items() if name != "F6")


def window(_folder: Path) -> Circuit:
    return read_circuit(WINDOW)


def fan(folder: Path) -> Circuit:
    """Give the pulsed fan behind a breaker of 8 A, which its control module takes 12 A through."""
    text = (WINDOW.parent / "pulsed-fan.circuit.yaml").read_text("utf-8")
    fuse, breaker = "blade fuse, rating: 30 A, size: maxi", "circuit breaker, rating: 8 A"
    assert fuse in text
    file = folder / "fan.circuit.yaml"
    file.write_text(text.replace(fuse, breaker), "utf-8")
    return read_circuit(file)


@pytest.mark.parametrize(
    ("given", "breaker", "controls", "clamped", "step"),
    [
        (window, "F6", {"key": "run", "passenger's switch": "up"}, "wire 1", 1),
        (fan, "F1", {"key": "run", "coolant": "hot 102 degC"}, "wire 1", 8),
    ],
    ids=["window", "with rules"],
)
def test_alone_or_among_faults_it_turns_at_the_same_moment(
    tmp_path: Path,
    given: Callable[[Path], Circuit],
    breaker: str,
    controls: dict[str, str],
    clamped: str,
    step: int,
) -> None:
    """Every bit of what a vehicle remembers is the same in a fleet of one and of many."""
    circuit = given(tmp_path)
    faults = [faults for faults, _ in possible_faults(circuit)][::step]
    variants = [circuit, *(with_faults(circuit, one) for one in faults)]
    actions = [{"set": controls}, {"wait": "47 s"}, {"clamp": clamped}, {"wait": "11 min"}]

    def end(fleet: Fleet) -> tuple[Memory, list[Outcome]]:
        situation, memory, outcomes = Situation(), fleet.fresh_memory(), []
        for do in actions:
            seen = observe(fleet, situation, memory, action_from_json(do))
            situation, memory = seen.situation, seen.memory
            outcomes.append(seen.outcome)
        return memory, outcomes

    fleet = Fleet.of(variants)
    memory, outcomes = end(fleet)
    number = fleet.solver.network.fuse_names.index(breaker)
    turned = np.flatnonzero(memory.heat[:, number] > 0.0)
    assert len(turned) > 3
    for lane in (0, *turned[:8].tolist()):
        alone, shown = end(Fleet.of([variants[lane]]))
        for one in fields(Memory):
            whole, mine = getattr(memory, one.name), getattr(alone, one.name)
            if isinstance(mine, np.ndarray):
                np.testing.assert_array_equal(mine[0], whole[lane], err_msg=one.name)
        assert shown[2].numbers[0] == outcomes[2].numbers[lane]
        for (name, mine), (_, whole) in zip(shown[2].also, outcomes[2].also, strict=True):
            np.testing.assert_array_equal(mine[0], whole[lane], err_msg=name)
