"""The battery: open-circuit voltage, internal resistance, and what a load makes of it."""

from types import SimpleNamespace

import pytest

from sim.parts.battery import internal_resistance, open_circuit_voltage


@pytest.mark.parametrize(
    ("charge", "volts"), [(1.0, 12.65), (0.75, 12.45), (0.5, 12.24), (0.25, 12.06), (0.0, 11.89)]
)
def test_open_circuit_voltage_of_the_bci_table(charge: float, volts: float) -> None:
    """Battery Council International, flooded battery at 26.7 degC, as credited; +-0.05 V."""
    assert open_circuit_voltage(charge) == pytest.approx(volts, abs=0.05)


@pytest.mark.parametrize(("charge", "volts"), [(0.25, 12.0), (0.5, 12.2), (0.75, 12.4)])
def test_open_circuit_voltage_of_the_army_table(charge: float, volts: float) -> None:
    """US Army TM 5-3805-262-20, p. 5-142; it lies up to 0.06 V under the other table."""
    assert open_circuit_voltage(charge) == pytest.approx(volts, abs=0.061)


def test_a_full_battery_is_above_the_army_s_limit() -> None:
    assert open_circuit_voltage(1.0) >= 12.6


def test_voltage_grows_with_charge() -> None:
    volts = [open_circuit_voltage(step / 50) for step in range(51)]
    assert volts == sorted(volts)
    assert len(set(volts)) == len(volts)


def test_six_charged_cells() -> None:
    """About 2.04 V each (Lessons in Electric Circuits I, ch. 11): between 12.2 and 12.7 V."""
    assert 12.2 < open_circuit_voltage(0.75) < open_circuit_voltage(1.0) < 12.7
    assert open_circuit_voltage(0.5) / 6 == pytest.approx(2.04, abs=0.01)


@pytest.mark.parametrize("rating", [320.0, 640.0, 900.0])
def test_the_cold_cranking_current_leaves_7_2_volts(lab: SimpleNamespace, rating: float) -> None:
    """SAE J537: a full battery at -18 degC gives its rated current at 7.2 V or more."""
    battery = lab.elements(
        "battery", name="B1", cold_cranking=rating, charge=1.0, temperature=-18.0
    )
    stud = lab.resistor("stud", "B1.-", "body", 1e-9)
    answer = lab.solve(*battery, stud, lab.resistor("load", "B1.+", "B1.-", 7.2 / rating))
    assert answer.current["load"] == pytest.approx(rating, rel=1e-6)
    assert answer.drop["load"] == pytest.approx(7.2, rel=1e-6)


def test_a_warm_battery_has_half_the_resistance() -> None:
    """Common practice, no source."""
    cold, warm = internal_resistance(600.0, -18.0), internal_resistance(600.0, 25.0)
    assert warm == pytest.approx(cold / 2)
    assert internal_resistance(600.0, -40.0) == cold
    assert cold > internal_resistance(600.0, 0.0) > warm


@pytest.mark.parametrize(
    ("inside", "load", "amps", "volts"),
    [(0.1, 10.0, 1.188, 11.9), (0.1, 0.5, 20.0, 10.0), (0.5, 0.5, 12.0, 6.0)],
)
def test_terminal_voltage_under_load(
    lab: SimpleNamespace, inside: float, load: float, amps: float, volts: float
) -> None:
    """OpenStax College Physics 2e, terminal voltage: 12.0 V behind 0.100 and 0.500 ohm."""
    battery = lab.source("battery", "plus", "body", 12.0, inside)
    answer = lab.solve(battery, lab.resistor("load", "plus", "body", load))
    assert answer.current["load"] == pytest.approx(amps, rel=5e-4)
    assert answer.volts["plus"] == pytest.approx(volts, rel=2e-3)


def test_a_bad_cell_shows_only_under_load(lab: SimpleNamespace) -> None:
    def volts(load: float, *faults: tuple) -> float:
        battery = lab.elements("battery", name="B1", charge=0.85, faults=faults)
        stud = lab.resistor("stud", "B1.-", "body", 1e-9)
        ohms = lab.resistor("load", "B1.+", "B1.-", load)
        return lab.solve(*battery, stud, ohms).volts["B1.+"]

    bad = ("high resistance", None, 0.08)
    assert volts(1e6, bad) == pytest.approx(volts(1e6), abs=1e-5)
    assert volts(1.0, bad) < volts(1.0) - 0.8


def test_it_gives_as_ever_and_takes_what_it_accepts(lab: SimpleNamespace) -> None:
    """Closed form: at 14.4 V across itself behind its own resistance, 12 A; giving, 1 / R."""
    values = {"name": "B1", "charge": 0.75, "cold_cranking": 600.0}
    ohms = internal_resistance(600.0, 20.0)
    for volts, accepts, amps in (
        (14.4, 12.0, 1.95 / (1.95 / 12.0 + ohms)),
        (11.0, 12.0, -1.45 / ohms),
        (11.0, 0.0, -1.45 / ohms),
        (14.4, 0.0, 1.95 / ohms),
    ):
        answer = lab.solve(
            lab.resistor("stud", "B1.-", "body", 1e-9),
            lab.source("outside", "B1.+", "body", volts, 1e-6),
            *lab.elements("battery", accepts=accepts, **values),
        )
        assert answer.status == 0
        assert answer.current["B1"] == pytest.approx(amps, rel=1e-3)
