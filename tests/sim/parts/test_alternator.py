"""Alternator. Outside values.

Charging voltage with the engine running 13.5 to 14.8 V (marine generator maker's manual 13.5 to
14.5 V; 13.8 to 14.7 V from memory). Ripple of a six-pulse bridge into a resistance: from the peak
down to cos(30 deg) of it, so 13.4 % of the peak, 14.0 % of the mean, mean 3 / pi of the peak: the
textbook figures of uncontrolled three-phase rectifiers.
"""

import math
from collections.abc import Callable
from dataclasses import replace
from types import SimpleNamespace

import numpy as np
import pytest

from sim.parts.alternator import available_current
from sim.parts.family import Element, Law, Wave
from sim.parts.lamp import filament
from tests.sim.parts.setting import set_part

ENGINE = ("off", "idle 800 rpm", "cruise 2500 rpm")
RUNNING = ENGINE[1:]


@pytest.fixture
def van(lab: SimpleNamespace) -> Callable[..., object]:
    """Solve an alternator on a real battery, with a load and a charge lamp of 3 W on the key."""

    def solve(position: str, *faults: tuple, load: float = 15.0, key: bool = True) -> object:
        battery = {"name": "B1", "charge": 0.75, "accepts": 15.0}
        alternator = set_part(
            lab, "alternator", position, positions=ENGINE, name="G1", faults=faults
        )
        answer = lab.solve(
            *lab.elements("battery", **battery),
            *alternator,
            lab.resistor("strap", "B1.-", "body", 1e-3),
            lab.resistor("cable", "B1.+", "G1.B+", 2e-3),
            lab.resistor("case", "G1.31", "body", 1e-3),
            lab.resistor("load", "B1.+", "body", 13.0 / load if load else 1e9),
            filament("lamp", "15", "G1.L", 12.0, 3.0, whole=True),
            lab.resistor("key", "B1.+" if key else "body", "15", 0.02 if key else 5.0),
        )
        assert answer.status == 0
        assert max(answer.residuals()) < 1e-9
        return answer

    return solve


def battery_volts(answer: object) -> float:
    return answer.drop["B1"]


@pytest.mark.parametrize("position", RUNNING)
@pytest.mark.parametrize("load", [0.0, 15.0, 30.0])
def test_charging_voltage(van: Callable, position: str, load: float) -> None:
    answer = van(position, load=load)
    assert 13.5 <= battery_volts(answer) <= 14.8
    assert answer.current["B1"] > 1.0
    assert abs(answer.drop["lamp"]) < 0.3


def test_standing_it_draws_nothing_and_the_lamp_is_lit_by_the_key(van: Callable) -> None:
    lit, dark = van("off"), van("off", load=0.0, key=False)
    assert abs(lit.current["G1.B+"]) < 1e-6
    assert lit.drop["lamp"] > 10.0
    assert 0.5 < lit.volts["G1.L"] < 2.0
    assert abs(dark.current["G1.B+"]) < 1e-6
    assert abs(dark.drop["lamp"]) < 0.01


def test_beyond_what_it_can_give_the_battery_helps(van: Callable) -> None:
    answer = van("idle 800 rpm", load=100.0)
    limit = available_current(80.0, 800.0, 550.0)
    assert 40.0 < limit < 80.0
    assert -answer.current["G1.B+"] == pytest.approx(limit, abs=0.1)
    assert answer.current["B1"] < -10.0
    assert battery_volts(answer) < 12.5


@pytest.mark.parametrize(
    ("position", "fault", "least", "most", "lit"),
    [
        ("idle 800 rpm", ("regulator open", None, None), 11.8, 12.6, False),
        ("idle 800 rpm", ("field open", None, None), 11.8, 12.6, False),
        ("cruise 2500 rpm", ("regulator shorted", None, 16.5), 16.0, 16.6, False),
        ("idle 800 rpm", ("belt off", None, None), 11.8, 12.6, True),
        ("idle 800 rpm", ("belt slipping", None, 0.4), 11.8, 12.6, True),
        ("cruise 2500 rpm", ("belt slipping", None, 0.4), 13.5, 14.8, False),
        ("idle 800 rpm", ("high resistance", "B+", 0.1), 12.5, 13.4, False),
        ("idle 800 rpm", ("open", "B+", None), 11.8, 12.6, False),
    ],
)
def test_what_its_faults_do(
    van: Callable, position: str, fault: tuple, *, least: float, most: float, lit: bool
) -> None:
    answer = van(position, fault)
    assert least <= battery_volts(answer) <= most
    assert (answer.drop["lamp"] > 6.0) == lit


@pytest.mark.parametrize(
    ("fault", "least", "most"),
    [(("diode shorted", None, None), 2.0, 4.5), (("diode leaks", None, 20.0), 0.3, 0.8)],
)
def test_a_bad_diode_drains_the_battery_through_winding_and_field(
    van: Callable, fault: tuple, least: float, most: float
) -> None:
    """By Ohm's law: (12.4 V - 0.9 V) over 3.3 ohm of field, or over that and 20 ohm."""
    answer = van("off", fault, load=0.0, key=False)
    assert least < answer.current["G1.B+"] < most
    assert abs(answer.drop["lamp"]) > 0.5


def test_an_open_diode_leaves_less_to_give(van: Callable) -> None:
    sound, open_diode = (
        -van("idle 800 rpm", *faults, load=100.0).current["G1.B+"]
        for faults in ((), (("diode open", None, None),))
    )
    assert 0.5 * sound < open_diode < 0.8 * sound


def test_worn_brushes_cut_out_when_shaken(lab: SimpleNamespace) -> None:
    worn = set_part(
        lab, "alternator", RUNNING[0], positions=ENGINE, faults=(("worn brushes", None, None),)
    )
    output = next(e for e in worn if e.name == f"P1 regulated at {RUNNING[0]}")
    assert output.trigger.name == "VIBRATION"
    assert output.other == 0.0 < output.conductance


# The waveform's elements, taken moment by moment as what `Wave` says they are, into a resistance


def moment(elements: tuple[Element, ...], seconds: float) -> list[Element]:
    """Give elements as they are at a moment: SINE as an EMF, SWITCHED as open or not."""
    found = []
    for element in elements:
        m = element.motion
        turn = m.frequency * seconds + m.phase
        if m.wave is Wave.SINE:
            emf = element.emf + m.amplitude * math.sin(2 * math.pi * turn)
            found.append(replace(element, emf=emf))
        elif m.wave is Wave.SWITCHED and turn % 1.0 >= m.amplitude:
            found.append(replace(element, conductance=0.0))
        else:
            found.append(element)
    return found


def rectified(lab: SimpleNamespace, elements: tuple[Element, ...], ohms: float) -> np.ndarray:
    """Give the voltage on `ohms` through one period of the windings, inductance left out."""
    frequency = max(e.motion.frequency for e in elements if e.motion.amplitude * e.conductance)
    volts = []
    for step in range(72):
        answer = lab.solve(
            lab.resistor("load", "P1.B+", "body", ohms),
            lab.resistor("case", "P1.31", "body", 1e-3),
            lab.resistor("lamp", "P1.L", "body", 1e3),
            *moment(elements, step / 72 / frequency),
        )
        assert answer.status == 0
        volts.append(answer.volts["P1.B+"])
    return np.array(volts)


def test_ripple_of_a_sound_bridge(lab: SimpleNamespace) -> None:
    """13.4 % of the peak and mean 3 / pi of it, each of the EMF before two diodes are taken off."""
    elements = set_part(lab, "alternator", RUNNING[1], positions=ENGINE)
    volts = rectified(lab, elements, 100.0)
    amplitude = max(e.motion.amplitude for e in elements if e.conductance)
    peak = math.sqrt(3) * amplitude
    lost = peak - volts.max()
    assert 1.0 < lost < 2.0
    assert (volts.max() - volts.min()) / peak == pytest.approx(1 - math.cos(math.pi / 6), rel=0.03)
    assert (volts.mean() + lost) / peak == pytest.approx(3 / math.pi, rel=0.005)


def test_six_pulses_a_period(lab: SimpleNamespace) -> None:
    elements = set_part(lab, "alternator", RUNNING[0], positions=ENGINE)
    spectrum = np.abs(np.fft.rfft(rectified(lab, elements, 10.0)))[1:]
    assert int(np.argmax(spectrum)) + 1 == 6


def test_an_open_diode_more_than_doubles_the_ripple(lab: SimpleNamespace) -> None:
    sound, broken = (
        rectified(
            lab, set_part(lab, "alternator", RUNNING[0], positions=ENGINE, faults=faults), 10.0
        )
        for faults in ((), (("diode open", None, None),))
    )
    assert np.ptp(broken) > 2.0 * np.ptp(sound)


def test_frequency_at_idle(lab: SimpleNamespace) -> None:
    """Closed form: 800 rpm x 2.7 x 6 pole pairs / 60 = 216 Hz."""
    elements = set_part(lab, "alternator", "idle 800 rpm", positions=ENGINE)
    found = {e.motion.frequency for e in elements if e.name.endswith("winding at idle 800 rpm")}
    assert [pytest.approx(216.0)] == list(found)


@pytest.mark.parametrize("position", RUNNING)
def test_by_itself_it_holds_its_voltage_without_load(lab: SimpleNamespace, position: str) -> None:
    """Two EMFs a third of a turn apart differ by sqrt(3) times one of them at most: phasors."""
    elements = set_part(lab, "alternator", position, positions=ENGINE)
    u, v = (
        next(e.motion for e in elements if e.name == f"P1 {phase} winding at {position}")
        for phase in "UV"
    )
    turns = 2 * math.pi * np.linspace(0.0, 1.0, 3601)
    between = u.amplitude * np.sin(turns + 2 * math.pi * u.phase)
    between -= v.amplitude * np.sin(turns + 2 * math.pi * v.phase)
    assert between.max() == pytest.approx(14.2, rel=1e-6)


def test_the_steady_model_is_out_of_circuit_as_soon_as_there_is_time(lab: SimpleNamespace) -> None:
    elements = set_part(lab, "alternator", RUNNING[0], positions=ENGINE)
    steady = [e for e in elements if e.law is Law.LIMITER or " exciter" in e.name]
    assert len(steady) == 6
    assert all((e.motion.wave, e.motion.amplitude) == (Wave.SWITCHED, 0.0) for e in steady)
    assert all(e.conductance == 0.0 for e in moment(tuple(steady), 0.0))
