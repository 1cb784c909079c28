"""`halfsplit parts`: for authors, what a kind takes and how a circuit may fail."""

import re

import pytest

from lessons.catalogue import circuit_path
from lessons.command import main
from sim.circuitfile import read_circuit
from sim.circuitparts import kinds
from sim.faults import parse_faults, possible_faults


def told(capsys: pytest.CaptureFixture[str], *words: str) -> str:
    assert main(["parts", *words]) == 0
    return capsys.readouterr().out


def test_every_kind_has_a_line_and_a_page(capsys: pytest.CaptureFixture[str]) -> None:
    text = told(capsys)
    for kind in kinds():
        assert re.search(rf"^{re.escape(kind)}\s", text, re.MULTILINE), kind
        page = told(capsys, *kind.split())
        assert page.startswith(f"{kind}\n")
        assert "fails by" in page
        assert max(map(len, page.splitlines())) <= 110


def test_a_kind_says_its_keys_and_defaults(capsys: pytest.CaptureFixture[str]) -> None:
    text = told(capsys, "blade fuse")
    assert "P1: {kind: blade fuse, rating: 10 A, at: PLACE}" in text
    assert re.search(r"rating\s+current in A, mA, uA; to be written", text)
    assert re.search(r"size\s+standard or mini or maxi; if not given: standard", text)


def test_a_circuit_lists_every_fault_by_the_name_that_cases_use(
    capsys: pytest.CaptureFixture[str],
) -> None:
    circuit = read_circuit(circuit_path("headlamps"))
    text = told(capsys, "headlamps")
    names = re.findall(r"^  (\S.*?)  +[\d.e-]+$", text, re.MULTILINE)
    possible = [faults for faults, _likelihood in possible_faults(circuit)]
    assert len(names) == len(possible)
    assert {parse_faults(circuit, name) for name in names} == set(possible)


@pytest.mark.parametrize(
    ("what", "said"),
    [
        ("relais", "'relais' is neither a kind of part nor a circuit; .* did you mean 'relay'"),
        ("wire", "a wire is made by section `wires` of a circuit file"),
    ],
)
def test_what_is_not_there_is_one_line(
    what: str, said: str, capsys: pytest.CaptureFixture[str]
) -> None:
    assert main(["parts", what]) == 2
    output = capsys.readouterr()
    assert output.out == ""
    assert re.search(said, output.err)
    assert output.err.count("\n") == 1
