"""CAN pair. Limits: TI TCAN1146-Q1 data sheet SLLSF80B, which states ISO 11898-2 conformity.

Dominant, 50 to 65 ohm: CANH 2.75 to 4.5 V, CANL 0.5 to 2.25 V, difference 1.5 to 3 V; 45 to 70
ohm: at least 1.4 V; 2.24 kohm: 1.5 to 5 V. Recessive: each line 2 to 3 V, difference -120 to 12 mV
at 60 ohm and within 50 mV unloaded. Receiver (TCAN1469-Q1): dominant from 0.9 V, recessive to 0.5
V. Terminators: 120 ohm at each end, or 2 x 60 (TCAN332 SLLSEQ7). 3.5 V and 1.5 V: from memory.
"""

import math
from types import SimpleNamespace

import pytest

from sim.parts.family import Wave
from tests.sim.parts.setting import set_part

BUS = ("recessive", "dominant", "busy", "busy 70 %")


def pair(lab: SimpleNamespace, elements: tuple, ohms: float = 60.0) -> tuple[float, float]:
    answer = lab.solve(
        lab.source("unit", "P1.+", "body", 5.0),
        lab.resistor("ground", "P1.-", "body", 1e-4),
        lab.resistor("bus", "P1.H", "P1.L", ohms),
        *elements,
    )
    assert answer.status == 0
    assert max(answer.residuals()) < 1e-9
    return answer.volts["P1.H"], answer.volts["P1.L"]


def bus(
    lab: SimpleNamespace, position: str, *faults: tuple, ohms: float = 60.0
) -> tuple[float, float]:
    return pair(lab, set_part(lab, "CAN transceiver", position, positions=BUS, faults=faults), ohms)


@pytest.mark.parametrize("ohms", [50.0, 60.0, 65.0])
def test_dominant_levels(lab: SimpleNamespace, ohms: float) -> None:
    high, low = bus(lab, "dominant", ohms=ohms)
    assert 2.75 <= high <= 4.5
    assert 0.5 <= low <= 2.25
    assert 1.5 <= high - low <= 3.0


@pytest.mark.parametrize(
    ("ohms", "least", "most"), [(45.0, 1.4, 3), (70.0, 1.4, 3), (2240.0, 1.5, 5)]
)
def test_dominant_difference_at_other_loads(
    lab: SimpleNamespace, ohms: float, least: float, most: float
) -> None:
    high, low = bus(lab, "dominant", ohms=ohms)
    assert least <= high - low <= most


def test_typical_levels(lab: SimpleNamespace) -> None:
    assert bus(lab, "dominant") == pytest.approx((3.5, 1.5), abs=0.1)


@pytest.mark.parametrize(("ohms", "least", "most"), [(60.0, -0.12, 0.012), (1e9, -0.05, 0.05)])
def test_recessive_levels(lab: SimpleNamespace, ohms: float, least: float, most: float) -> None:
    high, low = bus(lab, "recessive", ohms=ohms)
    assert 2.0 <= low <= 3.0
    assert 2.0 <= high <= 3.0
    assert least <= high - low <= most
    assert (high, low) == pytest.approx((2.5, 2.5), abs=0.01)


@pytest.mark.parametrize(("position", "share"), [("busy", 0.4), ("busy 70 %", 0.7)])
def test_a_busy_bus_is_dominant_for_its_share(
    lab: SimpleNamespace, position: str, share: float
) -> None:
    elements = set_part(lab, "CAN transceiver", position, positions=BUS)
    drivers = [e for e in elements if e.name.endswith(f"driver at {position}")]
    assert len(drivers) == 2
    assert {e.motion.wave for e in drivers} == {Wave.SWITCHED}
    assert [e.motion.amplitude for e in drivers] == pytest.approx([share, share])


@pytest.mark.parametrize(
    ("fault", "dominant", "recessive"),
    [
        (("stuck dominant", None, None), True, True),
        (("never dominant", None, None), False, False),
        (("H and L shorted", None, None), False, False),
        (("H driver open", None, None), False, False),
        (("L driver open", None, None), False, False),
        (("open", "+", None), False, False),
    ],
)
def test_what_receivers_make_of_its_faults(
    lab: SimpleNamespace, fault: tuple, *, dominant: bool, recessive: bool
) -> None:
    for position, expected in (("dominant", dominant), ("recessive", recessive)):
        high, low = bus(lab, position, fault)
        assert high - low >= 0.9 if expected else high - low <= 0.5


@pytest.mark.parametrize(("ends", "ohms"), [(1, 120.0), (2, 60.0), (3, 40.0)])
@pytest.mark.parametrize("kind", ["single", "split"])
def test_terminators_pin_to_pin(lab: SimpleNamespace, kind: str, ends: int, ohms: float) -> None:
    """Unpowered, with one transceiver across the pair: 120, 60, 40 ohm and next to nothing less."""
    elements = [
        e for n in range(ends) for e in lab.elements("CAN terminator", name=f"R{n}", type=kind)
    ]
    wires = [
        lab.resistor(f"{p} {n}", f"P1.{p}", f"R{n}.{p}", 1e-4) for n in range(ends) for p in "HL"
    ]
    answer = lab.solve(
        lab.source("ohmmeter", "P1.H", "P1.L", 0.2, 1e-4),
        lab.resistor("ground", "P1.-", "body", 1e-4),
        lab.resistor("dead supply", "P1.+", "body", 100.0),
        *lab.elements("CAN transceiver"),
        *elements,
        *wires,
    )
    found = 0.2 / -answer.current["ohmmeter"]
    assert found == pytest.approx(ohms, rel=0.01)
    assert found < ohms + 0.02


def test_lines_that_touch_show_next_to_nothing_on_an_ohmmeter(lab: SimpleNamespace) -> None:
    """Arithmetic: what lies across the pair is beside the 60 ohm of two terminators."""
    answer = lab.solve(
        lab.source("ohmmeter", "P1.H", "P1.L", 0.2, 1e-4),
        lab.resistor("ground", "P1.-", "body", 1e-4),
        lab.resistor("dead supply", "P1.+", "body", 100.0),
        lab.resistor("terminators", "P1.H", "P1.L", 60.0),
        *lab.elements("CAN transceiver", faults=(("H and L shorted", None, None),)),
    )
    assert 0.0 < 0.2 / -answer.current["ohmmeter"] < 1.0


@pytest.mark.parametrize(
    ("fault", "ohms"),
    [
        (("open", None, None), math.inf),
        (("wrong value", None, 60.0), 60.0),
        (("shorted", None, None), 2.0),
        (("open", "H", None), math.inf),
    ],
)
def test_faults_of_a_terminator(lab: SimpleNamespace, fault: tuple, ohms: float) -> None:
    answer = lab.solve(
        lab.source("ohmmeter", "P1.H", "body", 0.2),
        lab.resistor("low", "P1.L", "body", 1e-4),
        *lab.elements("CAN terminator", faults=(fault,)),
    )
    siemens = -answer.current["ohmmeter"] / 0.2
    assert siemens == pytest.approx(1 / ohms, rel=0.02, abs=1e-9)


def test_a_split_terminator_has_its_capacitor_at_the_body(lab: SimpleNamespace) -> None:
    capacitors = [
        next(e for e in lab.elements("CAN terminator", type=kind) if e.name.endswith("capacitor"))
        for kind in ("single", "split")
    ]
    assert [e.motion.capacitance for e in capacitors] == [0.0, 4.7e-9]
    assert {e.b for e in capacitors} == {"body"}
