"""What a module decides: hysteresis, delays, after-run, substitutes, power.

The fan module is the demo's own; that an open sensor reads very cold and a shorted one very hot is
common practice, no source.
"""

from collections.abc import Iterator

import numpy as np
import pytest

from sim.errors import QuantityError
from sim.modules.behaviour import Behaviour
from sim.modules.decide import ModuleState, View, asleep, decide, next_due
from sim.modules.entries import read_behaviour
from sim.modules.fileshape import ModuleEntry

PINS = ("30", "31", "4", "15", "9", "10")
ENTRY = {
    "power": {"supply": "30", "ground": "31", "works from": "6 V"},
    "inputs": {
        "coolant": {
            "pin": "4",
            "table": {"0.5 V": "120 degC", "2.5 V": "70 degC", "4.5 V": "-20 degC"},
            "low": "0.2 V",
            "high": "4.8 V",
            "low code": "P0117",
            "high code": "P0118",
            "after": "2 s",
            "substitute": "85 degC",
        },
        "ignition": {"pin": "15", "on above": "8 V", "off below": "6 V"},
    },
    "decisions": {
        "fan wanted": {
            "on": "coolant >= 97 degC or coolant is implausible",
            "off": "coolant <= 92 degC and not coolant is implausible",
            "off after": "30 s",
        },
        "lamp": {"on": "ignition is on and fan wanted is off", "on after": "1 s"},
    },
    "levels": {
        "pump": {
            "of": "coolant",
            "table": {"60 degC": "0 %", "100 degC": "80 %"},
            "when": "ignition is on",
        }
    },
    "outputs": {"9": "fan wanted", "10": "not lamp"},
    "sleep": {"awake while": "ignition is on or fan wanted is on", "asleep after": "10 min"},
}


def changed(**parts: object) -> dict:
    return {**ENTRY, **parts}


def fan() -> Behaviour:
    return read_behaviour("A3", ModuleEntry.model_validate(ENTRY), PINS)


class Module:
    """One module of one vehicle, driven by hand."""

    def __init__(self) -> None:
        self.behaviour = fan()
        self.state = ModuleState.fresh(self.behaviour, 1)
        self.volts = {"30": 12.5, "31": 0.0, "4": 2.5, "15": 12.5, "9": 0.0, "10": 0.0}

    def at(self, clock: float, **volts: float) -> View:
        self.volts |= {name.removeprefix("pin"): value for name, value in volts.items()}
        pins = {name: np.array([value]) for name, value in self.volts.items()}
        self.state, view = decide(self.behaviour, pins, self.state, np.array([clock]))
        return view

    def on(self, name: str) -> bool:
        names = [decision.name for decision in self.behaviour.decisions]
        return bool(self.state.on[0, names.index(name)])

    def due(self) -> float:
        return float(next_due(self.behaviour, self.state)[0])


@pytest.fixture
def module() -> Iterator[Module]:
    return Module()


def volts_at(celsius: float) -> float:
    return float(np.interp(-celsius, [-120.0, -70.0, 20.0], [0.5, 2.5, 4.5]))


def test_a_table_is_read_between_its_points(module: Module) -> None:
    assert module.at(0.0, pin4=1.5).actual["coolant"][0] == pytest.approx(95.0)


def test_hysteresis_keeps_a_decision_in_the_gap(module: Module) -> None:
    seen = []
    for celsius in (90.0, 95.0, 98.0, 95.0, 93.0):
        module.at(0.0, pin4=volts_at(celsius))
        seen.append(module.on("fan wanted"))
    assert seen == [False, False, True, True, True]


def test_after_run_lasts_as_long_as_it_says_and_not_longer(module: Module) -> None:
    module.at(0.0, pin4=volts_at(98.0))
    module.at(10.0, pin4=volts_at(80.0))
    assert module.due() == 40.0
    module.at(39.9)
    assert module.on("fan wanted")
    module.at(module.due())
    assert not module.on("fan wanted")


def test_a_want_that_goes_away_starts_its_delay_again(module: Module) -> None:
    module.at(0.0)
    module.at(0.9, pin15=0.0)
    module.at(1.0, pin15=12.0)
    module.at(1.9)
    assert not module.on("lamp")
    module.at(2.0)
    assert module.on("lamp")


@pytest.mark.parametrize(
    ("volts", "actual", "low"), [(4.95, -20.0, [False]), (0.05, 120.0, [True])]
)
def test_open_reads_cold_short_reads_hot_and_the_module_goes_on_with_a_substitute(
    module: Module, volts: float, actual: float, low: list[bool]
) -> None:
    module.at(0.0, pin4=volts)
    assert not module.state.implausible[0, 0]
    view = module.at(2.0)
    assert module.state.implausible[0, 0]
    assert module.state.too_low[:, 0].tolist() == low
    assert view.actual["coolant"][0] == actual
    assert view.seen.values["coolant"][0] == 85.0
    assert module.on("fan wanted")  # for safety


def test_a_switch_input_has_two_thresholds(module: Module) -> None:
    seen = [bool(module.at(0.0, pin15=v).seen.states["ignition"][0]) for v in (7, 9, 7, 5, 7)]
    assert seen == [False, True, True, False, False]


def test_without_power_nothing_is_on_and_everything_begins_anew(module: Module) -> None:
    module.at(0.0, pin4=volts_at(110.0))
    assert module.on("fan wanted")
    view = module.at(1.0, pin30=5.0)
    assert not module.on("fan wanted")
    assert view.levels["pump"][0] == 0.0
    assert not view.working[0]


def test_supply_counts_against_its_own_ground(module: Module) -> None:
    assert not module.at(0.0, pin31=7.0).working[0]


def test_a_level_follows_its_table_while_its_condition_holds(module: Module) -> None:
    assert module.at(0.0, pin4=volts_at(80.0)).levels["pump"][0] == pytest.approx(0.4)
    assert module.at(0.0, pin15=0.0).levels["pump"][0] == 0.0


def test_it_falls_asleep_a_while_after_the_last_reason_to_stay_awake(module: Module) -> None:
    module.at(0.0)
    module.at(100.0, pin15=0.0)
    for clock, sleeps in ((699.0, False), (700.0, True)):
        assert bool(asleep(module.behaviour, module.state, np.array([clock]))[0]) is sleeps
    module.at(800.0, pin15=12.0)
    assert not asleep(module.behaviour, module.state, np.array([800.0]))[0]


def test_each_vehicle_has_its_own_clock_and_does_what_it_does_alone() -> None:
    behaviour = fan()
    rng = np.random.default_rng(3)
    steps = 40
    volts = rng.uniform(0.0, 5.0, (steps, 7))
    key = rng.choice([0.0, 7.0, 12.0], (steps, 7))
    clocks = np.cumsum(rng.uniform(0.0, 20.0, (steps, 7)), axis=0)

    def run(lanes: list[int]) -> np.ndarray:
        state = ModuleState.fresh(behaviour, len(lanes))
        shown = []
        for step in range(steps):
            one = np.ones(len(lanes))
            pins = {
                "30": 12.5 * one,
                "31": 0.0 * one,
                "4": volts[step, lanes],
                "15": key[step, lanes],
            }
            state, _view = decide(behaviour, pins, state, clocks[step, lanes])
            shown.append(state.on.copy())
        return np.array(shown)

    together = run(list(range(7)))
    assert together.any()
    assert not together.all()
    for lane in range(7):
        assert (run([lane])[:, 0] == together[:, lane]).all()


@pytest.mark.parametrize(
    ("entry", "said"),
    [
        (changed(power={"supply": "99", "ground": "31"}), "power: no pin '99'; A3 has 30, 31, 4"),
        (changed(outputs={"9": "fan"}), "no decision or level 'fan'; there are fan wanted, lamp"),
        (
            changed(inputs={"key": {"pin": "15", "on above": "6 V", "off below": "8 V"}}),
            "the wrong way round",
        ),
        (changed(inputs={"key": {"pin": "15", "on above": "6 V"}}), "expected a table, or `on"),
        (changed(inputs={"fan wanted": ENTRY["inputs"]["ignition"]}), "is given twice"),
        (changed(inputs={"or else": ENTRY["inputs"]["ignition"]}), "none of the words"),
        (
            changed(levels={"pump": {"of": "ignition", "table": {"1 V": "0 %"}}}),
            "no measured input 'ignition'; there are coolant",
        ),
        (
            changed(levels={"pump": {"of": "coolant", "table": {"1 degC": "0 %"}}}),
            "two points or more",
        ),
        (
            changed(decisions={"fan wanted": {"on": "coolant >= 97 V"}}),
            "decisions: fan wanted: on: temperature: got unit 'V'",
        ),
        (
            changed(inputs={"coolant": {**ENTRY["inputs"]["coolant"], "low code": "X99"}}),
            "'X99' is no trouble code",
        ),
    ],
)
def test_a_mistake_is_one_line_that_says_where(entry: dict, said: str) -> None:
    with pytest.raises(QuantityError) as caught:
        read_behaviour("A3", ModuleEntry.model_validate(entry), PINS)
    assert said in str(caught.value)
    assert "\n" not in str(caught.value)
