"""What lamp, clamp and meter show while a breaker comes and goes."""

from pathlib import Path

import numpy as np
import pytest

from sim.action import Reading, action_from_json
from sim.parts.breaker import cycle
from tests.sim.instruments import rig

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
