"""Switches, with and without their own lamp, and the key switch."""

from types import SimpleNamespace

import pytest

from sim.errors import QuantityError
from sim.parts import FAMILIES
from sim.parts.values import check_values, read_value


def test_a_switch_with_a_lamp_has_a_third_terminal(lab: SimpleNamespace) -> None:
    family = FAMILIES["switch"]
    assert family.pins(lab.part("switch")) == ("in", "out")
    lit = lab.part("switch", lamp_voltage=12.0, lamp_power=1.2)
    assert family.pins(lit) == ("in", "out", "lamp")


def test_the_lamp_lies_between_the_switched_side_and_its_own_terminal(lab: SimpleNamespace) -> None:
    elements = lab.elements("switch", name="S1", lamp_voltage=12.0, lamp_power=1.2)
    lamp = next(element for element in elements if element.name == "S1.lamp lamp")
    assert (lamp.a, lamp.b) == ("S1.outb", "S1.lampb")


def switched(lab: SimpleNamespace, *faults: tuple) -> object:
    """Give the answer with a closed switch that feeds 12 ohm from 12 V."""
    return lab.solve(
        lab.source("e", "S1.in", "body", 12.0),
        *lab.elements("switch", name="S1", faults=faults),
        lab.resistor("load", "S1.out", "body", 12.0),
    )


@pytest.mark.parametrize(
    ("faults", "amps"),
    [
        ((), 1.0),
        ((("contact burnt", None, 12.0),), 0.5),
        ((("contact open", None, None),), 0.0),
        ((("open", "in", None),), 0.0),
        ((("high resistance", "out", 12.0),), 0.5),
        ((("contact open", None, None), ("stuck closed", None, None)), 1.0),
    ],
)
def test_a_closed_switch(lab: SimpleNamespace, faults: tuple, amps: float) -> None:
    assert switched(lab, *faults).current["load"] == pytest.approx(amps, rel=2e-3, abs=1e-9)


@pytest.mark.parametrize(
    ("key", "text", "value"),
    [
        ("latching", "yes", True),
        ("latching", "no", False),
        ("lamp voltage", "0 V", 0.0),
        ("lamp power", "1.2 W", 1.2),
        ("closed in", "pressed", "pressed"),
    ],
)
def test_values_are_read(key: str, text: str, *, value: float | str | bool) -> None:
    assert read_value(FAMILIES["switch"].parameters[key], key, text) == value


@pytest.mark.parametrize(
    ("kind", "key", "text", "says"),
    [
        ("battery", "charge", "120 %", "from 0 % to 100 %"),
        ("battery", "charge", "-1 %", "from 0 % to 100 %"),
        ("relay", "coil", "0 ohm", "must be above 0"),
        ("relay", "contact", "open", "normally open or normally closed"),
        ("switch", "lamp voltage", "-1 V", "must be above 0"),
        ("switch", "latching", "true", "yes or no"),
        ("heater grid", "lines", "2.5", "whole number"),
    ],
)
def test_values_out_of_bounds_are_refused(kind: str, key: str, text: str, says: str) -> None:
    with pytest.raises(QuantityError, match=says):
        read_value(FAMILIES[kind].parameters[key], key, text)


def test_values_that_make_no_part_are_refused(lab: SimpleNamespace) -> None:
    with pytest.raises(QuantityError, match="look at lamp power"):
        check_values(lab.part("switch", lamp_voltage=12.0))
    with pytest.raises(QuantityError, match="drop-out must lie below pull-in"):
        check_values(lab.part("relay", **{"pull-in": 2.0}))


# The key switch


@pytest.mark.parametrize(
    ("faults", "live"),
    [
        ((), {"accessory", "run"}),
        ((("contact open", "run", None),), {"accessory"}),
        ((("open", "accessory", None),), {"run"}),
        ((("stuck closed", "crank", None),), {"accessory", "run", "crank"}),
        ((("contact open", None, None),), set()),
        ((("contact burnt", "run", 30.0),), {"accessory"}),
    ],
)
def test_each_contact_of_the_key_fails_alone(
    lab: SimpleNamespace, faults: tuple, live: set[str]
) -> None:
    """Key in run; terminals 75, 15 and 50 of DIN 72552."""
    pins = ("accessory", "run", "crank")
    elements = lab.elements("key switch", name="S1", faults=faults)
    shut = [e for e in elements if not e.positions or "run" in e.positions]
    loads = [lab.resistor(f"load {pin}", f"S1.{pin}", "body", 6.0) for pin in pins]
    answer = lab.solve(lab.source("e", "S1.in", "body", 12.0), *shut, *loads)
    assert {pin for pin in pins if answer.current[f"load {pin}"] > 1.9} == live
