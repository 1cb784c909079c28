"""Units on a bus: identifiers, and what they miss. Identifiers: ISO 15765-4."""

import obd
import pytest

from sim.diagnosis.onbus import place_ids
from sim.diagnosis.vehicle import carrier_of, control_units, parts_with_unit
from tests.sim.bus.conftest import Car, two_wires


def test_identifiers_are_those_of_the_standard_for_the_first_eight_units() -> None:
    assert [place_ids(n)[:2] for n in range(8)] == [(0x7E0 + n, 0x7E8 + n) for n in range(8)]
    later = [place_ids(n) for n in range(8, 40)]
    every = [one for ids in later for one in ids[:2]]
    assert len(set(every)) == len(every)
    assert max(every) < 0x7DF


def test_every_unit_of_the_vehicle_has_its_server() -> None:
    units = control_units(two_wires())
    assert [unit.name for unit in units] == [
        "A1 engine",
        "A2 brakes",
        "A3 gateway",
        "A4 dash",
        "A5 driver's door",
        "A6 rear end",
    ]
    assert [unit.generic for unit in units] == [True, False, False, False, False, False]
    assert [carrier_of(two_wires(), part) for part in parts_with_unit(two_wires())] == [
        f"A{n}" for n in range(1, 7)
    ]


def test_codes_for_missing_units_are_those_of_the_standard() -> None:
    codes = {str(m.code)[:5] for unit in control_units(two_wires()) for m in unit.memory.monitors}
    assert codes == {"U0100", "U0121", "U0140", "U0146", "U0155", "U0199"}
    for code in codes:
        assert obd.codes.DTC[code].lower().startswith("lost communication with")


@pytest.mark.parametrize(
    ("fault", "unit", "codes"),
    [
        ("", "A4", []),
        ("A2=never dominant", "A1", ["U0121"]),
        ("A1=dead", "A4", ["U0100"]),
        ("A3=dead", "A4", ["U0100", "U0121", "U0146"]),
    ],
)
def test_a_unit_sets_the_code_of_the_one_it_misses(fault: str, unit: str, codes: list[str]) -> None:
    """Read off the unit itself: behind a dead gateway no scan tool would get there."""
    car = Car(fault)
    car.do({"wait": "1 min"})
    carried = {one.name[:2]: one for one in car.bench.memory.units[0]}
    found = [
        str(monitor.code)[:5]
        for monitor, record in carried[unit].memory.entries()
        if record.status & 0x08
    ]
    assert sorted(found) == codes
