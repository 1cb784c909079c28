"""What lamp, clamp, meter and oscilloscope show while a breaker comes and goes."""

from pathlib import Path

import numpy as np
import pytest

from sim.action import Reading, action_from_json
from sim.instruments.byturns import walk
from sim.parts.breaker import COOLING, cycle
from tests.sim.instruments import rig

AMPS = 12.0 / 0.6  # about 20 A through a breaker of 10 A: closed for some 25 s, open for 10 s
RUN = {"key": "run"}


def loaded(folder: Path, ohms: float) -> rig.Rig:
    """Give 12 V, a breaker of 10 A behind the key, and a load behind that."""
    parts = ["  F1: {kind: circuit breaker, rating: 10 A, at: bench}", rig.resistor("R1", ohms)]
    wires = [rig.wire("S1.run", "F1.1"), rig.wire("F1.2", "R1.1"), rig.wire("R1.2", "body")]
    found = rig.Rig(rig.circuit(folder, parts, wires))
    found.step(set=RUN)
    return found


def lamp(on: rig.Rig) -> str:
    return on.do(lamp="", red="R1.1", black="body").words


def also(reading: Reading) -> dict[str, float]:
    return {name: float(text) for name, text in reading.also}


def test_a_lamp_says_that_it_comes_and_goes(tmp_path: Path) -> None:
    """In whichever state one looks, of a cycle of 10.6 s; and not behind a load that it carries."""
    short = loaded(tmp_path, 0.12)
    for wait in ("0.1 s", "3 s", "7 s"):
        short.step(wait=wait)
        assert lamp(short) == "bright and dark by turns"
    assert lamp(loaded(tmp_path, 2.4)) == "bright"


def test_a_clamp_shows_what_flows_and_what_comes_and_goes(tmp_path: Path) -> None:
    short, sound = loaded(tmp_path, 0.12), loaded(tmp_path, 2.4)
    reading = short.do(clamp="wire 4")
    found = also(reading)
    assert set(found) == {"minimum", "maximum"}
    assert found["minimum"] == 0.0
    assert 70.0 < found["maximum"] < 100.0  # wires, contacts and the breaker are in the way
    assert float(reading.value) in found.values()
    plain = sound.do(clamp="wire 4")
    assert not plain.also
    assert float(plain.value) == pytest.approx(5.0, rel=0.05)


def test_minimum_and_maximum_hold_both_states(tmp_path: Path) -> None:
    """The control is where it was, and yet the least is nothing and the most is all."""
    short = loaded(tmp_path, 0.12)
    look = {"measure": "volts", "red": "R1.1", "black": "body", "while": RUN}
    found = also(short.do(**look))
    assert found["minimum"] == pytest.approx(0.0, abs=0.01)
    assert 9.0 < found["maximum"] < 12.0
    sound = also(loaded(tmp_path, 2.4).do(**look))
    assert sound["minimum"] == pytest.approx(sound["maximum"], abs=0.01)


def test_a_weak_overload_is_not_seen_to_open_within_a_look(tmp_path: Path) -> None:
    """At 140 % it carries for minutes: what is watched for 20 s stays as it is."""
    weak = loaded(tmp_path, 12.0 / 14.0)
    assert cycle(10.0, 14.0)[0] > 120.0
    assert lamp(weak) == "bright"


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


@pytest.mark.parametrize(("heat", "is_open"), [(0.0, False), (0.5, False), (0.3, True)])
def test_a_walk_along_a_steady_current_keeps_the_breakers_times(
    heat: float, *, is_open: bool
) -> None:
    """With 4 s closed and 10 s open: the first turn when the heat says, then every 4 and 10 s."""
    time = np.linspace(0.0, 58.5, 5851)
    found = walk(time, time / 4.0, heat, is_open=is_open)
    turns = time[1:][found[1:] != found[:-1]]
    first = heat * COOLING if is_open else 4.0 * (1.0 - heat)
    stretches = (10.0, 4.0) if not is_open else (4.0, 10.0)
    expected = [first]
    while expected[-1] < 58.5:
        expected.append(expected[-1] + stretches[(len(expected) - 1) % 2])
    np.testing.assert_allclose(turns, expected[:-1], atol=0.011)
    assert bool(found[0]) is is_open


def test_asking_does_not_make_it_open(tmp_path: Path) -> None:
    """A look does not count as time: the breaker stands afterwards as it stood."""
    short = loaded(tmp_path, 0.12)
    lamp(short)
    before = short.bench.memory
    short.bench.try_out(action_from_json({"clamp": "wire 4"}))
    lamp_again = action_from_json({"lamp": "", "red": "R1.1", "black": "body"})
    seen = short.bench.try_out(lamp_again)
    np.testing.assert_array_equal(short.bench.memory.blown, before.blown)
    assert seen.outcome.words == ("bright and dark by turns",)
