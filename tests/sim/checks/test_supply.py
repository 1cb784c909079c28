"""Islands, short-circuited sources, sources that fight each other. Currents: Ohm's law, by hand."""

import re

import pytest

from sim.checks.supply import LOOP_CURRENT
from sim.parts.battery import internal_resistance, open_circuit_voltage
from tests.sim.checks.conftest import Checker

SECOND = "  B2: {kind: battery, capacity: 60 Ah, cold cranking: 540 A, at: wing}\n  X3: {kind"


def wires(*ends: str) -> tuple[str, str]:
    lines = [f"  {80 + n}: [{end}, red, 16 mm2, 1 m]\n" for n, end in enumerate(ends)]
    return "  7: [B1.-", "".join(lines) + "  7: [B1.-"


def test_an_island_with_ground_but_no_supply(washer: Checker) -> None:
    said = washer(("  1: [30,     S1.in", "  1: [S1.accessory, S1.in"))
    assert said[0].startswith("17: X3, S1, S6, F5, C8, M3: no wire leads to a supply; tie one of")


def test_an_island_with_neither(washer: Checker) -> None:
    lamp = "  E4: {kind: lamp, power: 5 W, at: wing}\n  E5: {kind: lamp, power: 5 W, at: wing}\n"
    said = washer(("  X3: {kind", f"{lamp}  X3: {{kind"), wires("E4.1, E5.1", "E4.2, E5.2"))
    (only,) = said
    assert only.startswith("17: E4, E5: no wire leads to a supply nor to ground; tie one of them")


def test_a_supply_that_never_reaches_ground(washer: Checker) -> None:
    lamp = "  E4: {kind: lamp, power: 5 W, at: wing}\n"
    said = washer(("  X3: {kind", f"{lamp}{SECOND}"), wires("E4.1, B2.+", "E4.2, B2.-"))
    assert "17: E4, B2: no wire leads back to ground; tie one of them to 31 or body" in said


def test_a_wire_between_two_ground_studs_is_no_island(washer: Checker) -> None:
    assert washer(wires("X1.ring, X3.ring")) == []


def test_a_battery_short_circuited_by_a_wire(washer: Checker) -> None:
    said = washer(wires("B1.+, B1.-"))
    assert said == [
        "15: B1 is short-circuited: B1.+ is tied to B1.- by wire 80 with no load between"
    ]


def test_a_battery_short_circuited_over_ground(washer: Checker) -> None:
    said = washer(wires("30, 31"))
    assert said[0] == (
        "15: B1 is short-circuited: B1.+ is tied to B1.- by strap 30, link30, wire 80, X1, wire 7 "
        "with no load between"
    )


def test_two_equal_batteries_across_each_other_are_no_loop(washer: Checker) -> None:
    said = washer(("  X3: {kind", SECOND), wires("B2.+, B1.+", "B2.-, 31"))
    assert not [line for line in said if "warning" not in line], said


@pytest.mark.parametrize(
    ("ends", "charge", "emfs"),
    [
        (("B2.-, B1.+", "B2.+, 31"), "85 %", 2 * open_circuit_voltage(0.85)),  # the wrong way round
    ],
)
def test_sources_that_fight(
    washer: Checker, ends: tuple[str, ...], charge: str, emfs: float
) -> None:
    """Around the loop: the sum of the EMFs over the sum of the internal resistances."""
    second = SECOND.replace("540 A", f"540 A, charge: {charge}")
    said = washer(("  X3: {kind", second), wires(*ends))
    found = re.search(r"drive (\d+) A for ever", said[0])
    assert found is not None, said
    assert float(found[1]) == pytest.approx(emfs / (2 * internal_resistance(540, 20.0)), abs=1.0)
    assert "B1 and B2 are a loop of sources with nothing between: 12.53 V and 12.53 V" in said[0]
    assert len(said) == 1


def test_a_difference_of_charge_stays_below_the_limit(washer: Checker) -> None:
    """Full and flat: 12.65 V - 11.89 V over two internal resistances, some 70 A."""
    amps = (12.65 - 11.89) / (2 * internal_resistance(540, 20.0))
    assert amps < LOOP_CURRENT
    second = SECOND.replace("540 A", "540 A, charge: 0 %")
    said = washer(("  X3: {kind", second), wires("B2.+, B1.+", "B2.-, 31"))
    assert not [line for line in said if "loop" in line]
