"""What a wire carries, and which fuse guards it."""

from itertools import pairwise
from pathlib import Path

import pytest

from sim.checks.protection import ampacity, guarded, least_area
from sim.circuit import Circuit
from sim.circuitfile import read_circuit
from tests.sim.checks.conftest import WASHER, Checker

#: ABYC E-11 (boats in North America), single conductors, 105 degC insulation, outside engine
#: spaces: cross-section in mm2 of an American gauge -> A. From memory; another committee's table
#: for the same wire.
ABYC = {
    0.823: 20,
    1.31: 25,
    2.08: 35,
    3.31: 45,
    5.26: 60,
    8.37: 80,
    13.3: 120,
    21.2: 160,
    33.6: 210,
    67.4: 330,
}


@pytest.mark.parametrize(("area", "amps"), ABYC.items())
def test_a_wire_carries_no_more_than_another_standard_lets_it(area: float, amps: float) -> None:
    assert 0.84 * amps <= ampacity(area * 1e-6) <= amps


def test_a_thicker_wire_carries_more() -> None:
    areas = [0.2 + 0.1 * n for n in range(680)]
    carried = [ampacity(area * 1e-6) for area in areas]
    assert all(one < other for one, other in pairwise(carried))


@pytest.mark.parametrize("current", [1.0, 7.5, 10.0, 16.0, 16.1, 30.0, 100.0])
def test_the_least_cross_section_carries_it_and_the_next_smaller_does_not(current: float) -> None:
    usual = [0.35, 0.5, 0.75, 1.0, 1.5, 2.5, 4.0, 6.0, 10.0, 16.0]
    least = least_area(current)
    assert ampacity(least * 1e-6) >= current * (1 - 1e-9)
    smaller = [area for area in usual if area < least]
    assert not smaller or ampacity(smaller[-1] * 1e-6) < current


@pytest.mark.parametrize(("current", "area"), [(16, 0.75), (20, 1), (25, 1.5), (60, 6)])
def test_the_table_s_own_points_are_enough(current: float, area: float) -> None:
    assert least_area(current) == area


@pytest.fixture
def circuit(tmp_path: Path) -> Circuit:
    path = tmp_path / "washer.circuit.yaml"
    path.write_text(WASHER, "utf-8")
    return read_circuit(path)


def test_the_last_fuse_on_the_way_guards_a_wire(circuit: Circuit) -> None:
    found = guarded(circuit)
    assert found["wire 1"] == {"link30"}
    assert found["wire 2"] == {"link30"}
    assert found["wire 3"] == found["wire 4"] == found["wire 5"] == {"F5"}


def test_behind_a_load_and_on_ground_nothing_is_judged(circuit: Circuit) -> None:
    assert not {"wire 6", "wire 7"} & guarded(circuit).keys()


def test_a_thin_wire_is_named_with_its_fuse(washer: Checker) -> None:
    said = washer(("green/black, 1 mm2,   2.5 m", "green/black, 0.35 mm2,   2.5 m"))
    assert said == [
        (
            "37: wire 4: 0.35 mm2 carries 9 A for ever, its fuse F5 holds 10 A; "
            "allowed: a fuse up to 9 A, or at least 0.5 mm2"
        )
    ]


def test_a_second_fuse_guards_the_thinner_wire_behind_it(washer: Checker) -> None:
    said = washer(
        ("  F5: {kind", "  F6: {kind: blade fuse, rating: 5 A, at: wing}\n  F5: {kind"),
        ("green/black, 1 mm2,   2.5 m", "green/black, 0.35 mm2,   2.5 m"),
        ("  4: [S6.out,", "  8: [S6.out, F6.1, green, 1 mm2, 1 m]\n  4: [F6.2,"),
        ("F5, S6, C8", "F5, S6, F6, C8"),
    )
    assert said == []


def test_a_main_fuse_is_no_guard_of_the_feed_lines_of_others(washer: Checker) -> None:
    main = "  F1: {kind: blade fuse, rating: 60 A, at: bonnet}\n  F5: {kind"
    changes = [
        ("  F5: {kind", main),
        ("B1.+ through a 80 A link", "F1.2"),
        ("  7: [B1.-,", "  8: [B1.+, F1.1, red, 16 mm2, 1 m]\n  7: [B1.-,"),
        ("  1: [15, F5", "  2: [F1]\n  1: [15, F5"),
    ]
    assert washer(*changes) == []
    changes[0] = ("  F5: {kind", main.replace("60 A", "40 A"))
    said = washer(*changes)
    assert [line.partition(":")[0] for line in said] == ["36"]  # wire 2: 1.5 mm2 behind 40 A
