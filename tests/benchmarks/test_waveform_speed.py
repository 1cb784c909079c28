"""What a waveform costs, as ratios to ngspice's .tran in the same run.

Run with ``python -m pytest -m benchmark_study -s tests/benchmarks/test_waveform_speed.py``. Ratios
are printed; nothing is asserted about time. ngspice runs with its own tolerances and a longest
step of 10 us, the sample's: faster than what it needs to agree with itself. Both are counted in
seconds of the processor, ngspice's start taken off.
"""

import os
import re
import statistics
import subprocess
import time
from collections.abc import Callable

import numpy as np
import pytest

from sim.network import CONDUCTANCE
from sim.solver.waveform import waveform
from sim.spice import Held
from sim.spicewave import Times, write_waveform
from tests.sim.waves import Rig, van

POINTS, ELEMENTS = ["E1.1", "M1.1", "Y1.2", "K1.85"], ["M1", "Y1"]
DURATION, STEP, FAULTS, ROUNDS = 0.1, 1e-5, 100, 5


def ours(one: Rig, count: int) -> Callable[[], object]:
    """Give the waveforms of a circuit whole, or with as many faults (one element each)."""
    before = np.repeat(one.before, count, axis=0)
    after = np.repeat(one.after, count, axis=0)
    rng = np.random.default_rng(7)
    for lane in range(1, count):
        number, factor = int(rng.integers(before.shape[1] - 4)), float(rng.choice([0.0, 0.01, 0.3]))
        for rows in (before, after):
            rows[lane, number, CONDUCTANCE] *= factor
    lanes = one.solver.lanes(np.arange(count))
    return lambda: waveform(
        one.solver,
        before,
        after,
        lanes,
        duration=DURATION,
        step=STEP,
        points=one.nodes(POINTS),
        elements=one.elements(ELEMENTS),
    )


def processor_seconds(work: Callable[[], object], rounds: int = ROUNDS) -> float:
    """Median of several rounds, after one to warm up."""
    work()
    times = []
    for _ in range(rounds):
        start = time.process_time()
        work()
        times.append(time.process_time() - start)
    return statistics.median(times)


def ngspice_seconds(program: str, netlist: str) -> float:
    """Median of the processor seconds of a child process."""
    times = []
    for _ in range(ROUNDS):
        start = os.times()
        done = subprocess.run(
            [program, "-n", "-b"], input=netlist, capture_output=True, text=True, check=False
        )
        assert "aborted" not in done.stderr
        end = os.times()
        times.append(
            end.children_user + end.children_system - start.children_user - start.children_system
        )
    return statistics.median(times)


def netlist(one: Rig, duration: float) -> str:
    steady = one.solver.solve(one.before, one.lanes())
    text = write_waveform(
        one.solver.network,
        one.before[0],
        one.after[0],
        Held(steady.closed[0], steady.blown[0]),
        Times(duration, STEP, longest=STEP),
        one.nodes(POINTS),
        one.elements(ELEMENTS),
    )
    text = re.sub("reltol=1e-6 vntol=1e-6 abstol=1e-8", "", text)
    return re.sub("^(linearize|print) .*$", "", text, flags=re.MULTILINE)


def test_waveform(ngspice: str, capsys: pytest.CaptureFixture[str]) -> None:
    """10 000 samples of a circuit of 40 points, alone and for 100 faults at once."""
    one = van()
    spice = ngspice_seconds(ngspice, netlist(one, DURATION))
    spice -= ngspice_seconds(ngspice, netlist(one, STEP))
    alone = processor_seconds(ours(one, 1))
    each = processor_seconds(ours(one, FAULTS), 3) / FAULTS
    with capsys.disabled():
        print(  # noqa: T201 -- a benchmark's output
            f"\n  waveform of {DURATION / STEP:.0f} samples, "
            f"{len(one.solver.network.nodes) - 5} points:"
            f" alone {alone / spice:.3f} x ngspice's .tran (goal 0.3);"
            f" of {FAULTS} faults at once {spice / each:.0f} times as fast each (goal 25);"
            f" ngspice {spice * 1e3:.0f} ms, alone {alone * 1e3:.1f} ms, each {each * 1e3:.2f} ms"
        )
