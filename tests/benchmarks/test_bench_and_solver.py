"""What an action and an operating point cost, as ratios taken in one run.

Run with ``python -m pytest -m benchmark_study -s``. Ratios are printed; nothing is asserted about
time.
"""

import os
import statistics
import subprocess
import time
from collections.abc import Callable
from pathlib import Path

import numpy as np

from grader.attempt import Attempt
from grader.draw import draw
from grader.suspects import line_up
from sim.circuitfile import read_circuit
from sim.faults import possible_faults, with_faults
from sim.network import Configuration, configured, stack_rows
from sim.solver.steady import Solver
from sim.spice import Held, write_netlist
from tests.grader.foggy import foggy

CIRCUIT = Path(__file__).parents[2] / "lessons/circuits/rear-window-heater.circuit.yaml"
ON = Configuration((("heater switch", "on"), ("key", "run")))
VARIANTS, ROUNDS = 5000, 9


def median_seconds(work: Callable[[], object], rounds: int = ROUNDS) -> float:
    """Median of several rounds, after one to warm up."""
    work()
    times = []
    for _ in range(rounds):
        start = time.perf_counter()
        work()
        times.append(time.perf_counter() - start)
    return statistics.median(times)


def test_one_action(benchmark, tmp_path, say):
    """One reading through the attempt: solve, write, fsync; against a bare append with fsync."""
    lineup = line_up(foggy())
    drawn = draw(lineup, b"practice", "kim")
    with Attempt(lineup, drawn, "kim", tmp_path / "a.record.jsonl") as attempt:
        attempt.act({"set": {"key": "run", "heater switch": "on"}})
        points = ["C41.1a", "C41.1b"]

        def act() -> None:
            points.reverse()
            attempt.act({"measure": "volts", "red": points[0], "black": "body"})

        benchmark(act)
        whole = median_seconds(act, 200)
    line = (tmp_path / "a.record.jsonl").read_bytes().splitlines(keepends=True)[-1]
    with (tmp_path / "bare").open("ab") as file:

        def append() -> None:
            file.write(line)
            file.flush()
            os.fsync(file.fileno())

        bare = median_seconds(append, 200)
    benchmark.extra_info["action / fsync"] = whole / bare
    say(
        f"action {whole * 1e3:.2f} ms = {whole / bare:.2f} x one fsync ({bare * 1e3:.2f} ms);"
        f" above the fsync {max(0.0, whole - bare) * 1e3:.2f} ms (goal: 2 ms)"
    )


def test_operating_points(benchmark, ngspice, say):
    """Operating points in a batch against numpy's solver on as many matrices, and ngspice."""
    circuit = read_circuit(CIRCUIT)
    solver = Solver.of(circuit)
    variants = [circuit, *(with_faults(circuit, f) for f, _ in possible_faults(circuit))]
    rows = configured(circuit, solver.network, stack_rows(variants), ON)
    lanes = solver.lanes(np.resize(np.arange(len(variants)), VARIANTS))
    benchmark.pedantic(lambda: solver.solve(rows, lanes), rounds=3, warmup_rounds=1)
    ours = median_seconds(lambda: solver.solve(rows, lanes)) / VARIANTS

    size = len(solver.network.nodes) - 5
    generator = np.random.default_rng(0)
    matrices = generator.random((VARIANTS, size, size)) + size * np.eye(size)
    sides = generator.random((VARIANTS, size, 1))
    numpy = median_seconds(lambda: np.linalg.solve(matrices, sides), 3) / VARIANTS

    one = solver.lanes(np.array([0]))
    solution = solver.solve(rows, one)
    held = Held(solution.closed[0], solution.blown[0])
    netlist = write_netlist(solver.network, rows[0], held, "benchmark")

    def run() -> None:
        subprocess.run([ngspice, "-b"], input=netlist, text=True, capture_output=True, check=False)

    spice = median_seconds(run)
    single = median_seconds(lambda: solver.solve(rows, one), 200)
    benchmark.extra_info["numpy.linalg.solve / ours"] = numpy / ours
    benchmark.extra_info["ngspice / ours"] = spice / ours
    say(
        f"{size} nodes, batch of {VARIANTS}: one bare numpy.linalg.solve is {numpy / ours:.2f} x,"
        f" one ngspice process {spice / ours:.0f} x an operating point of ours;"
        f" a batch of one costs {single / ours:.1f} x a point of the batch"
    )
