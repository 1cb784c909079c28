"""Contacts that come and go, as every joint of every part can."""

from types import SimpleNamespace

import numpy as np
import pytest

from sim.circuit import Circuit
from sim.faults import parse_faults, possible_faults, with_faults
from sim.network import EVERYTHING, Configuration, build_network, circuit_row, configured
from sim.parts.family import CONTACT_RESISTANCE, Trigger


@pytest.mark.parametrize(
    ("way", "trigger"),
    [
        ("open on vibration", Trigger.VIBRATION),
        ("open on heat", Trigger.HEAT),
        ("open in the wet", Trigger.MOISTURE),
    ],
)
def test_a_joint_opens_while_something_is_done_to_it(
    heater: Circuit, way: str, trigger: Trigger
) -> None:
    """Sound at rest; open under its own stress, anywhere or at its part, and under no other."""
    faulty = with_faults(heater, parse_faults(heater, f"C41.1={way}"))
    network = build_network(faulty)
    joint, rows = network.element("C41.1"), circuit_row(faulty)[None]

    def siemens(configuration: Configuration) -> float:
        return float(configured(faulty, network, rows, configuration)[0, joint, 0])

    sound = 1 / CONTACT_RESISTANCE
    assert siemens(Configuration()) == pytest.approx(sound)
    for where in ("C41", EVERYTHING):
        assert siemens(Configuration(stressed=((where, trigger),))) == 0.0
    for other in set(Trigger) - {trigger, Trigger.NEVER}:
        assert siemens(Configuration(stressed=((EVERYTHING, other),))) == pytest.approx(sound)
    assert siemens(Configuration(stressed=(("F7", trigger),))) == pytest.approx(sound)


def test_a_poor_contact_heals_when_it_is_disturbed(heater: Circuit) -> None:
    faulty = with_faults(heater, parse_faults(heater, "C41.1=poor contact:1.2 ohm"))
    network = build_network(faulty)
    joint, rows = network.element("C41.1"), circuit_row(faulty)[None]
    before = configured(faulty, network, rows, Configuration())[0, joint, 0]
    after = configured(faulty, network, rows, Configuration(disturbed=("C41",)))[0, joint, 0]
    assert 1 / before == pytest.approx(CONTACT_RESISTANCE + 1.2)
    assert 1 / after == pytest.approx(CONTACT_RESISTANCE)


def test_an_open_joint_stays_open_whatever_else_it_has(lab: SimpleNamespace) -> None:
    both = (("open", "1", None), ("poor contact", "1", 1.2))
    joint = lab.elements("lamp", power=21.0, faults=both)[0]
    assert joint.conductance == joint.other == 0.0


def test_what_comes_and_goes_happens_only_where_a_file_says_so(heater: Circuit) -> None:
    found = {fault.way for faults, _likelihood in possible_faults(heater) for fault in faults}
    assert {"open", "high resistance"} <= found
    assert not {
        way for way in found if " on " in way or " in the " in way or way.startswith("poor")
    }


def test_all_of_these_ways_keep_the_healthy_row_at_rest(heater: Circuit) -> None:
    """At rest nothing shows: the conductances are those of the whole vehicle."""
    healthy = circuit_row(heater)[:, 0]
    for way in ("open on vibration", "open on heat", "open in the wet"):
        faulty = with_faults(heater, parse_faults(heater, f"E9.2={way}"))
        assert np.array_equal(circuit_row(faulty)[:, 0], healthy)
