"""What a control's position says to a part, and ring terminals."""

from dataclasses import replace
from types import SimpleNamespace

import pytest

from sim.errors import QuantityError
from sim.parts import FAMILIES
from sim.parts.family import Family
from sim.parts.positions import stands
from sim.parts.ring import ring, ring_ways

SET = [family for family in FAMILIES.values() if family.setting]
POSITION = {
    "rotation": "idle 800 rpm",
    "temperature": "90 degC",
    "fraction": "40 %",
    "pressure": "3 bar",
}


def test_a_number_a_word_and_neither(lab: SimpleNamespace) -> None:
    part = replace(lab.part("wire"), settings=("off", "on", "40 %", "half way 50 %"))
    found = stands(part, "fraction", 0.25, {"on": 1.0})
    assert [stand.value for stand in found] == [0.25, 1.0, 0.4, 0.5]
    assert [stand.gate for stand in found] == [(position,) for position in part.settings]
    assert found[3].label == " at half way 50 %"


def test_without_a_control_there_is_one_that_always_is(lab: SimpleNamespace) -> None:
    (stand,) = stands(lab.part("wire"), "fraction", 0.25)
    assert (stand.label, stand.value, stand.gate) == ("", 0.25, ())


def test_a_unit_of_another_kind_is_refused(lab: SimpleNamespace) -> None:
    part = replace(lab.part("wire"), settings=("off", "90 degC"))
    with pytest.raises(QuantityError, match="rotation"):
        stands(part, "rotation", 0.0)


@pytest.mark.parametrize("family", SET, ids=lambda family: family.kind)
def test_every_position_has_its_elements_and_faults_keep_them(
    lab: SimpleNamespace, family: Family
) -> None:
    """One topology for all positions and all faults; each position in circuit somewhere."""
    sound = replace(lab.part(family.kind), settings=("off", POSITION[family.setting]))
    shape = [(e.name, e.a, e.b, e.law, e.positions) for e in family.elements(sound, 20.0)]
    assert {gate for *_, gates in shape for gate in gates} == set(sound.settings)
    for way in family.ways(sound):
        for severity in way.severities or (None,):
            part = lab.part(family.kind, faults=((way.name, way.pin, severity),))
            elements = family.elements(replace(part, settings=sound.settings), 20.0)
            assert [(e.name, e.a, e.b, e.law, e.positions) for e in elements] == shape


def test_a_ring_stays_when_the_plug_comes_off(lab: SimpleNamespace) -> None:
    part = lab.part("wire", name="M1", faults=(("high resistance", "30", 0.1),))
    element = ring(part, "30")
    assert (element.name, element.a, element.b, element.joint) == (
        "M1.30",
        "M1.30",
        "M1.30b",
        False,
    )
    assert 1 / element.conductance == pytest.approx(0.1002)
    assert ring(lab.part("wire", faults=(("open", "30", None),)), "30").conductance == 0.0
    assert {way.name for way in ring_ways("30")} == {"open", "high resistance"}
