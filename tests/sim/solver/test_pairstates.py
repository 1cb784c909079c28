"""A meter and a sensitive relay: read anew where the meter makes it change, and nowhere else.

Anew is with the relay moved, or the whole circuit solved.
"""

from dataclasses import replace
from types import SimpleNamespace

import numpy as np
import pytest

from sim.instruments import multimeter
from sim.parts.family import Element, Law
from sim.solver.pairs import Meter, PairReadings, all_pairs
from sim.solver.steady import LEAD_RESISTANCE

METER = Meter(
    multimeter.INPUT_RESISTANCE,
    multimeter.TEST_VOLTAGE,
    multimeter.SERIES,
    multimeter.FULL_SCALE,
    multimeter.LEADS_ZEROED,
)
AMPS = METER.test_voltage / (METER.series[0] + 2 * LEAD_RESISTANCE + 500.0)  # into 500 ohm


def around_a_coil(lab: SimpleNamespace, pull_in: float) -> tuple[Element, ...]:
    return (
        Element("K coil", "one", "earth", 1e-3, law=Law.COIL, shape=(pull_in, 0.5 * pull_in, 0.0),
                relay="K"),
        Element("K contact", "one", "far", 100.0, law=Law.CONTACT, relay="K"),
        lab.resistor("behind", "far", "earth", 20e3),
        lab.resistor("beside", "one", "earth", 1e3),
        lab.resistor("apart", "other", "earth", 500.0),
        lab.resistor("strap", "earth", "body", 1e-3),
    )  # fmt: skip


def whole_volts(lab: SimpleNamespace, pull_in: float, *more: Element) -> float:
    """Give V at the jacks of an ohmmeter in its first range, beside the coil."""
    meter = (METER.series[0], METER.test_voltage)
    parts = (*around_a_coil(lab, pull_in), *more)
    return lab.solve(*parts, red="one", black="earth", meter=meter).drop["meter"]


def read(
    lab: SimpleNamespace, pull_in: float, ends: tuple[str, str], *more: Element
) -> tuple[PairReadings, bool]:
    """Read ohms beside a coil of 1 kohm on ``one``; tell whether it pulls in with the meter on.

    A kilohm beside it, and 500 ohm on ``other``, lead to ``earth``. Its contact puts 20 kohm
    beside the coil.
    """
    parts = (*around_a_coil(lab, pull_in), *more)
    loose = lab.solve(*parts)
    node = loose.solver.network.node
    points = np.array([node(end) for end in ends])
    state = replace(loose.solver, plain=False), loose.rows, loose.lanes, loose.solution
    found = all_pairs(*state, points, METER, ohms=True)
    meter = (METER.series[0], METER.test_voltage)
    return found, lab.solve(*parts, red=ends[0], black=ends[1], meter=meter).closed["K"]


@pytest.mark.parametrize("share", [0.9, 0.99, 0.999, 1.001, 1.01, 1.1])
def test_it_is_read_anew_where_the_coil_pulls_in(lab: SimpleNamespace, share: float) -> None:
    """Half of the meter's current goes through the coil (Ohm); `share` of that pulls it in."""
    found, pulls = read(lab, share * AMPS / 2, ("one", "earth"))
    assert pulls is (share < 1.0)
    assert (found.solved_whole + found.with_relay_moved > 0) is pulls
    ohms = 1.0 / (1 / 500.0 + 1 / 20e3) if pulls else 500.0
    assert found.ohms[0, 0] == pytest.approx(ohms, abs=0.1)


@pytest.mark.parametrize("pull_in", [1e-6, 1e-5, 1e-4])
def test_a_coil_that_the_current_does_not_pass_is_no_reason(
    lab: SimpleNamespace, pull_in: float
) -> None:
    """A meter that draws a thousand times what the coil takes, but elsewhere."""
    assert pull_in < AMPS
    found, pulls = read(lab, pull_in, ("other", "earth"))
    assert not pulls
    assert found.solved_whole + found.with_relay_moved == 0
    assert found.ohms[0, 0] == pytest.approx(500.0, abs=0.1)


@pytest.mark.parametrize("pull_in", np.linspace(0.5e-4, 4.5e-4, 17).tolist())
def test_beside_a_diode_too_it_is_read_anew_where_the_coil_pulls_in(
    lab: SimpleNamespace, pull_in: float
) -> None:
    """The diode takes what it takes of the current: only the solution itself says how much."""
    diode = Element("d", "one", "earth", 1.0, law=Law.DIODE, shape=(1e-9, 0.035, 0.0))
    found, pulls = read(lab, pull_in, ("one", "earth"), diode)
    assert found.solved_anew > 0
    assert (found.solved_whole + found.with_relay_moved > 0) is pulls


@pytest.mark.parametrize("pull_in", [1e-4, 2e-4, 3e-4])
def test_with_the_relay_moved_it_reads_what_the_whole_circuit_does(
    lab: SimpleNamespace, pull_in: float
) -> None:
    diode = Element("d", "one", "earth", 1.0, law=Law.DIODE, shape=(1e-9, 0.035, 0.0))
    found, pulls = read(lab, pull_in, ("one", "earth"), diode)
    volts = whole_volts(lab, pull_in, diode)
    shown = METER.series[0] * volts / (METER.test_voltage - volts) - METER.zeroed
    assert pulls
    assert found.with_relay_moved == 1
    assert found.ohms[0, 0] == pytest.approx(shown, rel=1e-6)
