"""Low side and high side drivers."""

from types import SimpleNamespace

import pytest

from sim.parts.family import Wave
from tests.sim.parts.setting import set_part

KINDS = ("low side driver", "high side driver")


def load(lab: SimpleNamespace, kind: str, signal: float | None, elements: tuple) -> float:
    """Give the current in A of a load of 12 ohm on 12 V; `signal` in V, None for no wire."""
    ends = ("plus", "P1.out") if kind == "low side driver" else ("P1.out", "body")
    feed = [lab.resistor("feed", "plus", "P1.30", 1e-4)] if kind == "high side driver" else []
    given = [] if signal is None else [lab.source("signal", "P1.in", "body", signal, 10.0)]
    answer = lab.solve(
        lab.source("supply", "plus", "body", 12.0, 1e-4),
        lab.resistor("load", *ends, 12.0),
        lab.resistor("ground", "P1.31", "body", 1e-4),
        *feed,
        *given,
        *elements,
    )
    assert answer.status == 0
    assert max(answer.residuals()) < 1e-9
    return answer.current["load"]


@pytest.mark.parametrize("transistor", ["MOSFET", "bipolar"])
@pytest.mark.parametrize("kind", KINDS)
@pytest.mark.parametrize(("signal", "on"), [(None, False), (0.0, False), (0.5, False), (5.0, True)])
def test_the_input_switches_the_load(
    lab: SimpleNamespace, kind: str, transistor: str, signal: float | None, *, on: bool
) -> None:
    amps = load(lab, kind, signal, lab.elements(kind, transistor=transistor))
    assert amps == pytest.approx(0.98 if on else 0.0, abs=0.02)


def test_a_bipolar_one_drops_about_0_2_volts_and_a_mosfet_its_resistance(
    lab: SimpleNamespace,
) -> None:
    """0.2 V at 1 A from memory; 50 mV at 1 A by Ohm's law."""
    bipolar = load(lab, KINDS[0], 5.0, lab.elements(KINDS[0], transistor="bipolar"))
    mosfet = load(lab, KINDS[0], 5.0, lab.elements(KINDS[0]))
    joints, ohms = 2 * 0.003, 0.05
    assert 12.0 - 12.0 * bipolar - (joints + ohms) * bipolar == pytest.approx(0.2, abs=0.02)
    assert mosfet == pytest.approx(12.0 / (12.0 + joints + ohms), rel=1e-4)


def test_a_dead_bipolar_switch_feeds_nothing(lab: SimpleNamespace) -> None:
    """Nothing but its input is connected: no current may come out of its drop."""
    elements = lab.elements(KINDS[0], transistor="bipolar")
    answer = lab.solve(
        lab.source("signal", "P1.in", "body", 5.0, 10.0),
        lab.resistor("ground", "P1.31", "body", 1e-4),
        lab.resistor("load", "P1.out", "body", 12.0),
        *elements,
    )
    assert abs(answer.current["load"]) < 1e-6


@pytest.mark.parametrize("kind", KINDS)
@pytest.mark.parametrize(
    ("fault", "signal", "least", "most"),
    [
        (("stuck on", None, None), 0.0, 0.95, 1.0),
        (("stuck off", None, None), 5.0, 0.0, 2e-6),
        (("leaky", None, 1000.0), 0.0, 0.010, 0.013),
        (("high resistance", None, 2.0), 5.0, 0.8, 0.9),
        (("input open", None, None), 5.0, 0.0, 2e-6),
        (("open", "in", None), 5.0, 0.0, 2e-6),
        (("open", "out", None), 5.0, 0.0, 1e-6),
    ],
)
def test_its_faults(
    lab: SimpleNamespace, kind: str, fault: tuple, signal: float, least: float, most: float
) -> None:
    amps = load(lab, kind, signal, lab.elements(kind, faults=(fault,)))
    assert least - 1e-9 <= amps <= most


@pytest.mark.parametrize("kind", KINDS)
@pytest.mark.parametrize(
    ("position", "on", "share"), [("off", False, 0), ("on", True, 0), ("40 %", True, 0.4)]
)
def test_a_control_sets_it_without_an_input(
    lab: SimpleNamespace, kind: str, position: str, *, on: bool, share: float
) -> None:
    elements = set_part(lab, kind, position, positions=("off", "on", "40 %"), frequency=250.0)
    assert (load(lab, kind, None, elements) > 0.9) == on
    (switch,) = (e for e in elements if e.name.endswith(f"at {position}"))
    assert (switch.motion.wave is Wave.SWITCHED) == bool(share)
    if share:
        assert (switch.motion.amplitude, switch.motion.frequency) == (share, 250.0)


def test_a_duty_of_its_own_is_a_switched_wave(lab: SimpleNamespace) -> None:
    elements = lab.elements(KINDS[0], duty=0.25, frequency=1000.0)
    switch = next(element for element in elements if element.name == "P1 switch")
    assert (switch.motion.wave, switch.motion.amplitude) == (Wave.SWITCHED, 0.25)


def test_backwards_a_mosfet_conducts_and_a_bipolar_transistor_does_not(
    lab: SimpleNamespace,
) -> None:
    for transistor, least, most in (("MOSFET", 0.9, 1.2), ("bipolar", 0.0, 2e-6)):
        answer = lab.solve(
            lab.source("supply", "minus", "body", -12.0),
            lab.resistor("load", "minus", "P1.out", 10.0),
            lab.resistor("ground", "P1.31", "body", 1e-4),
            *lab.elements(KINDS[0], transistor=transistor),
        )
        assert least <= abs(answer.current["load"]) <= most


def test_the_clamp_holds_a_kick(lab: SimpleNamespace) -> None:
    """0.5 A that a coil drives into an open switch: 40 V and a silicon diode."""
    answer = lab.solve(
        lab.source("kick", "coil", "body", 50_000.0),
        lab.resistor("coil", "coil", "P1.out", 100_000.0),
        lab.resistor("ground", "P1.31", "body", 1e-4),
        *lab.elements(KINDS[0], clamp=40.0),
    )
    assert answer.volts["P1.out"] == pytest.approx(40.9, abs=0.2)
