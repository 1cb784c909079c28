"""Resistors and the resistor pack of a blower."""

from types import SimpleNamespace

import pytest

from sim.errors import QuantityError
from sim.parts import FAMILIES
from sim.parts.resistor import steps
from sim.parts.values import check_values


@pytest.mark.parametrize(
    ("fault", "ohms"),
    [
        (None, 100.0),
        (("drift", None, 0.3), 130.0),
        (("wrong value", None, 1000.0), 1000.0),
        (("high resistance", "1", 50.0), 150.0),
    ],
)
def test_a_resistor_obeys_ohm(lab: SimpleNamespace, fault: tuple | None, ohms: float) -> None:
    elements = lab.elements(
        "resistor", name="R1", resistance=100.0, faults=[fault] if fault else []
    )
    ground = lab.resistor("ground", "R1.2", "body", 1e-6)
    answer = lab.solve(lab.source("e", "R1.1", "body", 12.0), *elements, ground)
    assert 12.0 / answer.current["ground"] == pytest.approx(ohms, rel=1e-4)


def blower(lab: SimpleNamespace, feed: str, *faults: tuple) -> float:
    """Give the current of a blower of 1 ohm on `out`, the pack fed at a terminal with 12 V."""
    pack = lab.elements("resistor pack", name="R1", faults=faults)
    motor = lab.resistor("motor", "R1.out", "body", 1.0)
    return lab.solve(lab.source("e", f"R1.{feed}", "body", 12.0), *pack, motor).current["motor"]


@pytest.mark.parametrize(
    ("feed", "ohms"), [("in", 1.2 + 0.6 + 0.3), ("1", 0.6 + 0.3), ("2", 0.3), ("out", 0.0)]
)
def test_every_tap_gives_a_speed(lab: SimpleNamespace, feed: str, ohms: float) -> None:
    """Steps of 1.2, 0.6 and 0.3 ohm in series; joints and thermal fuse take up to 1 %."""
    assert blower(lab, feed) == pytest.approx(12.0 / (1.0 + ohms), rel=0.01)


@pytest.mark.parametrize(
    ("way", "running"),
    [
        ("thermal fuse open", {"1", "2", "out"}),
        ("step 1 open", {"1", "2", "out"}),
        ("step 2 open", {"2", "out"}),
        ("step 3 open", {"out"}),
    ],
)
def test_which_speeds_are_left(lab: SimpleNamespace, way: str, running: set[str]) -> None:
    feeds = ("in", "1", "2", "out")
    assert {feed for feed in feeds if blower(lab, feed, (way, None, None)) > 1.0} == running


def test_terminals_follow_the_steps(lab: SimpleNamespace) -> None:
    part = lab.part("resistor pack", steps="2 ohm | 500 mohm")
    assert steps(part) == (2.0, 0.5)
    assert FAMILIES["resistor pack"].pins(part) == ("in", "1", "out")


@pytest.mark.parametrize("text", ["2 ohm|0 ohm", "2 ohm|-1 ohm", "2 V", ""])
def test_steps_that_are_no_resistances_are_refused(lab: SimpleNamespace, text: str) -> None:
    with pytest.raises(QuantityError):
        check_values(lab.part("resistor pack", steps=text))
