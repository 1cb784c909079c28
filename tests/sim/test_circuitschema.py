"""The JSON Schema of circuit files, held against the reader: both take and refuse the same."""

from pathlib import Path
from typing import Any

import jsonschema
import pytest
from ruamel.yaml import YAML

from sim.circuitparts import kinds
from sim.circuitschema import circuit_schema
from sim.parts import FAMILIES
from sim.yamltext import parse_document
from tests.sim.checks.conftest import WASHER

SHIPPED = sorted((Path(__file__).parents[2] / "lessons/circuits").glob("*.circuit.yaml"))


@pytest.fixture(scope="module")
def validator() -> Any:
    schema = circuit_schema()
    jsonschema.Draft7Validator.check_schema(schema)
    return jsonschema.Draft7Validator(schema)


def as_an_editor_reads(text: str) -> Any:
    """Give YAML 1.2 with its types, keys as text, as JSON has them."""
    return keyed(YAML(typ="safe", pure=True).load(text))


def keyed(data: Any) -> Any:
    if isinstance(data, dict):
        return {str(key): keyed(value) for key, value in data.items()}
    return [keyed(value) for value in data] if isinstance(data, list) else data


def complaints(validator: Any, data: Any) -> list[str]:
    return [f"{list(e.absolute_path)}: {e.message}" for e in validator.iter_errors(data)]


@pytest.mark.parametrize("path", SHIPPED, ids=lambda path: path.name)
def test_every_shipped_circuit_is_valid(validator: Any, path: Path) -> None:
    text = path.read_text("utf-8")
    assert complaints(validator, as_an_editor_reads(text)) == []
    assert complaints(validator, parse_document(text, path.name).data) == []


@pytest.mark.parametrize(
    ("old", "new", "where"),
    [
        ("title: Windscreen", "titel: Windscreen", []),
        ("version: 1", "version: 2", ["version"]),
        ("format: circuit", "format: case", ["format"]),
        ("reach: 12 min", "reach: 12 mins", ["places", "wing", "reach"]),
        ("reach: 12 min", "reaches: 12 min", ["places", "wing"]),
        ("kind: horn", "kind: pump", ["parts", "M3", "kind"]),
        ("rating: 10 A", "rating: 10 V", ["parts", "F5", "rating"]),
        ("rating: 10 A", "rating: 10", ["parts", "F5", "rating"]),
        ("rating: 10 A", "ratting: 10 A", ["parts", "F5"]),
        ("rating: 10 A, at: fuse box", "rating: 10 A", ["parts", "F5"]),
        ("latching: no", "latching: perhaps", ["parts", "S6", "latching"]),
        ("power: 50 W at 12 V", "power: 50 W at 12 A", ["parts", "M3", "power"]),
        ("  S6: {kind", "  S.6: {kind", ["parts"]),
        ("B1.+ through a 80 A link", "B1.+ through 80 A", ["rails", "30"]),
        ("{released, pulled, sets: S6}", "{released, pulled}", ["controls", "washer lever"]),
        ("{released, pulled, sets: S6}", "{released: 1, sets: S6}", ["controls", "washer lever"]),
        ("1.5 mm2, 0.5 m]", "1.5 mm2]", ["wires", "2"]),
        ("1.5 mm2, 0.5 m]", "1.5 m, 0.5 m]", ["wires", "2"]),
        ("area: 1 mm2", "erea: 1 mm2", ["wires", "5"]),
        ("M3 power >= 50 %", "M3 glows >= 50 %", ["effects", "washer squirts"]),
        ("{cause: chafed", "{because: chafed", ["faults", "wire 4=short to ground"]),
    ],
)  # fmt: skip
def test_what_the_reader_refuses_an_editor_marks(
    validator: Any, old: str, new: str, where: list[str]
) -> None:
    assert old in WASHER
    assert complaints(validator, as_an_editor_reads(WASHER)) == []
    errors = list(validator.iter_errors(as_an_editor_reads(WASHER.replace(old, new, 1))))
    assert errors
    assert [str(step) for step in errors[0].absolute_path][: len(where)] == where


def test_an_editor_is_offered_every_kind_and_all_its_keys() -> None:
    part = circuit_schema()["$defs"]["Part"]
    assert part["properties"]["kind"]["enum"] == list(kinds())
    offered = {
        entry["if"]["properties"]["kind"]["const"]: entry["then"]["properties"]
        for entry in part["allOf"]
    }
    for kind in kinds():
        assert set(FAMILIES[kind].parameters) <= set(offered[kind])
        assert all(key == "kind" or "description" in one for key, one in offered[kind].items())


def test_a_unit_is_in_the_words_an_editor_shows() -> None:
    entries = circuit_schema()["$defs"]["Part"]["allOf"]
    (fuse,) = (e for e in entries if e["if"]["properties"]["kind"]["const"] == "blade fuse")
    shown = fuse["then"]["properties"]["rating"]["description"]
    assert shown == "rating: current in A, mA, uA"
