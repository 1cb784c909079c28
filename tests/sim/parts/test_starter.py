"""Starter. Outside values.

On-vehicle maxima where no data are at hand, four cylinders: 150 to 185 A (a textbook page, title
not shown). OpenStax College Physics 2e: a starter takes 150 A at 11.0 V. US Army TM
5-3820-256-24-4: at least 9.6 V at the starter while cranking (reprints an engine maker's text).
"""

from types import SimpleNamespace

import pytest

from sim.errors import QuantityError
from sim.parts.values import check_values


def starter(lab: SimpleNamespace, *faults: tuple, **how: object) -> object:
    """Solve a starter on a sound battery with its cables; `key` is the state of 50."""
    key, closed = how.pop("key", True), how.pop("closed", 0)
    battery = {"name": "B1", "cold_cranking": 450.0, "charge": how.pop("charge", 0.9)}
    return lab.solve(
        *lab.elements("battery", **battery),
        lab.resistor("plus cable", "B1.+", "M1.30", 1.5e-3),
        lab.resistor("engine strap", "M1.31", "body", 5e-4),
        lab.resistor("minus cable", "B1.-", "body", 1e-3),
        lab.resistor("key", "B1.+", "M1.50", how.pop("feed", 0.03) if key else 1e9),
        *lab.elements("starter", name="M1", faults=faults, **how),
        closed=(closed,),
    )


def terminal(answer: object) -> float:
    return answer.volts["M1.30"] - answer.volts["M1.31"]


def test_cranking_current_of_four_cylinders(lab: SimpleNamespace) -> None:
    answer = starter(lab)
    assert answer.closed["M1"]
    assert 150.0 <= answer.current["M1 motor"] <= 185.0
    assert 9.6 <= terminal(answer) <= 11.2
    assert 10.0 <= answer.drop["B1"] <= 11.5


@pytest.mark.parametrize("volts", [10.0, 10.5, 11.0])
def test_cranking_current_at_10_to_11_volts(lab: SimpleNamespace, volts: float) -> None:
    answer = lab.solve(
        lab.source("supply", "M1.30", "body", volts),
        lab.resistor("signal", "M1.30", "M1.50", 0.02),
        lab.resistor("ground", "M1.31", "body", 1e-6),
        *lab.elements("starter", name="M1"),
    )
    assert 150.0 <= answer.current["M1 motor"] <= 185.0


@pytest.mark.parametrize(
    ("cylinders", "amps", "least", "most"), [(6, 180.0, 160.0, 200.0), (8, 215.0, 185.0, 250.0)]
)
def test_cranking_current_of_larger_engines(
    lab: SimpleNamespace, cylinders: int, amps: float, least: float, most: float
) -> None:
    """Six and eight cylinders, by the same textbook page; a larger starter takes more amperes."""
    values = {"current": amps, "stall_current": 480.0 / 165.0 * amps, "charge": 0.95}
    drawn = starter(lab, **values).current["M1 motor"]
    assert least <= drawn <= most, cylinders


def test_150_amperes_at_11_volts(lab: SimpleNamespace) -> None:
    """OpenStax College Physics 2e: 0.0733 ohm, seen from the terminals of a starter that turns."""
    answer = lab.solve(
        lab.source("supply", "M1.30", "body", 11.0),
        lab.resistor("signal", "M1.30", "M1.50", 0.02),
        lab.resistor("ground", "M1.31", "body", 1e-6),
        *lab.elements("starter", name="M1", current=150.0, voltage=11.0),
    )
    whole = -answer.current["supply"]
    assert 11.0 / answer.current["M1 motor"] == pytest.approx(7.33e-2, rel=0.02)
    assert whole > answer.current["M1 motor"]


def test_seized_takes_far_more_at_far_less(lab: SimpleNamespace) -> None:
    sound, seized = starter(lab), starter(lab, ("seized", None, None))
    assert seized.current["M1 motor"] > 2.0 * sound.current["M1 motor"]
    assert terminal(seized) < 9.6 < terminal(sound)


@pytest.mark.parametrize(
    ("fault", "pulls", "least", "most"),
    [
        (("solenoid open", None, None), False, 0.0, 0.0),
        (("pull-in open", None, None), False, 0.0, 1e-9),
        (("open", "50", None), False, 0.0, 1e-9),
        (("open", "30", None), None, 0.0, 50.0),
        (("contact open", None, None), True, 20.0, 50.0),
        (("contact burnt", None, 0.1), True, 60.0, 130.0),
        (("high resistance", "30", 0.02), True, 60.0, 150.0),
        (("open", None, None), False, 0.0, 0.0),
        (("dead spot", None, None), False, 0.0, 0.0),
        (("worn brushes", None, 0.05), True, 90.0, 140.0),
        (("not engaging", None, None), True, 40.0, 90.0),
        (("stiff", None, 0.5), True, 190.0, 260.0),
        (("shorted turns", None, 0.3), True, 190.0, 400.0),
    ],
)
def test_what_its_faults_draw(
    lab: SimpleNamespace, fault: tuple, *, pulls: bool | None, least: float, most: float
) -> None:
    answer = starter(lab, fault)
    if pulls is not None:
        assert answer.status == 0
        assert answer.closed["M1"] == pulls
    assert least - 1e-9 <= abs(answer.current["M1 motor"]) <= most + 1e-9


def test_it_pulls_in_at_its_voltage_and_not_below(lab: SimpleNamespace) -> None:
    """At 50, with the contact's supply apart."""
    for volts, closed in ((6.8, False), (7.2, True)):
        answer = lab.solve(
            lab.source("signal", "M1.50b", "body", volts),
            lab.resistor("ground", "M1.31", "body", 1e-9),
            lab.resistor("30 dead", "M1.30", "body", 1e9),
            *lab.elements("starter", name="M1"),
        )
        assert answer.closed["M1"] == closed


def test_released_it_drops_out_though_current_flows_back_through_both_windings(
    lab: SimpleNamespace,
) -> None:
    answer = starter(lab, key=False, closed=1)
    assert answer.status == 0
    assert not answer.closed["M1"]
    assert abs(answer.current["M1 motor"]) < 1e-6


def test_with_the_hold_in_winding_open_it_chatters(lab: SimpleNamespace) -> None:
    answer = starter(lab, ("hold-in open", None, None))
    assert answer.status != 0


def test_a_bad_start_signal_does_not_pull_it_in(lab: SimpleNamespace) -> None:
    assert not starter(lab, feed=0.6).closed["M1"]


def test_its_welded_contact_cranks_without_a_key(lab: SimpleNamespace) -> None:
    answer = starter(lab, ("stuck closed", None, None), key=False)
    assert answer.current["M1 motor"] > 150.0


def test_the_engine_block_s_ground_carries_what_30_does(lab: SimpleNamespace) -> None:
    answer = starter(lab)
    total = answer.current["plus cable"] + answer.current["key"]
    assert answer.current["engine strap"] == pytest.approx(total, rel=1e-9)


def test_thresholds_out_of_order_are_refused(lab: SimpleNamespace) -> None:
    part = lab.part("starter", **{"pull-in": 0.5, "drop-out": 3.0, "hold-in winding": 0.3})
    with pytest.raises(QuantityError, match="drop-out must lie below pull-in"):
        check_values(part)
