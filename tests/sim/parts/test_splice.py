"""Splices: what a corroded branch does, and that nothing of them can be probed."""

from types import SimpleNamespace

import pytest

from sim.access import probe_points
from sim.circuit import Circuit
from sim.parts.family import Trigger
from sim.parts.splice import BRANCH


def currents(lab: SimpleNamespace, *faults: tuple) -> list[float]:
    """Give the currents of two loads of 12 ohm fed through one splice from 12 V."""
    splice = lab.elements("splice", name="J1", faults=faults)
    loads = [lab.resistor(f"load {pin}", f"J1.{pin}", "body", 12.0) for pin in (2, 3)]
    answer = lab.solve(lab.source("e", "J1.1", "body", 12.0), *splice, *loads)
    return [answer.current[f"load {pin}"] for pin in (2, 3)]


@pytest.mark.parametrize(
    ("fault", "amps"),
    [
        (None, [1.0, 1.0]),
        (("corroded", "2", 12.0), [0.5, 1.0]),
        (("corroded", "1", 6.0), [0.5, 0.5]),
        (("open", "3", None), [1.0, 0.0]),
        (("open", "1", None), [0.0, 0.0]),
        (("corroded in the wet", "2", 12.0), [1.0, 1.0]),
    ],
)
def test_a_branch_carries_what_is_left(
    lab: SimpleNamespace, fault: tuple | None, amps: list[float]
) -> None:
    """Ohm's law: 12 V over 12 ohm, 24 ohm, or 6 ohm before two times 12 ohm."""
    found = currents(lab, *([fault] if fault else []))
    assert found == pytest.approx(amps, rel=2e-4, abs=1e-9)


def test_a_branch_that_is_corroded_in_the_wet(lab: SimpleNamespace) -> None:
    branch = lab.elements("splice", faults=(("corroded in the wet", "2", 2.0),))[1]
    assert branch.trigger is Trigger.MOISTURE
    assert 1 / branch.conductance == pytest.approx(BRANCH)
    assert 1 / branch.other == pytest.approx(BRANCH + 2.0)


def test_nothing_of_a_splice_can_be_probed(lab: SimpleNamespace, heater: Circuit) -> None:
    parts = {"J1": lab.part("splice", name="J1"), "R1": lab.part("resistor", name="R1")}
    circuit = Circuit(**{**{k: getattr(heater, k) for k in Circuit.__slots__}, "parts": parts})
    assert set(probe_points(circuit)) == {"body", "R1.1", "R1.2"}
