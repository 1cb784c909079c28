"""Parts tied to nothing, terminals that lead nowhere, wires that nobody can get at."""

import pytest

from tests.sim.checks.conftest import WASHER, Checker

LAMP = "  E4: {kind: lamp, power: 5 W, at: wing}\n  X3: {kind"
RELAY = "  K2: {kind: relay, at: wing}\n  X3: {kind"


def test_a_part_tied_to_nothing(washer: Checker) -> None:
    assert washer(("  X3: {kind", LAMP))[0] == (
        "17: E4 is tied to nothing; wire E4.1, E4.2, or leave it out"
    )


def test_a_part_with_one_way_only(washer: Checker) -> None:
    said = washer(
        ("  X3: {kind", LAMP), ("  7: [B1.-", "  8: [31, E4.2, red, 1 mm2, 1 m]\n  7: [B1.-")
    )
    assert "17: E4: only E4.2 is wired; no current can pass; wire E4.1 too" in said


def test_a_ground_stud_needs_one_wire(washer: Checker) -> None:
    assert not [line for line in washer() if "X1" in line]


def test_spare_pins_and_outputs_are_no_mistake(washer: Checker) -> None:
    assert "pins: 2" in WASHER  # the second is spare, as are S1.accessory and S1.crank
    assert washer() == []


def test_a_terminal_left_free_by_an_oversight_is_a_warning(washer: Checker) -> None:
    wires = "  8: [30, K2.30, red, 1 mm2, 1 m]\n  9: [K2.87, 31, red, 1 mm2, 1 m]\n"
    wires += "  10: [15, K2.86, red, 1 mm2, 1 m]\n  7: [B1.-"
    said = washer(("  X3: {kind", RELAY), ("  7: [B1.-", wires))
    assert "17: warning: K2.85: no wire ends there; wire it, or look whether it is meant so" in said


def test_a_relay_whose_contact_leads_nowhere(washer: Checker) -> None:
    wires = "  8: [30, K2.30, red, 1 mm2, 1 m]\n  9: [K2.85, 31, red, 1 mm2, 1 m]\n"
    wires += "  10: [15, K2.86, red, 1 mm2, 1 m]\n  7: [B1.-"
    said = washer(("  X3: {kind", RELAY), ("  7: [B1.-", wires))
    assert "17: warning: K2: none of K2.87 is wired; wire one of them" in said


@pytest.mark.parametrize(("half", "other"), [("a", "b"), ("b", "a")])
def test_a_plug_wired_on_one_side(washer: Checker, half: str, other: str) -> None:
    wire = f"  8: [31, C8.2{half}, red, 1 mm2, 1 m]\n  7: [B1.-"
    assert washer(("  7: [B1.-", wire))[0] == (
        f"21: C8.2{half} is wired, C8.2{other} is not: current ends there; "
        f"wire it on from C8.2{other}"
    )


def test_a_wire_from_ground_to_ground(washer: Checker) -> None:
    wire = '  8: [31, "31a", red, 1 mm2, 1 m]\n  7: [B1.-'
    said = washer(("  7: [B1.-", wire), ('  "31": body', '  "31": body\n  "31a": body'))
    assert "41: wire 8: both ends are on the body" in said[-1]


def test_what_a_broken_wire_may_be_meant_for_is_left_alone(washer: Checker) -> None:
    said = washer(("[M3.2,   X3.ring, brown,       1 mm2", "[M3.2,   X3.ring, brown,       1 m"))
    assert len(said) == 1
    assert said[0].startswith("39: wire 6: area: got unit 'm'")
