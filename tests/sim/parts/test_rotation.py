"""Hall and reluctance sensors. Closed forms: f = z n / 60; amplitude in proportion to speed."""

from types import SimpleNamespace

import pytest

from sim.parts.family import Element, Wave
from tests.sim.parts.setting import set_part


def one(elements: tuple[Element, ...], name: str) -> Element:
    return next(element for element in elements if element.name == name)


def pulled_up(lab: SimpleNamespace, elements: tuple, *, supply: float = 12.0) -> float:
    """Give the volts on a signal wire that the unit pulls up to 5 V with 1 kohm."""
    answer = lab.solve(
        lab.source("supply", "P1.+", "body", supply),
        lab.source("unit", "five", "body", 5.0),
        lab.resistor("pull-up", "five", "P1.s", 1e3),
        lab.resistor("ground", "P1.-", "body", 1e-4),
        *elements,
    )
    assert answer.status == 0
    return answer.volts["P1.s"]


@pytest.mark.parametrize(
    ("position", "volts"), [("off", 5.0), ("at a gap", 5.0), ("at a tooth", 0.1), ("800 rpm", 0.1)]
)
def test_a_tooth_pulls_the_signal_down(lab: SimpleNamespace, position: str, volts: float) -> None:
    assert pulled_up(lab, set_part(lab, "Hall sensor", position)) == pytest.approx(volts, abs=0.02)


def test_it_may_rest_at_a_tooth(lab: SimpleNamespace) -> None:
    assert pulled_up(lab, lab.elements("Hall sensor", rests_at="tooth")) < 0.2


def test_without_enough_supply_it_lets_go(lab: SimpleNamespace) -> None:
    elements = set_part(lab, "Hall sensor", "at a tooth")
    assert pulled_up(lab, elements, supply=3.0) > 4.9
    assert pulled_up(lab, elements, supply=4.0) < 0.2


@pytest.mark.parametrize(
    ("fault", "at_tooth", "at_gap"),
    [
        (("stuck low", None, None), 0.1, 0.1),
        (("stuck high", None, None), 5.0, 5.0),
        (("supply open", None, None), 5.0, 5.0),
        (("open", "+", None), 5.0, 5.0),
        (("open", "-", None), 5.0, 5.0),
        (("open", "s", None), 5.0, 5.0),
    ],
)
def test_faults_of_a_hall_sensor(
    lab: SimpleNamespace, fault: tuple, at_tooth: float, at_gap: float
) -> None:
    for position, volts in (("tooth", at_tooth), ("gap", at_gap)):
        elements = set_part(lab, "Hall sensor", position, faults=(fault,))
        assert pulled_up(lab, elements) == pytest.approx(volts, abs=0.02)


def test_turning_it_switches_for_half_of_every_period(lab: SimpleNamespace) -> None:
    """60 teeth at 800 rpm: 800 Hz."""
    output = one(set_part(lab, "Hall sensor", "800 rpm", teeth=60.0), "P1 output at 800 rpm")
    assert output.motion.wave is Wave.SWITCHED
    assert output.motion.amplitude == 0.5
    assert output.motion.frequency == pytest.approx(800.0)


def test_supply_current(lab: SimpleNamespace) -> None:
    answer = lab.solve(
        lab.source("supply", "P1.+", "body", 12.0),
        lab.resistor("ground", "P1.-", "body", 1e-4),
        *lab.elements("Hall sensor", supply_current=0.008),
    )
    assert answer.current["P1 supply"] == pytest.approx(0.008, rel=1e-3)


def coil(lab: SimpleNamespace, position: str, *faults: tuple) -> Element:
    elements = set_part(lab, "reluctance sensor", position, faults=faults, teeth=60.0)
    return one(elements, f"P1 coil at {position}")


@pytest.mark.parametrize(
    ("rpm", "volts", "hertz"), [(100, 0.8, 100), (1000, 8, 1000), (3000, 24, 3000)]
)
def test_amplitude_and_frequency_go_with_the_speed(
    lab: SimpleNamespace, rpm: float, volts: float, hertz: float
) -> None:
    motion = coil(lab, f"{rpm} rpm").motion
    assert motion.wave is Wave.SINE
    assert motion.amplitude == pytest.approx(volts)
    assert motion.frequency == pytest.approx(hertz)


def test_standing_it_is_a_plain_coil(lab: SimpleNamespace) -> None:
    standing = coil(lab, "off")
    assert standing.motion.wave is Wave.NONE
    assert 1 / standing.conductance == pytest.approx(900.0)
    assert standing.motion.inductance == pytest.approx(0.4)


def test_faults_of_a_reluctance_sensor(lab: SimpleNamespace) -> None:
    sound = coil(lab, "1000 rpm")
    assert coil(lab, "1000 rpm", ("open", None, None)).conductance == 0.0
    shorted = coil(lab, "1000 rpm", ("shorted turns", None, 0.5))
    assert shorted.motion.amplitude == pytest.approx(sound.motion.amplitude / 2)
    assert shorted.conductance == pytest.approx(2 * sound.conductance)
    wide = coil(lab, "1000 rpm", ("wide gap", None, 0.2))
    assert wide.motion.amplitude == pytest.approx(0.2 * sound.motion.amplitude)
    assert wide.conductance == sound.conductance
    assert coil(lab, "1000 rpm", ("reversed", None, None)).motion.phase == 0.5
