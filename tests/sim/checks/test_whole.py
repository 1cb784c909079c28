"""All checks together: the shipped circuits, damaged files, mistakes of several sorts at once."""

import re
import textwrap
from pathlib import Path

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from sim.checks import check_circuit_file
from sim.errors import CircuitFileError
from tests.sim.checks.conftest import WASHER, Checker

SHIPPED = sorted((Path(__file__).parents[3] / "lessons/circuits").glob("*.circuit.yaml"))


@pytest.mark.parametrize("path", SHIPPED, ids=lambda path: path.name)
def test_every_shipped_circuit_is_sound(path: Path) -> None:
    checked = check_circuit_file(path)
    assert [str(one) for one in checked.mistakes if not one.warning] == []
    assert checked.sound


def test_the_circuit_in_the_guide_is_sound(tmp_path: Path) -> None:
    guide = (Path(__file__).parents[3] / "DEVELOPERS.md").read_text("utf-8")
    found = re.search(r"\n    format: circuit\n(?:    .*\n)+", guide)
    assert found is not None
    text = textwrap.dedent(found[0].strip("\n"))
    written = re.search(r"^id: (\S+)$", text, re.MULTILINE)
    assert written is not None
    path = tmp_path / f"{written[1]}.circuit.yaml"
    path.write_text(text, "utf-8")
    assert check_circuit_file(path).mistakes == ()


def test_mistakes_of_every_sort_are_told_at_once(washer: Checker) -> None:
    """Shape, unit, terminal, name, loop of sources, thin wire and diagram, in the file's order."""
    second = "  B2: {kind: battery, at: wing}\n  X9: {kind: ground stud, at: wing}\n  X3: {kind"
    said = washer(
        ("title: Windscreen", "titel: Windscreen"),
        ("again: 3 min", "again: 3 mint"),
        ("  X3: {kind", second),
        ("latching: no", "latching: never"),
        ("green,       1 mm2", "green,       0.35 mm2"),
        ("S6.in, ", "S6.input, "),
        ("1: [15, F5, S6", "1: [15, F5, S66"),
        (
            "  7: [B1.-",
            "  8: [B2.-, B1.+, red, 16 mm2, 1 m]\n  9: [B2.+, 31, red, 16 mm2, 1 m]\n  7: [B1.-",
        ),
    )
    assert [line.partition(":")[0] for line in said] == ["5", "12", "17", "18", "21", "38", "50"]
    assert "loop of sources" in said[2]
    assert "X9 is tied to nothing" in said[3]
    assert "'S66' unknown" in said[6]


def test_guesses_for_what_is_broken_bring_no_false_alarm(washer: Checker) -> None:
    assert len(washer(("power: 50 W at 12 V", "power: 50 V at 12 W"))) == 2
    assert len(washer(("cold cranking: 540 A", "cold cranking: plenty"))) == 1
    assert len(washer(("latching: no,", "lamp: 12 V 0 W,"))) == 1


@settings(max_examples=40, deadline=None)
@given(data=st.data())
def test_a_damaged_file_is_checked_or_refused_in_lines(
    data: st.DataObject, tmp_path_factory: pytest.TempPathFactory
) -> None:
    """Cut, doubled or overwritten anywhere, the file never brings anything else about."""
    at = data.draw(st.integers(60, len(WASHER)))
    length = data.draw(st.integers(0, 12))
    instead = data.draw(st.text(st.sampled_from("{}[]:,&*#!|>'\"%@` \n\tab19.-+=~"), max_size=6))
    path = tmp_path_factory.mktemp("damaged") / "washer.circuit.yaml"
    path.write_text(WASHER[:at] + instead + WASHER[at + length :], "utf-8")
    try:
        mistakes = check_circuit_file(path).mistakes
    except CircuitFileError as error:
        mistakes = (error,)  # type: ignore[assignment]
    for one in mistakes:
        assert str(one).startswith("washer.circuit.yaml:")
        assert "\n" not in str(one)
