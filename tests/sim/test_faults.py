"""Names of faults, which faults a circuit can have, and applying and mending them."""

import pytest

from sim.circuit import Circuit, Fault
from sim.errors import FaultError
from sim.faults import (
    parse_fault,
    parse_faults,
    possible_faults,
    with_faults,
    without_faults,
    write_fault,
    write_faults,
)
from sim.network import stack_rows


@pytest.mark.parametrize(
    ("text", "fault"),
    [
        ("F7=open", Fault("F7", "open")),
        ("C41.1=high resistance:1.2 ohm", Fault("C41", "high resistance", "1", 1.2)),
        ("C41.1=high resistance:400 mohm", Fault("C41", "high resistance", "1", 0.4)),
        ("C41.1 = high resistance : 1.2 ohm", Fault("C41", "high resistance", "1", 1.2)),
        ("wire 9=short to ground:0.1 ohm", Fault("wire 9", "short to ground", None, 0.1)),
        ("K3.30=open", Fault("K3", "open", "30")),
        ("E9=line open:3", Fault("E9", "line open", None, 3.0)),
        ("E9=line open:3 lines", Fault("E9", "line open", None, 3.0)),
        ("B1=high resistance", Fault("B1", "high resistance", None, 0.08)),
    ],
)
def test_reads_a_fault(heater: Circuit, text: str, fault: Fault) -> None:
    assert parse_fault(heater, text) == fault


@pytest.mark.parametrize(
    ("text", "says"),
    [
        ("F7", "expected PART"),
        ("=open", "expected PART"),
        ("", "expected PART"),
        ("F99=open", "no such part in rear-window-heater; parts are B1"),
        (
            "F7=melted",
            "F7: got 'melted', a blade fuse fails by open, wrong rating; and at F7.1, F7.2",
        ),
        ("F7.1=melted", "F7.1: got 'melted', a blade fuse fails at F7.1 by open, high resistance"),
        ("F7.3=open", "F7.3: got 'open', but a blade fuse fails at F7, F7.1, F7.2"),
        ("F7.1=coil open", "F7.1: got 'coil open', a blade fuse fails at F7.1 by open"),
        ("F7=open:1 ohm", "'open' takes no severity"),
        ("C41.1=high resistance:1.2", "got unit ''"),
        ("C41.1=high resistance:1.2 V", "got unit 'V'"),
        ("C41.1=high resistance:0 ohm", "must be above 0"),
        ("C41.1=high resistance:-1 ohm", "must be above 0"),
        ("E9=line open:13", "whole number up to 12"),
        ("E9=line open:2.5", "whole number up to 12"),
    ],
)
def test_refuses_what_the_circuit_cannot_have(heater: Circuit, text: str, says: str) -> None:
    with pytest.raises(FaultError) as caught:
        parse_fault(heater, text)
    assert says in str(caught.value)
    assert "\n" not in str(caught.value)


def test_every_possible_fault_has_a_name_that_reads_back(shipped: Circuit) -> None:
    names = set()
    for faults, _likelihood in possible_faults(shipped):
        name = write_faults(shipped, faults)
        assert parse_faults(shipped, name) == faults
        names.add(name)
    assert len(names) == len(possible_faults(shipped))


def test_every_possible_fault_changes_the_circuit(shipped: Circuit) -> None:
    """One that changes no number could never be found; and mending brings the circuit back."""
    possible = possible_faults(shipped)
    faulty = [with_faults(shipped, faults) for faults, _likelihood in possible]
    whole, *rows = stack_rows([shipped, *faulty])
    for (faults, likelihood), one, row in zip(possible, faulty, rows, strict=True):
        assert likelihood > 0
        assert (row != whole).any(), write_faults(shipped, faults)
        assert without_faults(one, faults) == shipped


def test_the_vehicle_s_own_likelihoods_replace_the_family_s(heater: Circuit) -> None:
    burnt = {
        faults[0].severity: likelihood
        for faults, likelihood in possible_faults(heater)
        if len(faults) == 1 and faults[0].point == "C41.1" and faults[0].way == "high resistance"
    }
    assert burnt == {severity: pytest.approx(4 / 3) for severity in (0.4, 0.8, 2.0)}


def test_a_compound_fault_is_one_of_the_possible(heater: Circuit) -> None:
    chafed = parse_faults(heater, "wire 8=short to ground:0.1 ohm + F7=open")
    assert chafed in [faults for faults, _likelihood in possible_faults(heater)]


def test_mending_one_of_two_leaves_the_other(heater: Circuit) -> None:
    one, two = parse_faults(heater, "F7=open + C41.1=open")
    left = without_faults(with_faults(heater, [one, two]), [one])
    assert left.parts["F7"].faults == ()
    assert left.parts["C41"].faults == (two,)


def test_a_severity_is_written_in_its_unit(heater: Circuit) -> None:
    assert write_fault(heater, Fault("C41", "high resistance", "1", 0.4)) == (
        "C41.1=high resistance:0.4 ohm"
    )
    assert write_fault(heater, Fault("E9", "line open", None, 3.0)) == "E9=line open:3"
