"""Plug-in relay. Values: a maker's 12 V plug-in mini relay (TE Power Relay B data sheet, 23 degC).

Coil 85 ohm +-10 %, operates at 8 V or less, releases at 1.5 V or more, contact drop at 10 A
typically 15 mV and at most 200 mV.
"""

import math
from types import SimpleNamespace

import pytest

from sim.parts import FAMILIES


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


def test_the_other_coil_of_the_same_relay(lab: SimpleNamespace) -> None:
    """Option 002 of the same sheet: 75 ohm, 1.9 W, operates by 6.5 V, releases above 1.0 V."""
    values = {"coil": 75.0, "pull-in": 6.5, "drop-out": 1.0}
    answer = drive(lab, 12.0, **values)
    assert answer.current["K1 coil"] * answer.drop["K1 coil"] == pytest.approx(1.9, abs=0.03)
    for volts, before, after in ((6.51, 0, 1), (6.49, 0, 0), (1.01, 1, 1), (0.99, 1, 0)):
        assert drive(lab, volts, before, **values).closed["K1"] == bool(after)


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


# Second contacts


def two_contacts(lab: SimpleNamespace, kind: str, volts: float, *faults: tuple) -> tuple:
    """Give whether 87 and the second terminal feed their loads, with a voltage on the coil."""
    second = {"changeover": "87a", "double": "87b"}[kind]
    answer = lab.solve(
        *relay(lab, contact=kind, faults=faults),
        lab.source("coil supply", "coil", "body", volts),
        lab.source("supply", "feed", "body", 12.0),
        lab.resistor("lamp", "load", "body", 1.2),
        lab.resistor("second lamp", f"K1.{second}", "body", 1.2),
    )
    assert answer.status == 0
    return answer.current["lamp"] > 9.0, answer.current["second lamp"] > 9.0


@pytest.mark.parametrize(
    ("kind", "faults", "at_rest", "energised"),
    [
        ("changeover", (), (False, True), (True, False)),
        ("double", (), (False, False), (True, True)),
        ("changeover", (("stuck closed", None, None),), (True, False), (True, False)),
        ("changeover", (("stuck closed", "87a", None),), (False, True), (False, True)),
        ("changeover", (("contact open", None, None),), (False, True), (False, False)),
        ("changeover", (("contact open", "87a", None),), (False, False), (True, False)),
        ("changeover", (("coil open", None, None),), (False, True), (False, True)),
        ("changeover", (("wrong part", None, None),), (False, False), (True, False)),
        ("changeover", (("open", "87a", None),), (False, False), (True, False)),
        ("double", (("contact open", "87b", None),), (False, False), (True, False)),
        ("double", (("stuck closed", None, None),), (True, False), (True, True)),
        ("double", (("stuck closed", "87b", None),), (False, True), (True, True)),
        ("double", (("wrong part", None, None),), (False, True), (True, False)),
    ],
)
def test_what_two_contacts_feed(
    lab: SimpleNamespace, kind: str, faults: tuple, at_rest: tuple, energised: tuple
) -> None:
    """De-energised 30 lies on 87a, energised on 87 (DIN 72552, 1971-03); 87b goes with 87."""
    assert two_contacts(lab, kind, 0.0, *faults) == at_rest
    assert two_contacts(lab, kind, 12.0, *faults) == energised


def test_terminals_by_contact(lab: SimpleNamespace) -> None:
    pins = {
        kind: FAMILIES["relay"].pins(lab.part("relay", contact=kind))
        for kind in ("normally open", "normally closed", "changeover", "double")
    }
    assert pins["normally open"] == pins["normally closed"] == ("30", "87", "85", "86")
    assert pins["changeover"] == ("30", "87", "85", "86", "87a")
    assert pins["double"] == ("30", "87", "85", "86", "87b")


@pytest.mark.parametrize(
    ("volts", "name", "typical", "most"),
    [(12.0, "K1 contact", 15e-3, 200e-3), (0.0, "K1 second contact", 20e-3, 250e-3)],
)
def test_contact_drops_of_a_changeover_relay(
    lab: SimpleNamespace, volts: float, name: str, typical: float, most: float
) -> None:
    """At 10 A: closed when energised 15 mV typical, 200 mV at most; at rest 20 mV, 250 mV."""
    terminal = "load" if volts else "K1.87a"
    answer = lab.solve(
        *relay(lab, contact="changeover"),
        lab.source("coil supply", "coil", "body", volts),
        lab.source("supply", "feed", "body", 12.0),
        lab.resistor("lamp", terminal, "body", 1.2),
    )
    drop = answer.drop[name] * 10.0 / answer.current[name]
    assert drop == pytest.approx(typical, rel=1e-6)
    assert drop < most


# Suppression and inductance


def test_a_suppression_resistor_lies_across_the_coil(lab: SimpleNamespace) -> None:
    """90 ohm with 680 ohm are 79 ohm together (a maker's plug-in mini relay, from memory)."""
    answer = drive(lab, 12.0, suppression="resistor", coil=90.0)
    amps = answer.current["coil supply"]
    assert 12.0 / abs(amps) == pytest.approx(79.0, abs=0.6)
    assert answer.closed["K1"]
    gone = drive(
        lab, 12.0, suppression="resistor", coil=90.0, faults=(("resistor open", None, None),)
    )
    assert 12.0 / abs(gone.current["coil supply"]) == pytest.approx(90.0, abs=0.1)


def test_a_four_terminal_relay_keeps_its_elements(lab: SimpleNamespace) -> None:
    """Shipped circuits are solved in this order; their readings stand in lessons."""
    names = [element.name for element in lab.elements("relay", name="K1", suppression="diode")]
    assert names == [
        "K1.30",
        "K1 contact",
        "K1.87",
        "K1.86",
        "K1 coil",
        "K1 diode",
        "K1 diode short",
        "K1.85",
    ]


def test_the_coil_takes_milliseconds(lab: SimpleNamespace) -> None:
    """L / R; a mini relay operates within about 10 ms (common practice, no source)."""
    coil = next(e for e in lab.elements("relay", name="K1") if e.name == "K1 coil")
    constant = coil.motion.inductance * coil.conductance
    assert constant == pytest.approx(0.3 / 85.0)
    assert constant * math.log(1 / (1 - 7.0 / 12.0)) < 10e-3


def test_a_diode_holds_the_coil_for_longer(lab: SimpleNamespace) -> None:
    """Release with a diode takes three times as long (Finder 99 series listing): 2 to 5 times.

    From 12 V down to drop-out the current dies along L di/dt = -R i - U, with U = 0.85 V of the
    diode, or as fast as the contact's own 2 ms without one (common practice, no source).
    """
    elements = {e.name: e for e in lab.elements("relay", name="K1", suppression="diode")}
    coil = elements["K1 coil"]
    start, end, drop = 12.0, 2.5, 0.85
    constant = coil.motion.inductance * coil.conductance
    dying = constant * math.log((start + drop) / (end + drop))
    assert 2.0 < (dying + 2e-3) / 2e-3 < 5.0
