"""Solenoids and injectors. Resistance of injectors: common practice, no source."""

from types import SimpleNamespace

import pytest

from sim.parts import FAMILIES
from sim.parts.family import Element


def coil(lab: SimpleNamespace, kind: str, *faults: tuple, **values: object) -> Element:
    elements = lab.elements(kind, faults=faults, **values)
    return next(element for element in elements if element.name == "P1 coil")


def ohms(lab: SimpleNamespace, *faults: tuple, **values: object) -> float:
    """Give what a resistance at the terminals of an injector is: 1 V over its current."""
    answer = lab.solve(
        lab.source("supply", "P1.1", "body", 1.0),
        lab.resistor("ground", "P1.2", "body", 1e-9),
        *lab.elements("injector", faults=faults, **values),
    )
    amps = answer.current["P1 coil"]
    return 1.0 / amps if amps else float("inf")


@pytest.mark.parametrize(("kind", "low", "high"), [("high ohm", 12, 16), ("low ohm", 2, 3)])
def test_injectors_lie_in_their_band(
    lab: SimpleNamespace, kind: str, low: float, high: float
) -> None:
    assert low < ohms(lab, type=kind) < high


def test_a_stated_resistance_goes_before_the_type_s(lab: SimpleNamespace) -> None:
    assert ohms(lab, resistance=13.0) == pytest.approx(13.0 + 0.006, rel=1e-6)


@pytest.mark.parametrize("kind", ["solenoid", "injector"])
def test_shorted_turns_take_resistance_in_proportion_and_inductance_by_the_square(
    lab: SimpleNamespace, kind: str
) -> None:
    whole = coil(lab, kind, resistance=15.0, inductance=0.02)
    left = coil(lab, kind, ("shorted turns", None, 0.4), resistance=15.0, inductance=0.02)
    assert whole.conductance / left.conductance == pytest.approx(0.6)
    assert left.motion.inductance / whole.motion.inductance == pytest.approx(0.36)


def test_the_other_ways_of_failing(lab: SimpleNamespace) -> None:
    assert ohms(lab, ("open", None, None)) == float("inf")
    assert ohms(lab, ("shorted", None, None)) < 1.0
    assert ohms(lab, ("shorted turns", None, 0.4)) == pytest.approx(8.7, abs=0.02)
    assert ohms(lab, ("high resistance", "1", 1.2)) == pytest.approx(15.7, abs=0.02)
    assert ohms(lab, ("open", "2", None)) > 1e9


def test_rated_power_is_that_of_its_resistance(lab: SimpleNamespace) -> None:
    part = lab.part("solenoid", resistance=14.4)
    assert FAMILIES["solenoid"].nominal_power(part) == pytest.approx(10.0)


def supplied(lab: SimpleNamespace, volts: float, *faults: tuple) -> object:
    return lab.solve(
        lab.source("supply", "P1.1", "body", volts, 0.1),
        lab.resistor("ground", "P1.2", "body", 1e-9),
        *lab.elements("solenoid", resistance=12.0, suppression="diode", faults=faults),
    )


def test_the_diode_blocks_in_service_conducts_backwards_and_may_be_shorted(
    lab: SimpleNamespace,
) -> None:
    assert abs(supplied(lab, 12.0).current["P1 diode"]) < 1e-6
    assert supplied(lab, -12.0).current["P1 diode"] > 50.0
    shorted = supplied(lab, 12.0, ("diode shorted", None, None))
    assert abs(shorted.current["P1 diode short"]) > 50.0
