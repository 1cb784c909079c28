"""A control unit's data: what no answer could carry is refused where it is made."""

import pytest

from sim.diagnosis.codes import Code
from sim.diagnosis.memory import Memory, Monitor
from sim.diagnosis.scaling import Scaling
from sim.diagnosis.unit import Datum, Output, Routine, UnitState
from sim.errors import DiagnosisError

BYTE = Scaling(1)
NAN = float("nan")


@pytest.mark.parametrize(
    ("settings", "message"),
    [
        ({"request_id": 0x800}, "got CAN identifier 0x800, expected 0 to 7FF"),
        ({"answer_id": 0x7DF}, "got CAN identifier 0x7DF"),
        ({"address": 0}, "got address 0, expected 1 to 65535"),
        ({"values": {0x99: 1.0}}, "parameter 0x99 is none of those in sim.diagnosis.parameters"),
        ({"values": {0x05: NAN}}, "coolant temperature: got nan, expected a number"),
        ({"data": (Datum(0x2001, "used", BYTE, NAN),)}, "used: got nan"),
        ({"outputs": (Output(0x3001, "fan", BYTE, default=NAN),)}, "fan: got nan"),
        ({"data": (Datum(0xF405, "used", BYTE, 0.0),)}, "identifier 0xF405 has a meaning"),
        (
            {"data": (Datum(1, "a", BYTE, 0.0),), "outputs": (Output(1, "b", BYTE),)},
            "got data identifier 0x0001, expected each once",
        ),
        ({"data": (Datum(0xF187, "a", BYTE, 0.0),), "labels": {0xF187: "x"}}, "0xF187"),
        ({"routines": (Routine(0x10000, "test", 1.0),)}, "routine identifier 0x10000"),
        ({"vin": "H0S"}, "got VIN 'H0S', expected 17 digits and capitals"),
        ({"labels": {0xF187: "µ"}}, "expected ASCII characters"),
        (
            {"memory": Memory.fresh((Monitor(Code("P0117"), group="engine"),))},
            "got readiness group 'engine', expected one of: catalyst, components",
        ),
    ],
)
def test_what_no_answer_could_carry_is_refused_in_one_line(settings, message):
    plain = {"request_id": 0x7E0, "answer_id": 0x7E8, "address": 0x0101}
    with pytest.raises(DiagnosisError) as caught:
        UnitState("engine control", **{**plain, **settings})
    assert message in str(caught.value)
    assert str(caught.value).startswith("engine control: ")
    assert "\n" not in str(caught.value)
