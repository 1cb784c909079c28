"""The JSON Schema of case files: shipped cases are valid, wrong keys are marked."""

from pathlib import Path
from typing import Any

import jsonschema
import pytest
from ruamel.yaml import YAML

from grader.caseschema import case_schema

SOURCE = Path(__file__).parents[2] / "lessons/source"
CASES = sorted(SOURCE.glob("*/*.case.yaml"))


@pytest.fixture(scope="module")
def validator() -> Any:
    jsonschema.Draft7Validator.check_schema(case_schema())
    return jsonschema.Draft7Validator(case_schema())


def read(text: str) -> Any:
    """Give YAML 1.2 with its types, keys as text."""

    def keyed(data: Any) -> Any:
        if isinstance(data, dict):
            return {str(key): keyed(value) for key, value in data.items()}
        return [keyed(value) for value in data] if isinstance(data, list) else data

    return keyed(YAML(typ="safe", pure=True).load(text))


@pytest.mark.parametrize("path", CASES, ids=lambda path: path.name)
def test_every_shipped_case_is_valid(validator: Any, path: Path) -> None:
    assert list(validator.iter_errors(read(path.read_text("utf-8")))) == []


@pytest.mark.parametrize(
    ("old", "new", "where"),
    [
        ("complaint:", "complaints:", []),
        ("version: 1", "version: 3", ["version"]),
        ("wait: 5 min, sees", "wait: 5 minutes, sees", ["shows"]),
        ("labour: 1 min", "labor: 1 min", ["units", "fuse F7"]),
        ("price: 9}", "price: nine}", ["units", "relay K3", "options", "new", "price"]),
        ("makes likelier:", "makes likely:", ["questions"]),
        ("rate: 1 ", "rate: cheap ", ["rate"]),
    ],
)  # fmt: skip
def test_a_wrong_key_or_value_is_marked(
    validator: Any, old: str, new: str, where: list[str]
) -> None:
    text = (SOURCE / "06-two-circuits-in-one-can/foggy-window.case.yaml").read_text("utf-8")
    assert old in text
    errors = list(validator.iter_errors(read(text.replace(old, new, 1))))
    assert errors
    assert [str(step) for step in errors[0].absolute_path][: len(where)] == where
