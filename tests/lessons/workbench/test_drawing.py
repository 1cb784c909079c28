"""A diagram is laid out once and kept by content and language; read back it is the same."""

from pathlib import Path

import pytest

import lessons.workbench.panels.diagram as panel
from lessons.catalogue import circuit_path
from lessons.workbench.panels.diagram import drawing
from sim.circuit import Circuit
from sim.circuitfile import read_circuit
from sim.diagram import draw
from sim.language import speaking


@pytest.fixture
def laid_out(monkeypatch: pytest.MonkeyPatch, tmp_path: Path) -> list[str]:
    """Keep drawings in a folder of the test's own; note every one that is laid out."""
    noted = []

    def noting(circuit: Circuit) -> object:
        noted.append(circuit.name)
        return draw(circuit)

    monkeypatch.setenv("HALFSPLIT_CACHE", str(tmp_path))
    monkeypatch.setattr(panel, "draw", noting)
    return noted


def small() -> Circuit:
    return read_circuit(circuit_path("washer-pump"))


def test_read_back_it_is_the_same(laid_out: list[str]) -> None:
    assert drawing(small()) == drawing(small())
    assert laid_out == ["washer-pump"]


def test_each_language_and_each_circuit_has_its_own(laid_out: list[str]) -> None:
    first = drawing(small())
    with speaking("de"):
        german = drawing(small())
        assert drawing(small()) == german
    assert german["about"] != first["about"]
    part = next(name for name, one in small().parts.items() if one.kind == "blade fuse")
    drawing(small().changed(part, rating=25.0))
    assert len(laid_out) == 3
    assert drawing(small()) == first


@pytest.mark.parametrize("damage", [b"", b"[]", b"{}", b'{"svg": ""}', b"\xff"])
def test_a_damaged_one_is_laid_out_again(
    laid_out: list[str], tmp_path: Path, damage: bytes
) -> None:
    first = drawing(small())
    [file] = tmp_path.iterdir()
    file.write_bytes(damage)
    assert drawing(small()) == first
    assert drawing(small()) == first
    assert len(laid_out) == 2


def test_a_folder_that_cannot_be_written_is_done_without(
    laid_out: list[str], tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    (tmp_path / "file").write_text("not a folder")
    monkeypatch.setenv("HALFSPLIT_CACHE", str(tmp_path / "file"))
    assert drawing(small()) == drawing(small())
    assert len(laid_out) == 2
