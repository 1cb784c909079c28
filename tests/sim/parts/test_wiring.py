"""Wires that break, chafe and touch; connectors and ground studs."""

from types import SimpleNamespace

import pytest

from sim.parts import FAMILIES
from sim.parts.family import Trigger
from sim.parts.wiring import SHAKEN, neighbours


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


# Wires that touch


def loom(lab: SimpleNamespace, *faults: tuple, supply: str = "") -> object:
    """Give wires 9 and 12 of 1 ohm, each feeding 11 ohm; only wire 9 is fed, with 12 V."""
    elements = []
    for name, start, other in (("wire 9", "a", "wire 12"), ("wire 12", "c", "wire 9")):
        ends = {"from": start, "to": f"{name} load"}
        mine = faults if name == "wire 9" else ()
        elements += lab.elements(
            "wire",
            name=name,
            area=1e-6,
            length=58.0,
            beside=other,
            supply_beside=supply if name == "wire 9" else "",
            faults=mine,
            **ends,
        )
        elements.append(lab.resistor(f"{name} lamp", f"{name} load", "body", 11.0))
    return elements


def test_a_pair_has_one_element_whoever_names_whom(lab: SimpleNamespace) -> None:
    names = [element.name for element in loom(lab)]
    assert "wire 9 to wire 12" in names
    assert "wire 12 to wire 9" not in names
    part = lab.part("wire", name="wire 9", beside="wire 12|wire 8 | wire 10")
    assert neighbours(part) == ("wire 10", "wire 12")


def test_wires_that_touch_share_their_loads(lab: SimpleNamespace) -> None:
    """Ladder by hand: 0.5 ohm, then 11.5 ohm beside 0.5 + 11.5 ohm through the short of 0.5 ohm."""
    whole = lab.solve(lab.source("e", "a", "body", 12.0), *loom(lab))
    assert whole.current["wire 12 lamp"] == pytest.approx(0.0, abs=1e-9)
    touching = lab.solve(
        lab.source("e", "a", "body", 12.0), *loom(lab, ("short to wire 12", None, 0.5))
    )
    both = 1 / (1 / 11.5 + 1 / 12.0)
    middle = 12.0 * both / (both + 0.5)
    assert touching.current["wire 9 lamp"] == pytest.approx(middle / 11.5, rel=1e-6)
    assert touching.current["wire 12 lamp"] == pytest.approx(middle / 12.0, rel=1e-6)


def test_a_wire_that_touches_a_supply(lab: SimpleNamespace) -> None:
    """Its load has 11.5 ohm and the short of 0.5 ohm from 12 V, whether it is fed or not."""
    elements = loom(lab, ("short to supply", None, 0.5), supply="live")
    answer = lab.solve(lab.source("live", "live", "body", 12.0), *elements)
    assert answer.current["wire 9 lamp"] == pytest.approx(1.0, rel=1e-6)


def test_a_wire_touches_only_what_the_vehicle_s_file_names(lab: SimpleNamespace) -> None:
    family = FAMILIES["wire"]
    plain = {way.name for way in family.ways(lab.part("wire", name="wire 1"))}
    assert not {name for name in plain if name.startswith(("short to wire", "short to supply"))}
    part = lab.part("wire", name="wire 1", beside="wire 2", supply_beside="F1.2")
    assert {way.name for way in family.ways(part)} - plain == {
        "short to wire 2",
        "short to supply",
    }


# What comes and goes


def test_broken_strands_are_worse_when_shaken(lab: SimpleNamespace) -> None:
    far = wire(lab, ("broken strands", None, 0.3))[2]
    assert far.trigger is Trigger.VIBRATION
    assert 1 / far.conductance == pytest.approx(0.5 + 0.3)
    assert 1 / far.other == pytest.approx(0.5 + SHAKEN * 0.3)


@pytest.mark.parametrize(
    ("way", "severity", "trigger", "ohms"),
    [
        ("short to ground on vibration", 0.1, Trigger.VIBRATION, 0.1),
        ("leakage in the wet", 2000.0, Trigger.MOISTURE, 2000.0),
    ],
)
def test_insulation_that_fails_now_and_then(
    lab: SimpleNamespace, way: str, severity: float, trigger: Trigger, ohms: float
) -> None:
    chafe = wire(lab, (way, None, severity))[1]
    assert chafe.conductance == 0.0
    assert (chafe.trigger, 1 / chafe.other) == (trigger, pytest.approx(ohms))


def test_a_loose_stud(lab: SimpleNamespace) -> None:
    stud = lab.elements("ground stud", faults=(("loose", None, 1.2),))[0]
    assert 1 / stud.conductance == pytest.approx(0.003)
    assert stud.trigger is Trigger.VIBRATION
    assert 1 / stud.other == pytest.approx(1.203)
