"""What an operating point costs, by circuit, node count and batch: ratios taken in one run.

Run with ``OPENBLAS_NUM_THREADS=1 python -m pytest -m benchmark_study -s -n 0
tests/benchmarks/test_solver_speed.py``: from some hundred unknowns numpy's library starts threads,
whose waiting for each other would count as work of its own (ratios ten times too good). Every
number is a median of interleaved rounds, of processor time; nothing is asserted about time.
``numpy.linalg.solve`` is given one stack of nodal matrices of the same circuits; libngspice alters
one resistance, solves, and the altered value is read back.
"""

import resource
import statistics
import time
import tracemalloc
from collections.abc import Callable
from dataclasses import replace
from pathlib import Path

import numpy as np
import pytest

from sim.access import probe_points
from sim.circuit import Circuit
from sim.circuitfile import read_circuit
from sim.compiled import compiles
from sim.faults import possible_faults, with_faults
from sim.instruments import multimeter
from sim.network import (
    INSTRUMENTS,
    Configuration,
    Floats,
    configured,
    element_row,
    network_of,
    stack_rows,
)
from sim.parts.family import CURVED, Element, Law
from sim.parts.lamp import filament_shape
from sim.solver.laws import OSCILLATING, SOLVED
from sim.solver.pairs import Meter, all_pairs
from sim.solver.program import build_program
from sim.solver.steady import Lanes, Solver
from sim.spice import Held, write_netlist
from tests.benchmarks.spicelib import Spice, library_name

FILES = sorted((Path(__file__).parents[2] / "lessons/circuits").glob("*.circuit.yaml"))
VARIANTS, ROUNDS, SPICE_POINTS = 5000, 5, 50
FAULTS, CONDITIONS, PLUGS = 60, 8, 13
METER = Meter(
    multimeter.INPUT_RESISTANCE,
    multimeter.TEST_VOLTAGE,
    multimeter.SERIES,
    multimeter.FULL_SCALE,
    multimeter.LEADS_ZEROED,
)


def last_positions(circuit: Circuit) -> Configuration:
    """Give every control in its last position: as much as can be is switched on."""
    chosen = ((control.name, control.positions[-1]) for control in circuit.controls.values())
    return Configuration(tuple(chosen))


def scattered(rows: Floats, laws: np.ndarray, seed: int) -> Floats:
    """Give `VARIANTS` rows, each with every straight resistance up to 10 % off."""
    rng = np.random.default_rng(seed)
    rows = rows[np.resize(np.arange(len(rows)), VARIANTS)]
    straight = ~np.isin(laws, CURVED)
    rows[:, straight, 0] *= rng.uniform(0.9, 1.1, (VARIANTS, int(straight.sum())))
    return rows


def of_file(path: Path) -> tuple[Solver, Floats]:
    circuit = read_circuit(path)
    solver = Solver.of(circuit)
    variants = [circuit, *(with_faults(circuit, f) for f, _ in possible_faults(circuit))]
    rows = configured(circuit, solver.network, stack_rows(variants), last_positions(circuit))
    return solver, scattered(rows, solver.network.laws, 1)


def forty_points() -> tuple[Solver, Floats]:
    """Give 40 points: battery, wires and contacts, 3 lamps, 2 diodes, relay, motor, sensor, driver.

    Wires in a row from plus, each load at its own place on it, as in the prototypes that the goals
    were set by.
    """
    made: list[Element] = [Element("battery", "n0", "body", 200.0, 12.6)]
    made += [
        Element(f"wire {n}", f"n{n}", f"n{n + 1}", 1 / (0.003 if n % 2 else 0.01))
        for n in range(24)
    ]
    branches = (4, 8, 12, 16, 18, 20, 22, 24)
    for index, n in enumerate(branches):
        made.append(Element(f"feed {n}", f"n{n}", f"b{n}", 1 / 0.02))
        if index < 7:
            made.append(Element(f"ground {n}", f"g{n}", "body", 1 / 0.005))
    for n, watts in ((4, 55.0), (8, 21.0), (12, 5.0)):
        shape = filament_shape(12.0, watts)
        made.append(Element(f"lamp {n}", f"b{n}", f"g{n}", 1.0, law=Law.LAMP, shape=shape))
    diode = (1e-12, 0.0437, 0.0)
    coil = (0.10, 0.03, 0.0)
    made += [
        Element("coil", "b16", "g16", 1 / 90.0, law=Law.COIL, shape=coil, relay="relay"),
        Element("fly", "g16", "b16", 1.0, law=Law.DIODE, shape=diode),
        Element("contact", "b18", "c18", 1 / 0.01, law=Law.CONTACT, relay="relay"),
        Element("motor", "c18", "g18", 1 / 0.4, law=Law.MOTOR, shape=(1.5, 0.05, 0.08)),
        Element("sensor", "b20", "g20", 1 / 2500.0),
        Element("input", "b20", "body", 1 / 4700.0, 5.0),
        Element("driver", "b22", "g22", 1 / 30.0),
        Element("blocking", "b24", "d24", 1.0, law=Law.DIODE, shape=diode),
        Element("behind", "d24", "body", 1 / 47.0),
    ]
    network = network_of((*made, *INSTRUMENTS))
    solver = Solver(network, build_program(network))
    return solver, scattered(element_row(network.elements)[None], network.laws, 2)


def ladder(points: int) -> tuple[Solver, Floats]:
    """Give a chain of wires with a resistor to the body at every fourth point, and some lamps."""
    made = [Element("battery", "n0", "body", 200.0, 12.6)]
    wires = range(points - 1)
    made += [Element(f"wire {n}", f"n{n}", f"n{n + 1}", 1 / 0.004) for n in wires]
    made += [Element(f"load {n}", f"n{n}", "body", 1 / 60.0) for n in range(3, points, 4)]
    for n in range(5, points, max(8, points // 5)):
        shape = filament_shape(12.0, 5.0)
        made.append(Element(f"lamp {n}", f"n{n}", "body", 1.0, law=Law.LAMP, shape=shape))
    network = network_of((*made, *INSTRUMENTS))
    solver = Solver(network, build_program(network))
    return solver, scattered(element_row(network.elements)[None], network.laws, 3)


def mesh(side: int) -> tuple[Solver, Floats]:
    """Give a square of points, each joined to its neighbours: what vehicles do not look like."""
    made = [Element("battery", "n0.0", "body", 200.0, 12.6)]
    for row in range(side):
        for column in range(side):
            here = f"n{row}.{column}"
            for other in ((row + 1, column), (row, column + 1)):
                if max(other) < side:
                    there = f"n{other[0]}.{other[1]}"
                    made.append(Element(f"{here} {there}", here, there, 1 / 0.5))
    shape = filament_shape(12.0, 21.0)
    end = f"n{side - 1}.{side - 1}"
    made.append(Element("lamp", end, "body", 1.0, law=Law.LAMP, shape=shape))
    network = network_of((*made, *INSTRUMENTS))
    solver = Solver(network, build_program(network))
    return solver, scattered(element_row(network.elements)[None], network.laws, 4)


def nodal_stack(solver: Solver, rows: Floats) -> tuple[Floats, Floats]:
    """Give nodal matrices and right sides of variants, curved elements as 10 ohm."""
    network = solver.network
    size = len(network.nodes) - 4
    matrices, sides = np.zeros((len(rows), size, size)), np.zeros((len(rows), size, 1))
    for number, (a, b) in enumerate(network.ends[:-4].tolist()):
        g = np.where(np.isin(network.laws[number], CURVED), 0.1, rows[:, number, 0])
        push = g * rows[:, number, 1]
        for this, other, sign in ((a, b, 1.0), (b, a, -1.0)):
            matrices[:, this, this] += g
            matrices[:, this, other] -= g
            sides[:, this, 0] += sign * push
    inner = np.arange(1, size)
    matrices[:, inner, inner] += 1e-9
    return matrices[:, 1:, 1:].copy(), sides[:, 1:].copy()


def seconds(work: Callable[[], object]) -> float:
    """Give the processor time of one thread, which other programs on the machine hardly change."""
    start = time.process_time()
    work()
    return time.process_time() - start


def interleaved(rounds: int, *works: Callable[[], object]) -> list[float]:
    """Give the median of each work's times, one of each in turn, after one to warm up."""
    for work in works:
        work()
    times = [[seconds(work) for work in works] for _ in range(rounds)]
    return [statistics.median(column) for column in zip(*times, strict=True)]


def spice_seconds(solver: Solver, rows: Floats) -> float:
    """Give the time of alter + op + read of one variant in libngspice, each altering a resistor."""
    if library_name() is None:
        pytest.skip("needs libngspice (Debian: apt-get install libngspice0)")
    one = solver.solve(rows, solver.lanes(np.array([0])))
    netlist = write_netlist(
        solver.network, rows[0, :, :5], Held(one.closed[0], one.blown[0]), "speed"
    )
    kept = [line for line in netlist.splitlines() if not line.startswith(("print", "op", "set"))]
    lines = [line for line in kept if line not in (".control", ".endc")]
    at = next(number for number, line in enumerate(lines) if line.startswith("H"))
    _device, node, other, *_control, ohms_text = lines[at].split()
    ohms, device = float(ohms_text), "rspeed"  # a plain resistor, which can be altered and read
    lines[at] = f"{device} {node} {other} {ohms!r}"
    spice = Spice()
    spice.load(lines)
    spice.do("op")
    spice.do(f"alter {device} = {ohms!r}")
    times = []
    for point in range(SPICE_POINTS):
        value = float(ohms * (1 + point / SPICE_POINTS / 10))
        start = time.process_time()
        spice.do(f"alter {device} = {value!r}")
        spice.do("op")
        spice.value(node)
        times.append(time.process_time() - start)
        read = spice.value(f"@{device}[resistance]")
        assert read == pytest.approx(value), "ngspice did not take the altered value"
        spice.do("destroy all")  # what it keeps of points gone by would slow the next one down
    return statistics.median(times)


CIRCUITS = {
    **{path.name.partition(".")[0]: (lambda path=path: of_file(path)) for path in FILES},
    "forty points": forty_points,
}


@pytest.mark.parametrize("name", CIRCUITS)
def test_an_operating_point(name: str, say: Callable[[str], None]) -> None:
    """5000 variants, each an operating point; ratios to one bare numpy.linalg.solve."""
    solver, rows = CIRCUITS[name]()
    lanes, one = solver.lanes(np.arange(VARIANTS)), solver.lanes(np.array([0]))
    matrices, sides = nodal_stack(solver, rows)
    fast, plain = replace(solver, plain=not compiles()), replace(solver, plain=True)
    ours, arrays, lapack = (
        value / VARIANTS * 1e6
        for value in interleaved(
            ROUNDS,
            lambda: fast.solve(rows, lanes),
            lambda: plain.solve(rows, lanes),
            lambda: np.linalg.solve(matrices, sides),
        )
    )
    alone = interleaved(200, lambda: fast.solve(rows, one))[0]
    alone_plain = interleaved(20, lambda: plain.solve(rows, one))[0]
    solution = fast.solve(rows, lanes)
    say(
        f"{name}: {len(sides[0])} unknowns, {solution.solutions / VARIANTS:.1f} solutions each, "
        f"{int((solution.status == 0).sum())} of {VARIANTS} converge; numpy.linalg.solve "
        f"{lapack:.1f} us; ours {ours / lapack:.3f} x, in arrays {arrays / lapack:.3f} x; "
        f"one alone {alone * 1e3:.3f} ms, in arrays {alone_plain * 1e3:.1f} ms; "
        f"libngspice {spice_seconds(solver, rows) * 1e6 / ours:.0f} x ours"
    )
    assert set(solution.status.tolist()) <= {SOLVED, OSCILLATING}  # a relay on low volts may buzz


@pytest.mark.parametrize("path", FILES, ids=lambda path: path.name.partition(".")[0])
def test_the_dictionary(path: Path, say: Callable[[str], None]) -> None:
    """60 faults x 8 conditions x 13 plug states: all loaded volts, ohms where nothing is live."""
    circuit = read_circuit(path)
    solver = Solver.of(circuit)
    faults = [with_faults(circuit, f) for f, _ in possible_faults(circuit)]
    rows = stack_rows([faults[n % len(faults)] for n in range(FAULTS)])
    names = [part.name for part in circuit.parts.values() if part.kind in ("connector", "relay")]
    plugs = [(), *((names[n % len(names)],) for n in range(PLUGS - 1))]
    first = {c.name: c.positions[0] for c in circuit.controls.values()}
    settings = [first]
    while len(settings) < CONDITIONS:
        control = list(circuit.controls.values())[len(settings) % len(circuit.controls)]
        settings.append({**settings[-1], control.name: control.positions[-1]})
    stacks = [
        configured(circuit, solver.network, rows, Configuration(tuple(s.items()), apart=plug))
        for s in settings
        for plug in plugs
    ]
    points = np.array(
        sorted({solver.network.node(p) for p in probe_points(circuit) if p in solver.network.nodes})
    )
    everything = np.concatenate(stacks)
    dead = 2 * PLUGS * FAULTS  # of eight conditions, two with ohms

    def read() -> list:
        found = []
        for some, ohms in ((slice(0, dead), True), (slice(dead, None), False)):
            lanes = solver.lanes(np.arange(len(everything))[some])
            solution = solver.solve(everything, lanes)
            found.append(all_pairs(solver, everything, lanes, solution, points, METER, ohms=ohms))
        return found

    took = interleaved(3, read)[0]
    found = read()
    say(
        f"{circuit.name}: dictionary of {len(everything)} states, {len(points)} points: "
        f"{sum(part.volts.size for part in found)} volts, {found[0].ohms.size} ohms "
        f"in {took:.2f} s; "
        f"{sum(part.solved_anew for part in found)} solved anew, "
        f"{sum(part.solved_whole for part in found)} whole, "
        f"of {sum(part.readings for part in found)} readings"
    )


def ratio_to_lapack(solver: Solver, rows: Floats) -> tuple[float, int]:
    """Give (our time over numpy.linalg.solve's, unknowns)."""
    matrices, sides = nodal_stack(solver, rows)
    lanes = solver.lanes(np.arange(len(rows)))
    ours, lapack = interleaved(
        3, lambda: solver.solve(rows, lanes), lambda: np.linalg.solve(matrices, sides)
    )
    return ours / lapack, len(sides[0])


@pytest.mark.parametrize("points", [10, 40, 80, 150, 300])
def test_cost_against_nodes(points: int, say: Callable[[str], None]) -> None:
    side = round(points**0.5)
    for name, (solver, rows) in (("ladder", ladder(points)), ("mesh", mesh(side))):
        ratio, size = ratio_to_lapack(solver, rows[:500])
        say(f"{name} of {size} points: {ratio:.3f} x numpy.linalg.solve")


@pytest.mark.parametrize("plain", [False, True], ids=["compiled", "arrays"])
def test_cost_against_batch(plain: bool, say: Callable[[str], None]) -> None:  # noqa: FBT001
    solver, rows = of_file(FILES[0])
    one = replace(solver, plain=plain)
    for count in (1, 10, 100, 1000, 10_000, 100_000):
        lanes = one.lanes(np.resize(np.arange(VARIANTS), count))
        took = interleaved(3, lambda lanes=lanes: one.solve(rows, lanes))[0]
        say(f"batch of {count}: {took / count * 1e6:.2f} us each")


def test_memory(say: Callable[[str], None]) -> None:
    solver, rows = of_file(FILES[0])
    lanes = solver.lanes(np.arange(VARIANTS))
    for name, one in (("compiled", solver), ("arrays", replace(solver, plain=True))):
        tracemalloc.start()
        one.solve(rows, lanes)
        peak = tracemalloc.get_traced_memory()[1] / 2**20
        tracemalloc.stop()
        say(f"{name}: batch of {VARIANTS} peaks at {peak:.0f} MiB, its answer included")
    say(f"process: {resource.getrusage(resource.RUSAGE_SELF).ru_maxrss / 1024:.0f} MiB at most")


def check_same_lanes(solver: Solver, rows: Floats, lanes: Lanes) -> bool:
    """Tell whether both ways give the same bits."""
    fast, plain = solver.solve(rows, lanes), replace(solver, plain=True).solve(rows, lanes)
    return fast.volts.tobytes() == plain.volts.tobytes()


@pytest.mark.parametrize("name", CIRCUITS)
def test_what_is_measured_is_the_same_answer(name: str) -> None:
    solver, rows = CIRCUITS[name]()
    assert check_same_lanes(solver, rows, solver.lanes(np.arange(VARIANTS)))
