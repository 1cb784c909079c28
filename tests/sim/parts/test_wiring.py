"""Wires that break, chafe and touch; connectors and ground studs."""

from types import SimpleNamespace

import pytest


def wire(lab: SimpleNamespace, *faults: tuple) -> tuple:
    """Give a wire of 1 ohm from a to b: 58 m of 1 mm2."""
    ends = {"from": "a", "to": "b"}
    return lab.elements("wire", name="wire 1", area=1e-6, length=58.0, faults=faults, **ends)


def test_a_chafed_wire_carries_the_short_in_its_first_half(lab: SimpleNamespace) -> None:
    """0.5 ohm to the middle, 0.5 ohm from there to the body."""
    elements = wire(lab, ("short to ground", None, 0.5))
    answer = lab.solve(lab.source("e", "a", "body", 12.0), *elements)
    assert answer.current["wire 1 first half"] == pytest.approx(12.0, rel=1e-6)
    assert answer.volts["wire 1 middle"] == pytest.approx(6.0, rel=1e-6)
    assert answer.current["wire 1 second half"] == pytest.approx(0.0, abs=1e-9)


@pytest.mark.parametrize(
    ("fault", "amps"),
    [((), 6.0), (("high resistance", None, 1.0), 4.0), (("open", None, None), 0.0)],
)
def test_a_wire_in_series_with_one_ohm(lab: SimpleNamespace, fault: tuple, amps: float) -> None:
    elements = wire(lab, *([fault] if fault else []))
    load = lab.resistor("load", "b", "body", 1.0)
    answer = lab.solve(lab.source("e", "a", "body", 12.0), *elements, load)
    assert answer.current["load"] == pytest.approx(amps, rel=1e-6, abs=1e-12)


def test_a_connector_has_two_halves_and_each_pin_fails_alone(lab: SimpleNamespace) -> None:
    pins = lab.elements("connector", name="C1", pins=2.0, faults=(("open", "2", None),))
    assert [(e.a, e.b) for e in pins] == [("C1.1a", "C1.1b"), ("C1.2a", "C1.2b")]
    assert [e.conductance > 0 for e in pins] == [True, False]
    assert all(e.joint for e in pins)


def test_a_ground_stud_goes_to_the_body(lab: SimpleNamespace) -> None:
    crusted = lab.elements("ground stud", name="X1", faults=(("high resistance", None, 0.4),))
    assert (crusted[0].a, crusted[0].b) == ("X1.ring", "body")
    assert 1 / crusted[0].conductance == pytest.approx(0.403)
    assert lab.elements("ground stud", faults=(("open", None, None),))[0].conductance == 0.0
