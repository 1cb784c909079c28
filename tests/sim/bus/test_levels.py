"""Levels on the pair by ISO 11898-2, as TI TCAN1146-Q1 (SLLSF80B) and TCAN1469-Q1 state them.

Dominant at 50 to 65 ohm: H 2.75 to 4.5 V, L 0.5 to 2.25 V, difference 1.5 to 3 V. Recessive: 2 to 3
V each, difference -120 to 12 mV. Receivers: dominant from 0.9 V, recessive to 0.5 V.
"""

from collections.abc import Callable
from dataclasses import replace

import numpy as np
import pytest

from sim.bus.counters import DOMINANT, RECESSIVE, UNSURE
from sim.bus.levels import readings
from tests.sim.bus.conftest import solver


def lines(levels, solution) -> tuple[np.ndarray, np.ndarray]:
    """Give H and L at every transceiver that is alive in the first lane."""
    ports = [port for n, port in enumerate(levels.ports) if levels.alive[0, n]]
    volts = solution.volts[0]
    return volts[[p.high for p in ports]], volts[[p.low for p in ports]]


def test_all_units_with_their_key_on_are_alive_and_no_scan_tool_is(stands: Callable) -> None:
    levels, _standing = stands("")
    alive = {(p.unit, p.second): bool(levels.alive[0, n]) for n, p in enumerate(levels.ports)}
    assert alive == {
        **{(f"A{n}", False): True for n in range(1, 7)},
        ("A3", True): True,
        ("X9", False): False,
    }


def test_recessive_levels_are_those_of_the_standard(stands: Callable) -> None:
    levels, _standing = stands("")
    high, low = lines(levels, levels.quiet)
    assert (high > 2.0).all()
    assert (high < 3.0).all()
    assert (low > 2.0).all()
    assert (low < 3.0).all()
    assert (np.abs(high - low) < 0.012).all()
    assert np.concatenate([high, low]) == pytest.approx(2.5, abs=0.05)


def test_dominant_levels_are_those_of_the_standard(stands: Callable) -> None:
    levels, _standing = stands("")
    for number, port in enumerate(levels.ports):
        if not levels.alive[0, number]:
            continue
        volts = levels.bits[number].volts[0]
        high, low = volts[port.high], volts[port.low]
        assert 2.75 <= high <= 4.5
        assert 0.5 <= low <= 2.25
        assert 1.5 <= high - low <= 3.0
        assert (high, low) == pytest.approx((3.5, 1.5), abs=0.15)


def test_a_bit_on_one_pair_is_not_on_the_other(stands: Callable) -> None:
    levels, _standing = stands("")
    names = [(port.unit, port.second) for port in levels.ports]
    engine = levels.read(levels.bits[names.index(("A1", False))])[0]
    drive = {names.index(one) for one in (("A1", False), ("A2", False), ("A3", False))}
    assert {n for n, read in enumerate(engine) if read == DOMINANT} == drive


def test_every_solution_obeys_kirchhoff(stands: Callable) -> None:
    levels, _standing = stands("", "A5=stuck dominant")
    assert not levels.quiet.status.any()
    assert not any(bit.status.any() for bit in levels.bits)


@pytest.mark.parametrize(
    ("high", "low", "read"),
    [
        (3.5, 1.5, DOMINANT),
        (2.95, 2.05, DOMINANT),
        (2.8, 2.1, UNSURE),
        (2.75, 2.25, RECESSIVE),
        (1.5, 3.5, RECESSIVE),
        (8.0, 7.0, UNSURE),  # common mode above 7 V
        (7.5, 6.4, DOMINANT),
        (-1.0, -3.2, UNSURE),  # below -2 V
    ],
)
def test_receivers_by_their_thresholds_and_common_mode(
    stands: Callable, high: float, low: float, read: int
) -> None:
    """Common mode of ISO 11898-2:2003, -2 to 7 V against the receiver's own ground."""
    levels, _standing = stands("")
    port = levels.ports[0]
    volts = levels.quiet.volts.copy()
    ground = volts[0, port.minus]
    volts[0, port.high], volts[0, port.low] = ground + high, ground + low
    assert readings(levels.ports, replace(levels.quiet, volts=volts))[0, 0] == read


def test_a_unit_without_supply_loads_the_pair_no_more_than_one_unplugged(stands: Callable) -> None:
    """Its transceiver is off the lines, in recessive and in dominant bits."""
    unfed, _ = stands("F3=open")
    apart, _ = stands("", apart=("A2",))
    index = [(p.unit, p.second) for p in unfed.ports].index(("A1", False))
    nodes = [solver().network.node(f"A1.{pin}") for pin in ("CANH", "CANL")]
    for one, other in ((unfed.quiet, apart.quiet), (unfed.bits[index], apart.bits[index])):
        assert one.volts[0, nodes] == pytest.approx(other.volts[0, nodes], abs=1e-6)
