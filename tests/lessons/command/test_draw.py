"""`halfsplit draw`: a picture on the screen's output or in a file."""

import argparse
import xml.etree.ElementTree as ET
from pathlib import Path

import pytest

from lessons.command import draw
from sim.errors import CircuitFileError


def run(*words: str) -> int:
    """Run the subcommand as the command line does."""
    parser = argparse.ArgumentParser()
    draw.add_to(parser.add_subparsers())
    arguments = parser.parse_args(["draw", *words])
    return int(arguments.run(arguments))


def test_a_shipped_circuit_is_printed_as_svg(capsys: pytest.CaptureFixture[str]) -> None:
    assert run("rear-window-heater") == 0
    root = ET.fromstring(capsys.readouterr().out)  # noqa: S314 -- our own
    assert root.tag == "{http://www.w3.org/2000/svg}svg"


def test_the_picture_goes_to_a_file(tmp_path: Path, capsys: pytest.CaptureFixture[str]) -> None:
    path = tmp_path / "heater.svg"
    assert run("rear-window-heater", "--output", str(path)) == 0
    assert capsys.readouterr().out == ""
    assert run("rear-window-heater", "-o", str(tmp_path / "same.svg")) == 0
    assert (tmp_path / "same.svg").read_bytes() == path.read_bytes()
    run("rear-window-heater")
    assert path.read_text("utf-8") == capsys.readouterr().out


def test_a_file_that_cannot_be_written_is_named(tmp_path: Path) -> None:
    path = tmp_path / "missing" / "heater.svg"
    with pytest.raises(CircuitFileError, match=r"heater\.svg: cannot be written") as caught:
        run("rear-window-heater", "--output", str(path))
    assert "\n" not in str(caught.value)


def test_an_unknown_circuit_is_refused_with_the_shipped_ones() -> None:
    with pytest.raises(CircuitFileError, match="'heated-seat': no such file; shipped are"):
        run("heated-seat")
