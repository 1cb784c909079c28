"""JSON Schema of a case file, for editors."""

from __future__ import annotations

from grader.case import Weights
from grader.caseentries import CaseEntry
from grader.casefile import FORMAT, HINT_PRICE, HINTS, VERSION
from sim.schema import Schema, finished, quantity

#: Entry -> key -> kind of quantity.
QUANTITIES = {
    "SightEntry": {"wait": "time"},
    "CheckEntry": {"wait": "time"},
    "QuestionEntry": {"minutes": "number"},
    "CauseEntry": {"likelihood": "number"},
    "OptionEntry": {"price": "number", "days": "number"},
    "UnitEntry": {"labour": "time"},
}


def case_schema() -> Schema:
    """Return the JSON Schema of a case file."""
    schema = finished(CaseEntry.model_json_schema(by_alias=True), "case", FORMAT, VERSION)
    for entry, keys in QUANTITIES.items():
        for key, kind in keys.items():
            old = schema["$defs"][entry]["properties"][key].get("description", "")
            schema["$defs"][entry]["properties"][key] = quantity(kind, old)
    properties = schema["properties"]
    for key in ("rate", "dear"):
        properties[key] = quantity("number", properties[key].get("description", ""))
    properties["hints"] = {
        "type": "string",
        "description": "what each hint costs",
        "pattern": f"^({'|'.join(HINTS)}|{HINT_PRICE.pattern.replace('?P<points>', '')})$",
    }
    names = [name.replace("_", " ") for name in Weights.__dataclass_fields__]
    properties["weights"] = {
        "type": "object",
        "description": "points of the lines of a score sheet, 100 together",
        "properties": {name: quantity("number") for name in names},
        "additionalProperties": False,
    }
    return schema
