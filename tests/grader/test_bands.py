"""Bands: what straddles is merged, what floats is nothing, what is listed proves nothing."""

import numpy as np
import pytest

from grader.bands import band_of, split
from sim.action import Action, Reading, action_from_json
from sim.observe import Outcome

VOLTS = Action("measure", "volts", "F7.2b", "body")


def outcome(numbers: list[float], floating: list[bool] | None = None) -> Outcome:
    count = len(numbers)
    loose = np.array(floating or [False] * count)
    return Outcome(np.array(numbers), loose, None, ((),) * count, np.array([], dtype=int))


def test_three_bands_of_volts():
    parts = split(VOLTS, outcome([0.01, 6.0, 12.3]), 1, 0.0)
    assert parts.labels() == ("nothing", "part", "supply")


def test_a_suspect_that_may_show_two_bands_joins_them_for_everybody():
    # two corners a suspect: the second may show part or supply
    parts = split(VOLTS, outcome([0.0, 0.0, 10.0, 11.0, 12.3, 12.4, 6.0, 6.1]), 2, 0.0)
    assert parts.labels() == ("nothing", "part or supply", "part or supply", "part or supply")


def test_the_meters_accuracy_widens_a_reading():
    # 10.45 V in the 60 V range: +-(0.5 % + 2 counts of 10 mV) reaches over 10.5 V
    assert split(VOLTS, outcome([10.45, 0.0]), 1, 0.0).labels()[0] == "part or supply"
    assert split(VOLTS, outcome([10.40, 0.0]), 1, 0.0).labels()[0] == "part"


def test_a_floating_wire_is_nothing_whatever_it_drifts_to():
    parts = split(VOLTS, outcome([1.5, 12.0], [True, False]), 1, 0.0)
    assert parts.labels() == ("nothing", "supply")
    assert band_of(VOLTS, Reading("1.500", "V", "6", steady=False), 0.0) == "nothing"


@pytest.mark.parametrize(
    ("reading", "band"),
    [
        (Reading("-12.30", "V", "60"), "supply"),
        (Reading("3.2", "mV", "600"), "nothing"),
        (Reading("8.47", "V", "60"), "part"),
        (Reading("OL", "V", "600"), "supply"),
    ],
)
def test_what_was_shown_falls_into_its_band(reading, band):
    assert band_of(VOLTS, reading, 0.0) == band


def test_currents_are_normal_by_the_healthy_circuit():
    clamp = Action("clamp", "wire 8")
    assert split(clamp, outcome([0.0, 5.0, 12.5]), 1, 13.0).labels() == ("none", "some", "normal")
    # a circuit that draws next to nothing when healthy has no "normal"
    assert split(clamp, outcome([0.0, 5.0]), 1, 0.14).labels() == ("none", "some")


def test_ohms_are_for_opens_and_shorts():
    ohms = Action("measure", "ohms", "E9.1", "body")
    labels = split(ohms, outcome([0.9, 85.0, np.inf]), 1, 0.0).labels()
    assert labels == ("short", "some", "open")


def test_words_are_bands_of_their_own():
    count = 3
    seen = Outcome(
        None, np.zeros(count, bool), ("clicks", "silent", "clicks"), ((),) * 3, np.array([])
    )
    assert split(Action("listen", "K3"), seen, 1, 0.0).member.tolist() == [0, 1, 0]


FEED = {"red": "F7.2b", "black": "body"}


@pytest.mark.parametrize(
    ("do", "number", "label"),
    [
        ({"measure": "AC volts", **FEED}, 6.0, "part"),
        ({"measure": "milliamps", **FEED}, 0.02, "none"),
        ({"load": "55 W", **FEED}, 11.9, "supply"),
        ({"clamp": ["wire 8", "wire 9"]}, 0.0, "none"),
    ],
    ids=str,
)
def test_every_instrument_with_volts_or_amps_has_their_bands(do, number, label):
    assert split(action_from_json(do), outcome([number]), 1, 13.0).labels() == (label,)
