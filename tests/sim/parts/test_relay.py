"""Plug-in relay. Values: a maker's 12 V plug-in mini relay (TE Power Relay B data sheet, 23 degC).

Coil 85 ohm +-10 %, operates at 8 V or less, releases at 1.5 V or more, contact drop at 10 A
typically 15 mV and at most 200 mV.
"""

from types import SimpleNamespace

import pytest


def relay(lab: SimpleNamespace, **values: object) -> tuple:
    """Give the elements of a relay between `coil` and the body, its contact from feed to load."""
    straps = (
        lab.resistor("86 strap", "coil", "K1.86", 1e-6),
        lab.resistor("85 strap", "K1.85", "body", 1e-6),
        lab.resistor("30 strap", "feed", "K1.30", 1e-6),
        lab.resistor("87 strap", "K1.87", "load", 1e-6),
    )
    return (*lab.elements("relay", name="K1", **values), *straps)


def drive(lab: SimpleNamespace, volts: float, closed: int = 0, **values: object) -> object:
    """Put a voltage on the coil; the contact feeds 10 A from a supply of its own."""
    return lab.solve(
        *relay(lab, **values),
        lab.source("coil supply", "coil", "body", volts),
        lab.source("supply", "feed", "body", 12.0),
        lab.resistor("lamp", "load", "body", 1.2),
        closed=(closed,),
    )


def test_coil_current_at_12_volts(lab: SimpleNamespace) -> None:
    """141 mA."""
    assert drive(lab, 12.0).current["K1 coil"] == pytest.approx(0.141, abs=0.001)


def test_coil_power(lab: SimpleNamespace) -> None:
    """1.7 W."""
    answer = drive(lab, 12.0)
    assert answer.current["K1 coil"] * answer.drop["K1 coil"] == pytest.approx(1.7, abs=0.02)


def test_it_operates_by_8_volts_and_releases_above_1_5(lab: SimpleNamespace) -> None:
    steps = [tenth / 10 for tenth in range(121)]
    pull_in = next(volts for volts in steps if drive(lab, volts).closed["K1"])
    drop_out = next(volts for volts in reversed(steps) if not drive(lab, volts, 1).closed["K1"])
    assert 1.5 <= drop_out < pull_in <= 8.0


@pytest.mark.parametrize("before", [0, 1])
def test_between_drop_out_and_pull_in_it_stays(lab: SimpleNamespace, before: int) -> None:
    answer = drive(lab, 5.0, before)
    assert answer.closed["K1"] == bool(before)
    assert (answer.current["lamp"] > 9.0) == bool(before)


@pytest.mark.parametrize("volts", [12.0, -12.0])
def test_a_coil_without_a_diode_has_no_polarity(lab: SimpleNamespace, volts: float) -> None:
    assert drive(lab, volts).closed["K1"]


def test_contact_drop_at_10_amperes(lab: SimpleNamespace) -> None:
    answer = drive(lab, 12.0)
    assert answer.current["lamp"] == pytest.approx(10.0, rel=0.01)
    assert answer.drop["K1 contact"] == pytest.approx(15e-3, rel=0.02)


@pytest.mark.parametrize("ohms", [0.5, 2.0])
def test_a_burnt_contact_is_beyond_the_maker_s_largest_drop(
    lab: SimpleNamespace, ohms: float
) -> None:
    assert drive(lab, 12.0, faults=(("contact burnt", None, ohms),)).drop["K1 contact"] > 0.2


@pytest.mark.parametrize(
    ("faults", "contact", "at_rest", "energised"),
    [
        ((), "normally open", False, True),
        ((), "normally closed", True, False),
        ((("wrong part", None, None),), "normally open", True, False),
        ((("wrong part", None, None),), "normally closed", False, True),
        ((("stuck closed", None, None),), "normally open", True, True),
        ((("contact open", None, None),), "normally open", False, False),
        ((("contact open", None, None),), "normally closed", False, False),
        ((("coil open", None, None),), "normally open", False, False),
        ((("coil open", None, None),), "normally closed", True, True),
        ((("open", "85", None),), "normally open", False, False),
        ((("open", "30", None),), "normally closed", False, False),
    ],
)
def test_what_the_contact_feeds(
    lab: SimpleNamespace, faults: tuple, contact: str, *, at_rest: bool, energised: bool
) -> None:
    """Contact closed at rest: DIN 72552 (1971-03), de-energised 30 lies on 87a."""
    for volts, feeds in ((0.0, at_rest), (12.0, energised)):
        answer = drive(lab, volts, faults=faults, contact=contact)
        assert answer.status == 0
        assert (answer.current["lamp"] > 9.0) == feeds


def test_the_diode_blocks_in_service_and_conducts_the_wrong_way_round(lab: SimpleNamespace) -> None:
    """Its cathode is at 86, the feed."""
    assert abs(drive(lab, 12.0, suppression="diode").current["K1 diode"]) < 1e-6
    weak = lab.source("coil supply", "coil", "body", -12.0, 10.0)
    answer = lab.solve(*relay(lab, suppression="diode"), weak, closed=(0,))
    assert answer.current["K1 diode"] == pytest.approx(1.1, abs=0.1)
    assert 0.6 < answer.drop["K1 diode"] < 1.1
    assert not answer.closed["K1"]


def test_a_shorted_diode_takes_the_current_past_the_coil(lab: SimpleNamespace) -> None:
    weak = lab.source("coil supply", "coil", "body", 12.0, 1.0)
    answer = lab.solve(
        *relay(lab, suppression="diode", faults=(("diode shorted", None, None),)), weak
    )
    assert abs(answer.current["K1 diode short"]) > 10.0
    assert not answer.closed["K1"]


def test_a_coil_through_its_own_closed_contact_never_comes_to_rest(lab: SimpleNamespace) -> None:
    buzzer = relay(lab, contact="normally closed")
    loop = lab.resistor("loop", "load", "coil", 1e-3)
    answer = lab.solve(*buzzer, loop, lab.source("supply", "feed", "body", 12.0))
    error = answer.solver.explain(answer.solution, 0)
    assert answer.status != 0
    assert "never comes to rest" in str(error)
    assert "\n" not in str(error)


def test_a_holding_relay_stays_in_by_its_own_contact(lab: SimpleNamespace) -> None:
    """Fed through its own open contact: it keeps whichever state it was in."""
    loop = lab.resistor("loop", "load", "coil", 1e-3)
    for before in (0, 1):
        answer = lab.solve(
            *relay(lab), loop, lab.source("supply", "feed", "body", 12.0), closed=(before,)
        )
        assert answer.closed["K1"] == bool(before)
