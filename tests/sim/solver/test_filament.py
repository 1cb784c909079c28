"""Filaments that warm up: tungsten by the handbook, the heat they give off, one stage."""

import itertools

import numpy as np
import pytest

from sim.parts import lamp
from sim.solver import filament
from sim.solver.filament import GROWTH, ROOM, given_off, steady_kelvin, warming_lamp
from sim.solver.laws import lamp_current

SHAPE = lamp.filament_shape(12.0, 21.0)
PER_WATT = 1e-3 / lamp.heat_capacity(12.0, 21.0)


@pytest.mark.parametrize(
    ("kelvin", "times"), [(600, 2.34), (1000, 4.40), (2000, 10.03), (3000, 16.29)]
)
def test_tungsten_grows_as_the_handbook_says(kelvin: float, times: float) -> None:
    """R / R(300 K) of tungsten, CRC Handbook, from memory."""
    assert (kelvin / 300.0) ** GROWTH == pytest.approx(times, rel=0.05)


def test_a_lit_filament_is_as_hot_as_filaments_are() -> None:
    """Some 2850 K (OpenStax College Physics 2e, car headlight example: 2830 K above cold)."""
    assert steady_kelvin(12.0, *SHAPE) == pytest.approx(2850.0, rel=0.1)
    assert steady_kelvin(0.0, *SHAPE) == pytest.approx(ROOM, rel=1e-12)
    assert steady_kelvin(-12.0, *SHAPE) == steady_kelvin(12.0, *SHAPE)


def test_it_gives_off_more_than_the_fourth_power_of_its_heat() -> None:
    """T^4 (Stefan and Boltzmann), and tungsten's emissivity rises: T^4 to T^5 in all."""

    def watts(kelvin: float) -> float:
        return given_off(SHAPE[0] * (kelvin / ROOM) ** GROWTH, *SHAPE)[0]

    grown = np.log(watts(2600.0) / watts(2300.0)) / np.log(2600.0 / 2300.0)
    assert 4.0 <= grown <= 5.0


@pytest.mark.parametrize("volts", [0.5, 6.0, 12.0, -14.0])
def test_at_rest_it_gives_off_what_it_takes(volts: float) -> None:
    amps, _slope = lamp_current(volts, *SHAPE)
    assert given_off(volts / amps, *SHAPE)[0] == pytest.approx(volts * amps, rel=1e-9)
    kelvin = float(steady_kelvin(volts, *SHAPE))
    rests = warming_lamp(volts, *SHAPE, PER_WATT, kelvin, 0.0)
    assert rests[0] == pytest.approx(amps, rel=1e-9)
    assert rests[2] == pytest.approx(kelvin, rel=1e-9)


GRID = list(itertools.product([0.0, 0.3, 5.0, -12.0, 30.0], [250.0, ROOM, 900.0, 2600.0]))


@pytest.mark.parametrize(("volts", "past"), GRID)
@pytest.mark.parametrize("per_watt", [1e-6 * PER_WATT, PER_WATT, 30.0 * PER_WATT])
def test_a_stage_obeys_the_heat_equation(volts: float, past: float, per_watt: float) -> None:
    """T = past + D h / C (V^2 / R - P), with R of that T."""
    amps, _slope, kelvin = warming_lamp(volts, *SHAPE, per_watt, past, 1000.0)
    ohms = SHAPE[0] * (max(kelvin, ROOM) / ROOM) ** GROWTH
    assert amps == pytest.approx(volts / ohms, rel=1e-8, abs=1e-12)
    lost = given_off(ohms, *SHAPE)[0]
    assert kelvin == pytest.approx(past + per_watt * (volts * amps - lost), rel=1e-7)


@pytest.mark.parametrize(("volts", "past"), [(6.0, ROOM), (12.0, 900.0), (12.0, 2600.0)])
def test_the_slope_is_the_derivative(volts: float, past: float) -> None:
    def amps(at: float) -> float:
        return warming_lamp(at, *SHAPE, PER_WATT, past, past)[0]

    expected = (amps(volts + 1e-4) - amps(volts - 1e-4)) / 2e-4
    assert warming_lamp(volts, *SHAPE, PER_WATT, past, past)[1] == pytest.approx(expected, rel=1e-4)


@pytest.mark.parametrize("guess", [0.0, 5000.0, np.nan, ROOM])
def test_where_it_begins_does_not_matter(guess: float) -> None:
    amps, slope, kelvin = warming_lamp(12.0, *SHAPE, PER_WATT, 400.0, guess)
    expected = warming_lamp(12.0, *SHAPE, PER_WATT, 400.0, 400.0)
    assert (amps, kelvin) == pytest.approx(expected[::2], rel=1e-9)
    assert slope == pytest.approx(expected[1], rel=1e-5)  # of the last but one of Newton's steps


def test_a_long_stage_ends_on_the_steady_law() -> None:
    found = warming_lamp(9.0, *SHAPE, 1e9 * PER_WATT, ROOM, ROOM)
    assert found[0] == pytest.approx(lamp_current(9.0, *SHAPE)[0], rel=1e-6)


def test_compiled_and_plain_give_the_same_bits() -> None:
    plain = getattr(warming_lamp, "py_func", warming_lamp)
    for volts, past in GRID:
        one = (volts, *SHAPE, PER_WATT, past, 700.0)
        assert plain(*one) == warming_lamp(*one)


def test_part_and_solver_speak_of_the_same_metal() -> None:
    assert (lamp.ROOM, lamp.GROWTH) == (filament.ROOM, filament.GROWTH)
