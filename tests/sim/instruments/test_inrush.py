"""The inrush of cold filaments on the oscilloscope, and the fuse that carries it."""

from pathlib import Path

import pytest

from tests.sim.instruments.rig import Rig, circuit, wire

WIDTHS = ("1 ms", "5 ms", "20 ms", "100 ms", "500 ms", "2 s", "10 s")


def beams(folder: Path, rating: float) -> Rig:
    """Give two lamps of 55 W behind one fuse, fed with the key; 9.2 A when they are hot."""
    lamp = "{kind: lamp, power: 55 W at 12 V, at: bench}"
    parts = [f"  F1: {{kind: blade fuse, rating: {rating:g} A, at: bench}}"]
    parts += [f"  E1: {lamp}", f"  E2: {lamp}"]
    wires = [("S1.run", "F1.1"), ("F1.2", "E1.1"), ("F1.2", "E2.1")]
    wires += [("E1.2", "body"), ("E2.2", "body")]
    return Rig(circuit(folder, parts, [wire(*ends) for ends in wires]))


def switched_on(on: Rig, time: str) -> dict[str, str]:
    """Give the figures of a clamp around the fuse's feed while the key is turned."""
    screen = {"scope": {"A": {"clamp": "wire 4"}}, "time": time, "while": {"key": "run"}}
    return dict(on.do(**screen).also)


def running(on: Rig) -> float:
    """Give what the clamp shows once the lamps have long been on, in A."""
    on.step(set={"key": "run"})
    return float(on.do(clamp="wire 4").value)


def last(figures: dict[str, str]) -> float:
    """Give the current at the end of the screen, as a share of its peak."""
    counts = [int(count) for count in figures["A samples"].split()]
    return counts[-1] / max(counts)


def test_the_screen_shows_the_inrush_and_the_clamp_what_flows_then(tmp_path: Path) -> None:
    """Ten to fifteen times the running current (common practice), less what the feed lets down."""
    on = beams(tmp_path, 10.0)
    peak = float(switched_on(on, "1 s")["A maximum"].split()[0])
    amps = running(on)
    assert amps == pytest.approx(9.2, abs=0.3)
    assert 8.0 <= peak / amps <= 13.7


@pytest.mark.parametrize("time", WIDTHS)
def test_a_fuse_that_carries_the_lamps_carries_their_inrush(tmp_path: Path, time: str) -> None:
    """On a screen of any width: its strip takes 130 A2s (`sim.parts.fuse_curve`), they some 100."""
    on = beams(tmp_path, 10.0)
    assert last(switched_on(on, time)) > 0.05
    assert running(on) == pytest.approx(9.2, abs=0.3)


def test_a_fuse_that_is_too_small_opens(tmp_path: Path) -> None:
    """3 A before 9.2 A: some 8 A2s of melting, of which the inrush has many times as much."""
    on = beams(tmp_path, 3.0)
    assert float(switched_on(on, "500 ms")["A mean"].split()[0]) < 0.5
    assert running(on) == 0.0
