"""Tables of sensors in modules: one way only, as a thermistor's resistance falls with warmth."""

from pathlib import Path

import pytest

from sim.checks.tables import turning_back
from sim.circuitfile import read_circuit

FAN = (Path(__file__).parents[1] / "modules" / "fan.circuit.yaml").read_text(encoding="utf-8")
WAY = "a sensor's values rise or fall all the way: look at these two points"
FALLS = "A3: inputs: coolant: its table falls with the voltage, but rises from"


def said(tmp_path: Path, *changes: tuple[str, str]) -> list[str]:
    """Give what is found in the fan's circuit after changes, after looking at where it is."""
    text = FAN
    for old, new in changes:
        assert text.count(old) == 1
        text = text.replace(old, new)
    path = tmp_path / "fan.circuit.yaml"
    path.write_text(text, encoding="utf-8")
    found = list(turning_back(read_circuit(path)))
    assert all(one.warning for one in found)
    assert {one.where for one in found} <= {("modules", "A3", "inputs", "coolant", "table")}
    return [one.text for one in found]


@pytest.mark.parametrize(
    ("old", "new", "says"),
    [
        ("1.377 V: 100 degC", "1.377 V: 10 degC",
         [f"{FALLS} 10 degC (at 1.377 V) to 90 degC (at 1.656 V); {WAY}"]),
        ("4.941 V: -40 degC", "4.941 V: 40 degC",
         [f"{FALLS} -20 degC (at 4.832 V) to 40 degC (at 4.941 V); {WAY}"]),
        ("1.377 V: 100 degC", "1.377 V: 110 degC", []),  # it stands still
        ("20 degC: 0 %, 120 degC: 100 %", "20 degC: 0 %, 60 degC: 100 %, 120 degC: 50 %", []),
    ],
)  # fmt: skip
def test_a_sensor_that_turns_back_is_warned_of_and_a_level_is_not(tmp_path, old, new, says):
    assert said(tmp_path, (old, new)) == says


def test_a_table_that_rises_all_the_way_is_no_slip(tmp_path):
    assert said(tmp_path) == []
    start = FAN.index("        table: {0.779 V")
    table = FAN[start : FAN.index("}", start) + 1]
    rising = "        table: {0.5 V: -40 degC, 2 V: 20 degC, 4.5 V: 130 degC}"
    assert said(tmp_path, (table, rising)) == []
    odd = rising.replace("20 degC", "-60 degC").replace("4.5 V", "3 V: 0 degC, 4.5 V")
    words = "rises with the voltage, but falls from -40 degC (at 0.5 V) to -60 degC (at 2 V)"
    assert said(tmp_path, (table, odd)) == [f"A3: inputs: coolant: its table {words}; {WAY}"]
