"""Curves in which a breaker comes and goes: its times, and what its load does when fed again."""

from pathlib import Path

import numpy as np
import pytest

from sim.instruments.turning import opens_at
from sim.parts.breaker import COOLING, cycle
from tests.sim.instruments import rig
from tests.sim.instruments.test_byturns import RUN, loaded

AMPS = 12.0 / 0.6  # about 20 A through a breaker of 10 A: closed for some 25 s, open for 10 s


def scope(on: rig.Rig, time: str) -> tuple[np.ndarray, dict[str, str], float]:
    """Give a screen's counts around wire 4, its figures, and the breaker's heat as it begins."""
    action = {"scope": {"A": {"clamp": "wire 4"}}, "time": time}
    figures = dict(on.do(**action).also)
    memory, names = on.bench.memory, on.bench.fleet.solver.network.fuse_names
    heat = float(memory.heat[0, names.index("F1")])
    return np.array([float(c) for c in figures["A samples"].split()]), figures, heat


def test_a_long_screen_shows_it_open_and_close(tmp_path: Path) -> None:
    """50 s of a short and of nothing: 10 s open, and as long closed as the curve says."""
    short = loaded(tmp_path, 0.12)
    counts, figures, heat = scope(short, "50 s")
    number = short.bench.fleet.solver.network.fuse_names.index("F1")
    amps = float(figures["A maximum"].split()[0])
    assert float(figures["A minimum"].split()[0]) == pytest.approx(0.0, abs=1.0)
    closed = float(cycle(10.0, amps)[0])
    is_open = bool(short.bench.memory.blown[0, number])
    flows = counts > 100
    begins = heat * COOLING if is_open else (1.0 - heat) * closed
    time = np.linspace(0.0, 50.0, len(counts))
    first = time[np.flatnonzero(flows != flows[0])[0]]
    assert flows[0] == (not is_open)
    assert first == pytest.approx(begins, abs=0.4)
    assert flows.mean() == pytest.approx(closed / (closed + COOLING), abs=0.06)


def test_a_short_screen_shows_the_state_that_holds(tmp_path: Path) -> None:
    weak = loaded(tmp_path, 0.6)
    _counts, figures, _heat = scope(weak, "100 ms")
    least, most = (float(figures[f"A {name}"].split()[0]) for name in ("minimum", "maximum"))
    assert least == most
    assert least in (pytest.approx(0.0, abs=0.2), pytest.approx(AMPS, rel=0.05))


def test_a_motor_starts_anew_each_time_and_opens_it_sooner(tmp_path: Path) -> None:
    """A fan that stands still takes U / R of its windings; by then it has run down in 10 s."""
    parts = [
        "  F1: {kind: circuit breaker, rating: 10 A, at: bench}",
        "  M1: {kind: motor, current: 20 A, load: fan, at: bench}",
    ]
    wires = [rig.wire("S1.run", "F1.1"), rig.wire("F1.2", "M1.1"), rig.wire("M1.2", "body")]
    on = rig.Rig(rig.circuit(tmp_path, parts, wires))
    on.step(set=RUN)
    on.step(wait="1 s")  # it runs
    counts, figures, _heat = scope(on, "50 s")
    least, most = (float(figures[f"A {name}"].split()[0]) for name in ("minimum", "maximum"))
    amps = least + counts / 200 * (most - least)
    runs = amps > 1.0
    opened = int(np.flatnonzero(~runs)[0])
    again = opened + int(np.flatnonzero(runs[opened:])[0])
    steady = amps[opened - 1]
    assert steady == pytest.approx(20.0, rel=0.15)
    assert amps[again : again + 5].max() > 1.5 * steady
    assert (again - opened) * 50.0 / 249 == pytest.approx(COOLING, abs=0.5)


def test_heat_adds_up_along_a_current() -> None:
    """4 s closed at a steady current; half of the heat is there in half of it; nothing below."""
    time = np.linspace(0.0, 20.0, 2001)
    steady, later = np.full_like(time, 0.25), np.where(time < 10.0, 0.0, 0.25)
    assert opens_at(time, steady, 0.0, 0.0) == pytest.approx(4.0)
    assert opens_at(time, steady, 3.0, 0.5) == pytest.approx(5.0)
    assert opens_at(time, later, 0.0, 0.5) == pytest.approx(12.0, abs=0.01)
    assert opens_at(time, later, 0.0, 1.0) == pytest.approx(0.0, abs=0.01)
    assert opens_at(time, steady, 17.0, 0.0) == np.inf
    assert opens_at(time, steady, 30.0, 0.5) == np.inf
