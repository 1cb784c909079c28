"""The diagram as checked: items, parts left out, colours, things that lie over each other."""

from dataclasses import replace
from pathlib import Path

import pytest

from sim.circuitfile import read_circuit
from sim.diagram import draw, overlaps
from sim.diagram.drawing import Writing
from tests.sim.checks.conftest import WASHER, Checker

TRACK = "  1: [15, F5, S6, C8, M3, X3, 31]"


@pytest.mark.parametrize(
    ("track", "says"),
    [
        ("  1: [15, F5, S6, C8, M3, 31]", ["45: warning: X3 in no track"]),
        ("  1: [15, F5, S6, C8, M3, X3, F5]", ["46: track 1: F5 stands in this track twice"]),
        ("  1: [15, F5, S6]\n  2: [S6, C8, M3, X3]", ["47: track 2: S6 stands in the"]),
        ("  1: [15, F5, S6, M4]\n  2: [C9.1, C8, M3, X3]",
         ["46: track 1: 'M4' unknown", "47: track 2: 'C9.1': only a connector's pin"]),
        ("  1:\n    - S6\n    - X5\n    - F5\n    - C8\n    - M3\n    - X3",
         ["48: track 1: 'X5' unknown"]),
    ],
)  # fmt: skip
def test_a_wrong_track(washer: Checker, track: str, says: list[str]) -> None:
    said = washer((TRACK, track))
    assert len(said) == len(says), said
    assert all(line.startswith(start) for line, start in zip(said, says, strict=True)), said


def test_a_file_without_a_diagram_is_told_so(washer: Checker) -> None:
    said = washer(("diagram:\n", ""), (f"{TRACK}\n", ""))
    assert said == [
        (
            "2: warning: X3, S6, F5, C8, M3 in no track, so that the circuit cannot be drawn; "
            "list every part in one track, from supply to ground"
        )
    ]


def test_what_lies_over_something_else_is_found(tmp_path: Path) -> None:
    path = tmp_path / "washer.circuit.yaml"
    path.write_text(WASHER, "utf-8")
    drawing = draw(read_circuit(path))
    assert overlaps(drawing) == ()
    x, y, width, height = drawing.parts["F5"]
    moved = replace(drawing, parts={**drawing.parts, "M3": (x + width / 2, y, width, height)})
    assert "the symbol of F5 lies over the symbol of M3" in overlaps(moved)
    text = Writing("wire 4", "GN 1.0", (x, y, 20.0, 13.0))
    written = replace(drawing, texts=(*drawing.texts, text))
    assert "the writing 'GN 1.0' lies over the symbol of F5" in overlaps(written)
    twice = replace(drawing, texts=(drawing.texts[0], drawing.texts[0]))
    word = drawing.texts[0].words
    assert overlaps(twice) == (f"the writing {word!r} lies over the writing {word!r}",)
    touching = replace(drawing, parts={"A": (0, 0, 10, 10), "B": (10, 0, 10, 10)}, texts=())
    assert overlaps(touching) == ()


def test_everything_written_has_its_box(tmp_path: Path) -> None:
    """As many lines of writing as the picture has text elements."""
    path = tmp_path / "washer.circuit.yaml"
    path.write_text(WASHER, "utf-8")
    drawing = draw(read_circuit(path))
    assert len(drawing.texts) == drawing.svg.count("<text")
