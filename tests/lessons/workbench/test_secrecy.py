"""Nothing on the screen tells what the student has not found out."""

import json
from collections.abc import Iterator
from pathlib import Path
from typing import Any

import pytest

from lessons.workbench import open_setup
from tests.lessons.workbench.cases import COIL, HINGE, ON, lineup, setup_of

#: What shows something: its words and digits are the finding itself.
FINDINGS = {"readout", "reading", "number", "seen", "felt"}
DRAWS = [
    HINGE,
    COIL,
    "F7=open",
    "X7=high resistance:1.2 ohm",
    "wire 8=short to ground:0.1 ohm + F7=open",
    "E9=line open:8",
]


def without_findings(value: Any) -> Any:
    if isinstance(value, dict):
        return {k: without_findings(v) for k, v in value.items() if k not in FINDINGS}
    if isinstance(value, list):
        return [without_findings(item) for item in value]
    return value


def texts(value: Any) -> Iterator[str]:
    if isinstance(value, dict):
        for item in value.values():
            yield from texts(item)
    elif isinstance(value, list):
        for item in value:
            yield from texts(item)
    else:
        yield str(value)


def views(folder: Path, cause: str) -> list[dict]:
    """Give what is seen at each moment of one and the same path."""
    bench = open_setup(setup_of(folder, cause, student=f"kim{DRAWS.index(cause)}"))
    found = [bench.view, bench.drawing, bench.sheet]
    for do in (
        {"set": ON},
        {"wait": "5 min"},
        {"watch": "rear window clears"},
        {"listen": "K3", "set": {"heater switch": "off"}},
        {"look": "fuse panel"},
        {"feel": "C41"},
        {"measure": "volts", "red": "K3.87", "black": "body"},
        {"measure": "ohms", "red": "E9.1", "black": "E9.2"},
        {"clamp": "wire 8"},
        {"unplug": "C41"},
        {"pull": "F7"},
        {"swap": ["K3", "K5"]},
    ):
        bench.receive(bench, {"seq": "1", "do": do}, [])
        assert bench.view["notice"] == ""
        found.append(bench.view)
    return found


@pytest.fixture(scope="module")
def seen(tmp_path_factory: pytest.TempPathFactory) -> dict[str, list[dict]]:
    return {cause: views(tmp_path_factory.mktemp("draw"), cause) for cause in DRAWS}


def test_the_first_view_is_the_same_for_every_draw(seen: dict[str, list[dict]]) -> None:
    first = [json.dumps(found[:3]) for found in seen.values()]
    assert len(set(first)) == 1


def test_later_only_findings_differ(seen: dict[str, list[dict]]) -> None:
    later = [json.dumps([without_findings(v) for v in found]) for found in seen.values()]
    assert len(set(later)) == 1


def test_the_findings_do_differ(seen: dict[str, list[dict]]) -> None:
    assert len({json.dumps(found[-1]["evidence"]) for found in seen.values()}) > 1


def test_student_and_tag_stay_away(tmp_path: Path) -> None:
    bench = open_setup(setup_of(tmp_path, HINGE, student="unmistakable", tag="0123456789abcdef"))
    all_texts = " ".join(texts(bench.view)) + bench.drawing["svg"]
    assert "unmistakable" not in all_texts
    assert "0123456789abcdef" not in all_texts


def test_no_suspect_is_singled_out(tmp_path: Path) -> None:
    bench = open_setup(setup_of(tmp_path))
    counts = {s.name: sum(text == s.name for text in texts(bench.view)) for s in lineup().suspects}
    on_tracks = {
        n for c in bench.view["suspects"]["sections"] for s in c["stops"] for n in s["suspects"]
    }
    # once among the suspects, once in the call; and once on its stretch of the path
    assert all(count == 2 + (name in on_tracks) for name, count in counts.items())
