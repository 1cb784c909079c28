"""The oscilloscope's questions, its price, and its figures of curves of known shape."""

import numpy as np
import pytest

from sim.access import price
from sim.action import action_from_json
from sim.circuitfile import read_circuit
from sim.errors import ActionError, SimError
from sim.instruments import moving
from sim.instruments.moving import Curves
from sim.instruments.oscilloscope import HEIGHT, WIDTH, sweep
from sim.situation import Situation
from tests.sim.conftest import CIRCUITS
from tests.sim.instruments.rig import Rig
from tests.sim.van import Hands, healthy

DO = {
    "scope": {"A": ["C41.1a", "body"], "B": {"clamp": "wire 8"}},
    "time": "100 ms",
    "trigger": {"channel": "A", "level": "6 V", "slope": "rising"},
}


def test_what_is_asked_is_read_into_channels_time_and_trigger():
    asked = sweep(action_from_json(DO))
    assert [(one.red, one.wire) for one in asked.channels] == [("C41.1a", ""), ("", "wire 8")]
    assert (asked.seconds, asked.source, asked.slope, asked.level) == (0.1, "A", "rising", 6.0)


@pytest.mark.parametrize(
    ("change", "says"),
    [
        ({"scope": {}}, "expected channels A and B"),
        ({"scope": {"C": ["a", "b"]}}, "expected channels A and B"),
        ({"scope": {"A": "wire 8"}}, "lies between two points"),
        ({"scope": {"A": ["body", "body"]}}, "two different names"),
        ({"time": "1e-6 s"}, "from 0.1 ms to 50 s"),
        ({"time": "10 min"}, "1, 2 or 5 times"),
        ({"time": "30 ms"}, "1, 2 or 5 times"),
        ({"time": 5}, "must be a name"),
        ({"trigger": {"channel": "A"}}, "channel, level and slope"),
        ({"trigger": {"channel": "C", "level": "1 V", "slope": "rising"}}, "channels in use"),
        ({"trigger": {"channel": "A", "level": "1 V", "slope": "up"}}, "slopes are"),
        (
            {"trigger": {"channel": "B", "level": "1 V", "slope": "rising"}},
            "^trigger level: got unit 'V' in '1 V', expected .* A.*; channel B shows a current$",
        ),
        (
            {"trigger": {"channel": "A", "level": "high", "slope": "rising"}},
            "^trigger level: got 'high', expected a number .*; channel A shows a voltage$",
        ),
        ({"colour": "green"}, "unknown key"),
        ({"while": {}}, "must give a control"),
    ],
)
def test_what_makes_no_sense_is_refused_in_one_line(change, says):
    with pytest.raises(SimError, match=says) as caught:
        action_from_json({**DO, **change})
    assert "\n" not in str(caught.value)


def test_a_wire_that_is_not_there_is_named():
    do = {"scope": {"A": {"clamp": "wire 99"}}, "time": "1 s"}
    with pytest.raises(ActionError, match="wire 'wire 99' unknown"):
        Hands().do(**do)


def test_every_lead_and_the_clamp_are_paid():
    """The hinge 3 min, back-probing 0.5, the clamp 0.3 at the same place, the instrument 1 min."""
    cost = price(healthy(), Situation(), action_from_json(DO))
    assert cost.minutes == pytest.approx(3.0 + 0.5 + 0.3 + 1.0)
    assert cost.places == ("tailgate hinge",)


TIME = np.linspace(0.0, 0.2, 10001)


def switched(hertz: float, duty: float, high: float) -> np.ndarray:
    return np.where((TIME * hertz) % 1.0 < duty, high, 0.0)


@pytest.fixture
def curves(monkeypatch):
    """Let the bench have curves: 100 Hz switched on A, a steady current on B."""

    def traced(view, asked):
        ones = np.ones((view.count, 1))
        lines = [switched(100.0, 0.25, 12.0), np.full_like(TIME, 3.0)][: len(asked.channels)]
        return Curves(TIME, np.array([ones * line for line in lines]))

    monkeypatch.setattr(moving, "traced", traced)


@pytest.mark.usefixtures("curves")
def test_a_screen_in_a_record():
    hands = Hands()
    reading = hands.do(**DO)
    also = dict(reading.also)
    assert also["A minimum"] == "0.0 mV"
    assert also["A maximum"] == "12.00 V"
    assert also["A peak to peak"] == "12.00 V"
    assert float(also["A mean"].removesuffix(" V")) == pytest.approx(12.0 * 0.25, abs=0.003)
    assert also["A frequency"] == "100.0 Hz"
    assert also["A duty"] == "25.0 %"
    assert also["B mean"] == "3.0 A"
    assert "B frequency" not in also
    counts = [int(count) for count in also["A samples"].split()]
    assert (len(counts), min(counts), max(counts)) == (WIDTH, 0, HEIGHT)
    assert type(reading).from_json(reading.to_json()) == reading
    assert "samples" not in reading.text()


@pytest.mark.usefixtures("curves")
def test_the_meter_takes_its_figures_from_the_same_curve(monkeypatch):
    monkeypatch.setattr(moving, "moves", lambda _view: True)
    hands, leads = Hands(), {"red": "C41.1a", "black": "body"}
    assert hands.do(measure="hertz", **leads).value == "100.0"
    assert hands.do(measure="duty", **leads).value == "25.0"
    volts = float(hands.do(measure="AC volts", **leads).value)
    assert volts == pytest.approx(12.0 * np.sqrt(0.25 * 0.75), rel=1e-2)


def test_the_clamp_of_a_channel_sees_no_more_than_the_clamp():
    """Some 20 mA of a parked car are a flat line at nothing; the zero drifts like the clamp's."""
    rig = Rig(read_circuit(CIRCUITS / "night-draw.circuit.yaml"))
    screen = {"scope": {"A": {"clamp": "wire 1"}}, "time": "10 ms"}
    figures = dict(rig.do(**screen).also)
    assert figures["A mean"] == "0.0 A"
    assert len(set(figures["A samples"].split())) == 1
    rig.step(set={"glovebox": "open"})
    lit = rig.do(clamp="wire 1")
    assert float(lit.value) > 0.3
    assert dict(rig.do(**screen).also)["A mean"] == f"{lit.value} A"
    rig.step(zero="off")
    assert float(dict(rig.do(**screen).also)["A mean"].split()[0]) > float(lit.value) + 1.0
