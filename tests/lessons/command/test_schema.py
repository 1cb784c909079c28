"""`halfsplit schema`: JSON that an editor can take."""

import json

import jsonschema
import pytest

from lessons.command import main


@pytest.mark.parametrize("form", ["circuit", "case"])
def test_the_schema_is_printed_as_json(form, capsys):
    assert main(["schema", form]) == 0
    schema = json.loads(capsys.readouterr().out)
    jsonschema.Draft7Validator.check_schema(schema)
    assert schema["title"] == form
    assert schema["properties"]["format"]["const"] == form


def test_another_format_is_refused_in_one_line(capsys):
    with pytest.raises(SystemExit) as left:
        main(["schema", "record"])
    assert left.value.code == 2
    assert capsys.readouterr().err.count("\n") == 1
