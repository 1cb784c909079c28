"""A healthy circuit in every position: fuses, relays that never rest, controls, effects, loads."""

import re
from pathlib import Path

import pytest

from sim.checks import check_circuit_file
from sim.checks.trials import MOST, positions_to_try, run_trials
from sim.circuit import Circuit
from sim.circuitfile import read_circuit
from tests.sim.checks.conftest import WASHER, Checker

BUZZER = """\
format: circuit
version: 1
id: buzzer
title: A relay that feeds its coil through its own contact
vehicle: none
places:
  here: {reach: 1 min, again: 1 min}
parts:
  B1: {kind: battery, at: here}
  X1: {kind: ground stud, at: here}
  S1: {kind: switch, at: here}
  K7: {kind: relay, contact: normally closed, at: here}
  K8: {kind: relay, at: here}
  L1: {kind: lamp, power: 5 W, at: here}
rails: {"30": B1.+ through a 30 A link, "31": body}
controls:
  light: {off, on, sets: S1}
wires:
  1: [30, S1.in, red, 1.5 mm2, 1 m]
  2: [S1.out, K7.30, red, 1.5 mm2, 1 m]
  3: [K7.87, K7.86, red, 1.5 mm2, 1 m]
  4: [K7.85, 31, brown, 1.5 mm2, 1 m]
  5: [B1.-, X1.ring, black, 16 mm2, 1 m]
  6: [S1.out, K8.86, red, 1.5 mm2, 1 m]
  7: [K8.85, 31, brown, 1.5 mm2, 1 m]
  8: [S1.out, K8.30, red, 1.5 mm2, 1 m]
  9: [K8.87, L1.1, red, 1.5 mm2, 1 m]
  10: [L1.2, 31, brown, 1.5 mm2, 1 m]
effects:
  it buzzes: K7 changes state
diagram:
  1: [30, S1, K7 contact, K7 coil, 31]
  2: [K8 coil]
  3: [K8 contact, L1, 31]
"""


def test_a_relay_that_never_rests_is_named_and_no_other(tmp_path: Path) -> None:
    path = tmp_path / "buzzer.circuit.yaml"
    path.write_text(BUZZER, "utf-8")
    said = [str(one) for one in check_circuit_file(path).mistakes if not one.warning]
    assert said == [
        (
            "buzzer.circuit.yaml:12: K7 never comes to rest with light on: its contact switches "
            "its own coil off and on again; feed the coil from before the contact"
        )
    ]


@pytest.mark.parametrize(("rating", "word"), [("3 A", "blows"), ("4 A", "is overloaded")])
def test_a_fuse_below_its_load(washer: Checker, rating: str, word: str) -> None:
    """50 W at 12 V are 2.88 ohm; from 12.53 V behind some 0.2 ohm of wiring that is 4.1 A."""
    said = washer(("rating: 10 A", f"rating: {rating}"))
    assert len(said) == 1
    found = re.fullmatch(
        rf"20: F5: {rating} blade fuse {word}: (\S+) A to M3 with key run, washer lever pulled; .*",
        said[0],
    )
    assert found is not None, said
    assert 12.53 / (2.88 + 0.25) < float(found[1]) < 12.53 / 2.88


def test_a_link_below_its_loads_together(washer: Checker) -> None:
    said = washer(("a 80 A link", "a 2 A link"))
    assert said[0].startswith(
        "25: link30: 2 A fusible link blows: 4.1 A to M3 with key run, washer"
    )


def test_what_draws_its_current_unfused_is_found_at_the_battery(washer: Checker) -> None:
    """A heater of 0.001 ohm is a load to the letter, and a short circuit all the same."""
    load = "  E1: {kind: heater grid, power: 144 kW, at: bonnet}\n  X1: {kind"
    wires = (
        "  8: [B1.+, E1.1, red, 50 mm2, 0.1 m]\n  9: [E1.2, B1.-, black, 50 mm2, 0.1 m]\n  7: [B"
    )
    said = washer(("  X1: {kind", load), ("  7: [B", wires))
    assert re.match(
        r"15: B1: \d+ A with all controls at rest, more than its 540 A of cold", said[0]
    )


@pytest.mark.parametrize(
    ("limit", "says"),
    [
        (">= 500 % of nominal", "never holds, in no position,"),
        ("<= 500 % of nominal", "holds in every position"),
    ],
)
def test_an_effect_that_tells_nothing(washer: Checker, limit: str, says: str) -> None:
    said = washer((">= 50 % of nominal", limit))
    assert said == [
        f"43: warning: washer squirts: {says} while nothing is wrong; look at its limit"
    ]


def test_a_control_that_changes_nothing(washer: Checker) -> None:
    said = washer(
        ("  X3: {kind", "  S7: {kind: switch, at: wing}\n  X3: {kind"),
        ("  washer lever", "  spare: {off, on, sets: S7}\n  washer lever"),
        ("  7: [B1.-", ("  8: [30, S7.in, red, 2.5 mm2, 1 m]\n  9: [S7.out, 30, red, 1 mm2, 1 m]\n"
         "  7: [B1.-")),
        ("F5, S6, C8", "F5, S7, S6, C8"),
    )  # fmt: skip
    assert said == [
        "32: warning: spare: no current changes, whatever its position; look at what it sets"
    ]


def test_a_lamp_wired_to_ground_on_both_sides(washer: Checker) -> None:
    said = washer(
        ("  X3: {kind", "  E4: {kind: lamp, power: 5 W, at: wing}\n  X3: {kind"),
        ("  7: [B1.-", ("  8: [E4.1, 31, red, 1 mm2, 1 m]\n  9: [E4.2, M3.2, red, 1 mm2, 1 m]\n"
         "  7: [B1.-")),
        ("M3, X3, 31]", "M3, X3, 31]\n  2: [E4, 31]"),
        ("power >= 50 %", "power >= 40 %"),
    )  # fmt: skip
    assert said == []  # a second way to ground: it does carry some current
    said = washer(
        ("  X3: {kind", "  E4: {kind: lamp, power: 5 W, at: wing}\n  X3: {kind"),
        ("  7: [B1.-", ("  8: [E4.1, M3.1, red, 1 mm2, 1 m]\n  9: [E4.2, M3.1, red, 1 mm2, 1 m]\n"
         "  7: [B1.-")),
        ("M3, X3, 31]", "M3, X3, 31]\n  2: [E4]"),
    )  # fmt: skip
    assert "17: warning: E4: no current in any position of the controls; look at its wires" in said


def circuit_of(folder: Path, controls: int) -> Circuit:
    """Give the washer with more controls of three positions."""
    more = "".join(f"  c{n}: {{a, b, c, sets: T{n}}}\n" for n in range(controls))
    parts = "".join(f"  T{n}: {{kind: switch, closed in: b, at: wing}}\n" for n in range(controls))
    text = WASHER.replace("  washer lever:", f"{more}  washer lever:")
    path = folder / "many.circuit.yaml"
    path.write_text(text.replace("  X3: {kind", f"{parts}  X3: {{kind"), "utf-8")
    return read_circuit(path)


def test_all_combinations_are_tried_while_there_are_few(tmp_path: Path) -> None:
    circuit = circuit_of(tmp_path, 3)
    found, complete = positions_to_try(circuit)
    assert complete
    assert len(set(found)) == len(found) == 4 * 2 * 27


def test_beyond_the_limit_every_control_and_pairs(tmp_path: Path) -> None:
    circuit = circuit_of(tmp_path, 8)
    found, complete = positions_to_try(circuit)
    assert not complete
    assert len(set(found)) == len(found) <= MOST
    singles = {p for p in found if sum(a != "a" for n, a in p if n.startswith("c")) <= 1}
    assert len(singles) > 16
    trials = run_trials(circuit)
    assert len(trials.settled) == len(found)


def test_the_limit_is_told(tmp_path: Path) -> None:
    circuit_of(tmp_path, 8)
    said = [str(m) for m in check_circuit_file(tmp_path / "many.circuit.yaml").mistakes]
    assert any(f"more than {MOST} combinations of positions; solved" in line for line in said)


CHARGING = Path(__file__).parents[3] / "lessons/circuits/charging.circuit.yaml"


def test_a_battery_that_swallows_what_an_alternator_gives_is_named(tmp_path: Path) -> None:
    """Without `accepts` it is 14.2 V on the inner resistance alone, many times what it takes."""
    path = tmp_path / "charging.circuit.yaml"
    text = CHARGING.read_text("utf-8")
    assert text.count(" accepts: 18 A,") == 1
    path.write_text(text.replace(" accepts: 18 A,", ""), "utf-8")
    said, held_down = check_circuit_file(path).mistakes
    assert said.warning
    assert "headlamps are white: never holds" in str(held_down)  # at the voltage that is left
    found = re.fullmatch(
        r"charging.circuit.yaml:24: warning: B1: takes (\d+) A with .*engine .* and holds the "
        r"charging voltage down; say what it `accepts` at 14.4 V, such as accepts: 15 A",
        str(said),
    )
    assert found
    assert float(found[1]) > 30.0  # half of its 60 Ah in an hour
    path.write_text(text, "utf-8")
    assert not check_circuit_file(path).mistakes
