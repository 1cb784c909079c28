"""Published circuit problems, solved by the solver.

NEETS Module 1 is NAVEDTRA 14173 (1998); LIEC is Lessons in Electric Circuits, vol. I (Kuphaldt).
"""

from types import SimpleNamespace

import pytest


def series(lab: SimpleNamespace, volts: float, *ohms: float) -> object:
    """Solve resistors in series across a source; they are r0, r1 and so on from plus down."""
    points = ["p0", *(f"p{n + 1}" for n in range(len(ohms) - 1)), "body"]
    resistors = [
        lab.resistor(f"r{n}", points[n], points[n + 1], value) for n, value in enumerate(ohms)
    ]
    return lab.solve(lab.source("e", "p0", "body", volts), *resistors)


def test_three_resistors_in_series(lab: SimpleNamespace) -> None:
    """12 V; 1, 2, 3 ohm: 2.00 A (OpenStax)."""
    assert series(lab, 12.0, 1.0, 2.0, 3.0).current["r0"] == pytest.approx(2.0, rel=1e-6)


@pytest.mark.parametrize("sign", [1.0, -1.0])
def test_a_current_assumed_backwards_comes_out_negative(lab: SimpleNamespace, sign: float) -> None:
    """60 V; 10, 5, 15 ohm: 2 A (NEETS figs 3-24, 3-25)."""
    answer = series(lab, sign * 60.0, 10.0, 5.0, 15.0)
    assert answer.current["r1"] == pytest.approx(sign * 2.0, rel=1e-6)


def test_sources_against_each_other(lab: SimpleNamespace) -> None:
    """180 V against 20 V and 40 V; 60 + 20 ohm: 1.5 A (NEETS fig 3-27)."""
    answer = lab.solve(
        lab.source("e1", "a", "body", 180.0),
        lab.resistor("r1", "a", "b", 60.0),
        lab.source("e2", "b", "c", 20.0),
        lab.resistor("r2", "c", "d", 20.0),
        lab.source("e3", "d", "body", 40.0),
    )
    assert answer.current["r1"] == pytest.approx(1.5, rel=1e-6)


def test_six_resistors_and_three_cells(lab: SimpleNamespace) -> None:
    """0.20 A and 0.30 A meet to 0.50 A; 1.09 W in all (OpenStax University Physics 2, 10.3).

    Circuit from memory: 3 ohm in two with 0.5 V, 8 ohm in three with 2.3 V, 1 ohm with 0.6 V. The
    published currents and watts follow from no other sums.
    """
    answer = lab.solve(
        lab.source("v1", "a", "body", 0.5, 1e-9),
        lab.resistor("r1", "a", "b", 1.0),
        lab.resistor("r4", "b", "top", 2.0),
        lab.source("v3", "c", "body", 2.3, 1e-9),
        lab.resistor("r2", "c", "d", 5.0),
        lab.resistor("r5", "d", "e", 1.0),
        lab.resistor("r6", "e", "top", 2.0),
        lab.source("v2", "body", "f", 0.6, 1e-9),
        lab.resistor("r3", "top", "f", 1.0),
    )
    amps = [answer.current[name] for name in ("r1", "r2", "r3")]
    assert amps == pytest.approx([0.20, 0.30, 0.50], rel=1e-6)
    watts = sum(answer.drop[f"r{n}"] * answer.current[f"r{n}"] for n in range(1, 7))
    assert watts == pytest.approx(1.09, rel=1e-6)


def test_voltages_and_powers_of_a_series_circuit(lab: SimpleNamespace) -> None:
    """90 V; 5, 10, 15 ohm: 3 A; 15, 30, 45 V; 45, 90, 135 W (NEETS fig 3-20)."""
    answer = series(lab, 90.0, 5.0, 10.0, 15.0)
    volts = [answer.drop[f"r{n}"] for n in range(3)]
    assert volts == pytest.approx([15.0, 30.0, 45.0], rel=1e-6)
    powers = [answer.drop[f"r{n}"] * answer.current[f"r{n}"] for n in range(3)]
    assert powers == pytest.approx([45.0, 90.0, 135.0], rel=1e-6)
    assert -90.0 * answer.current["e"] == pytest.approx(270.0, rel=1e-6)


def test_drops_of_a_known_current(lab: SimpleNamespace) -> None:
    """50, 15, 35 ohm at 2 A: 100, 30, 70 V (US Army IT0334)."""
    answer = series(lab, 200.0, 50.0, 15.0, 35.0)
    assert [answer.drop[f"r{n}"] for n in range(3)] == pytest.approx([100.0, 30.0, 70.0], rel=1e-6)


def test_three_resistors_in_parallel(lab: SimpleNamespace) -> None:
    """20, 30 and 40 ohm: 9.23 ohm (NEETS fig 3-46)."""
    resistors = [lab.resistor(f"r{n}", "a", "body", n) for n in (20.0, 30.0, 40.0)]
    answer = lab.solve(lab.source("e", "a", "body", 1.0), *resistors)
    assert -1.0 / answer.current["e"] == pytest.approx(9.23, abs=0.005)


@pytest.mark.parametrize(
    ("load", "amps", "watts"),
    [
        (1e-6, 20.0, 0.0),
        (5.0, 10.0, 500.0),
        (10.0, 6.7, 446.9),
        (20.0, 4.0, 320.0),
        (50.0, 1.9, 172.7),
    ],
)
def test_a_source_of_five_ohms(
    lab: SimpleNamespace, load: float, amps: float, watts: float
) -> None:
    """100 V (NEETS fig 3-36), which squares rounded amperes: 5 %."""
    answer = lab.solve(
        lab.source("e", "a", "body", 100.0, 5.0), lab.resistor("r", "a", "body", load)
    )
    assert answer.current["r"] == pytest.approx(amps, rel=0.05)
    assert answer.current["r"] * answer.drop["r"] == pytest.approx(watts, rel=0.05, abs=1e-3)


def test_an_open_fuse_has_the_whole_supply_across_it(lab: SimpleNamespace) -> None:
    """5 V circuit: nothing across the resistors (NEETS fig 3-32)."""
    fuse = lab.elements("blade fuse", name="F1", rating=5.0, faults=(("open", None, None),))
    answer = lab.solve(
        lab.source("e", "F1.1", "body", 5.0),
        *fuse,
        lab.resistor("r1", "F1.2", "a", 10.0),
        lab.resistor("r2", "a", "body", 10.0),
    )
    assert answer.drop["F1"] == pytest.approx(5.0, rel=1e-6)
    assert (answer.drop["r1"], answer.drop["r2"]) == (0.0, 0.0)


def test_terminal_voltage_of_a_source(lab: SimpleNamespace) -> None:
    """15 V, 1 ohm inside, 2 A: 13 V (NEETS fig 3-35)."""
    load = lab.resistor("r", "a", "body", 6.5)
    answer = lab.solve(lab.source("e", "a", "body", 15.0, 1.0), load)
    assert answer.current["r"] == pytest.approx(2.0, rel=1e-6)
    assert answer.volts["a"] == pytest.approx(13.0, rel=1e-6)


def test_a_wheatstone_bridge_in_balance(lab: SimpleNamespace) -> None:
    """R3 = 2500 ohm, ratio 0.625: Rx = 1.56 kohm (OpenStax CP 2e, null measurements)."""

    def between(unknown: float) -> float:
        answer = lab.solve(
            lab.source("e", "top", "body", 12.0),
            lab.resistor("r1", "top", "left", 1000.0),
            lab.resistor("r2", "left", "body", 625.0),
            lab.resistor("r3", "top", "right", 2500.0),
            lab.resistor("rx", "right", "body", unknown),
            red="left",
            black="right",
            meter=(10e6, 0.0),
        )
        return answer.drop["meter"]

    assert between(1562.5) == pytest.approx(0.0, abs=1e-8)
    assert between(1550.0) > 1e-3 > -1e-3 > between(1575.0)


def test_a_motor_starting_and_running(lab: SimpleNamespace) -> None:
    """6.00 V, 4.50 V back emf, 3.00 A running: 12.0 A starting (OpenStax CP 2e, back emf)."""

    def amps(back: float) -> float:
        motor = lab.source("motor", "a", "body", back, 0.5)
        return lab.solve(lab.source("e", "a", "body", 6.0), motor).current["motor"]

    assert amps(4.5) == pytest.approx(3.0, rel=1e-5)
    assert amps(0.0) == pytest.approx(12.0, rel=1e-5)


def test_a_voltmeter_loads_what_it_measures(lab: SimpleNamespace) -> None:
    """24 V across 2 x 250 Mohm: 12 V, of which a 10 Mohm meter shows 0.8889 V (LIEC ch. 8).

    The leak of 1 pS from every point takes 2 in 100 000 of that, and 1 in 8000 of the 12 V.
    """
    divider = (
        lab.source("e", "top", "body", 24.0),
        lab.resistor("upper", "top", "mid", 250e6),
        lab.resistor("lower", "mid", "body", 250e6),
    )
    assert lab.solve(*divider).volts["mid"] == pytest.approx(12.0, rel=2e-4)
    loaded = lab.solve(*divider, red="mid", black="body", meter=(10e6, 0.0))
    assert loaded.drop["meter"] == pytest.approx(24 * 9.615e6 / 259.615e6, rel=2e-4)
    assert loaded.drop["meter"] == pytest.approx(0.8889, abs=5e-5)


@pytest.mark.parametrize(("meter", "together"), [(100e3, 50e3), (5e3, 4.76e3)])
def test_ohms_a_volt(lab: SimpleNamespace, meter: float, together: float) -> None:
    """20 and 1 kohm/V on the 5 V range across 100 kohm (US Army MM3246, solutions)."""
    answer = lab.solve(
        lab.source("e", "a", "body", 1.0, 1e-3),
        lab.resistor("r", "a", "body", 100e3),
        red="a",
        black="body",
        meter=(meter, 0.0),
    )
    assert -1 / answer.current["e"] == pytest.approx(together, rel=2e-3)


def test_an_ammeter_takes_its_own_share(lab: SimpleNamespace) -> None:
    """0.0200 ohm into 10.00 ohm: -0.20 % (OpenStax College Physics 2e)."""
    without = series(lab, 10.0, 10.0).current["r0"]
    with_meter = series(lab, 10.0, 0.02, 10.0).current["r0"]
    assert with_meter / without - 1 == pytest.approx(-0.002, abs=5e-6)
