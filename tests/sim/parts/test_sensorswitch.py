"""Sensor switches: pressure, temperature and level."""

from types import SimpleNamespace

import pytest

from sim.errors import QuantityError
from sim.parts.values import check_values
from tests.sim.parts.setting import set_part


def closes(lab: SimpleNamespace, elements: tuple) -> bool:
    answer = lab.solve(
        lab.source("supply", "plus", "body", 12.0),
        lab.resistor("lamp", "plus", "P1.1", 100.0),
        lab.resistor("ground", "P1.2", "body", 1e-4),
        *elements,
    )
    return answer.current["lamp"] > 0.1


@pytest.mark.parametrize(
    ("closed", "position", "on"),
    [
        ("below 0.5 bar", "off", True),
        ("below 0.5 bar", "idle 1.2 bar", False),
        ("below 0.5 bar", "starved 20 kPa", True),
        ("above 98 degC", "90 degC", False),
        ("above 98 degC", "104 degC", True),
        ("below 3 degC", "-10 degC", True),
        ("below 15 %", "10 %", True),
        ("below 15 %", "60 %", False),
    ],
)
def test_it_closes_on_its_side_of_the_threshold(
    lab: SimpleNamespace, closed: str, position: str, *, on: bool
) -> None:
    assert closes(lab, set_part(lab, "sensor switch", position, closed=closed)) == on


@pytest.mark.parametrize(
    ("fault", "below", "above"),
    [
        (("stuck open", None, None), False, False),
        (("stuck closed", None, None), True, True),
        (("contact burnt", None, 200.0), False, False),
        (("open", "1", None), False, False),
    ],
)
def test_its_faults(lab: SimpleNamespace, fault: tuple, *, below: bool, above: bool) -> None:
    for position, on in (("0 bar", below), ("3 bar", above)):
        elements = set_part(lab, "sensor switch", position, closed="below 0.5 bar", faults=(fault,))
        assert closes(lab, elements) == on


def test_a_shifted_threshold(lab: SimpleNamespace) -> None:
    shifted = (("shifted", None, 0.5),)
    for position, on in (("0.2 bar", True), ("0.4 bar", False)):
        elements = set_part(lab, "sensor switch", position, closed="below 0.5 bar", faults=shifted)
        assert closes(lab, elements) == on


def test_without_a_control_it_stands_at_its_own_value(lab: SimpleNamespace) -> None:
    for at_rest, on in (("", True), ("3 bar", False)):
        elements = lab.elements("sensor switch", closed="below 0.5 bar", at_rest=at_rest)
        assert closes(lab, elements) == on


@pytest.mark.parametrize("closed", ["", "below", "under 0.5 bar", "below 0.5 V", "above 3"])
def test_what_it_cannot_sense_is_refused_in_one_line(lab: SimpleNamespace, closed: str) -> None:
    with pytest.raises(QuantityError, match=r"such as `below 0\.5 bar`") as caught:
        check_values(lab.part("sensor switch", closed=closed))
    assert "\n" not in str(caught.value)
