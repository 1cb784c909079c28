"""What modules believe: an open or shorted sensor on three vehicles, a shared reference, cycles.

That an unplugged NTC reads at or below -40 degC and a shorted one at its hot limit on any circuit
is common practice, no source; so is one shorted sensor pulling down all on its 5 V reference.
"""

import pytest

from sim.checks import check_circuit_file
from sim.circuitfile import read_circuit, read_through
from sim.errors import CircuitFileError, RulesError
from sim.solver.steady import Solver
from tests.sim.modules.stand import HERE, Stand

FAN = (HERE / "fan.circuit.yaml").read_text(encoding="utf-8")
SUBSTITUTES = FAN.replace(
    "        after: 2 s\n", "        after: 2 s\n        substitute: 85 degC\n"
)
FOR_SAFETY = FAN.replace(
    "fan wanted: {on: coolant >= 97 degC, off: coolant <= 92 degC, off after: 30 s}",
    "fan wanted: {on: coolant >= 97 degC or coolant is implausible, "
    "off: coolant <= 92 degC and not coolant is implausible}",
)
OPEN, SHORT = "R4.1=open", "R4=shorted"


def stand_of(text, tmp_path, faults=""):
    """Give a vehicle whose circuit is written here, ignition on for a while."""
    path = tmp_path / "fan.circuit.yaml"
    path.write_text(text, encoding="utf-8")
    whole = read_circuit(path)
    stand = Stand.of(whole, Solver.of(whole), faults)
    stand.set(ignition="on", coolant="warm 85 degC")
    stand.wait("5 s")
    return stand


@pytest.mark.parametrize("text", [FAN, SUBSTITUTES, FOR_SAFETY], ids=["believes", "85", "fan on"])
def test_open_reads_very_cold_and_shorted_very_hot_whatever_it_does_then(text, tmp_path):
    cold = stand_of(text, tmp_path, OPEN).told.inputs["coolant"]
    hot = stand_of(text, tmp_path, SHORT).told.inputs["coolant"]
    assert cold.actual[0] <= -40.0
    assert hot.actual[0] >= 130.0
    assert {code for code, fails in cold.faulty().items() if fails[0]} == {"P0118"}
    assert {code for code, fails in hot.faulty().items() if fails[0]} == {"P0117"}


@pytest.mark.parametrize(
    ("text", "fault", "used", "runs"),
    [
        (FAN, OPEN, -40.0, False),
        (FAN, SHORT, 130.0, True),
        (SUBSTITUTES, OPEN, 85.0, False),
        (SUBSTITUTES, SHORT, 85.0, False),
        (FOR_SAFETY, OPEN, -40.0, True),
        (FOR_SAFETY, SHORT, 130.0, True),
        (FOR_SAFETY, "", 85.0, False),
    ],
)
def test_what_it_does_then_follows_its_rules(text, fault, used, runs, tmp_path):
    stand = stand_of(text, tmp_path, fault)
    if text == SUBSTITUTES and fault == SHORT:  # two seconds of belief, and half a minute after-run
        stand.wait("40 s")
    assert stand.told.inputs["coolant"].used[0] == pytest.approx(used, abs=1.0)
    assert stand.sees("the fan runs") == runs


def test_a_reference_shorted_in_one_sensor_pulls_all_three_and_unplugging_it_restores_two():
    sound = Stand("sensors").told
    assert sound.volts["5"][0] == pytest.approx(5.0, abs=0.03)
    assert not any(fails.any() for fails in sound.faulty().values())
    stand = Stand("sensors", "R2=supply shorted")
    assert stand.told.volts["5"][0] < 0.3
    assert {c for c, fails in stand.told.faulty().items() if fails[0]} == {
        "P0122",
        "P0222",
        "P0192",
    }
    stand.do(unplug="R1")
    assert stand.told.volts["5"][0] < 0.3
    stand.do(plug="R1")
    stand.do(unplug="R2")
    told = stand.told
    assert told.volts["5"][0] == pytest.approx(5.0, abs=0.03)
    assert {c for c, fails in told.faulty().items() if fails[0]} == {"P0222"}
    assert told.inputs["first"].actual[0] == pytest.approx(
        sound.inputs["first"].actual[0], abs=1e-3
    )


CHASING = (
    FAN.replace(
        "    outputs:",
        "      bell: {on: horn is off}\n      horn: {on: bell is on}\n    outputs:",
    )
    .replace("    levels:\n", "")
    .replace(
        "      gauge: {of: coolant, table: {20 degC: 0 %, 120 degC: 100 %}, "
        "when: ignition is on}\n",
        "",
    )
    .replace(', "10": gauge', "")
)


def test_rules_that_chase_each_other_are_named_by_check_with_their_line(tmp_path):
    path = tmp_path / "fan.circuit.yaml"
    path.write_text(CHASING, encoding="utf-8")
    texts = [str(one) for one in check_circuit_file(path).mistakes if not one.warning]
    assert len(texts) == 1
    assert "A3: bell, A3: horn chase each other" in texts[0]
    line = CHASING[: CHASING.index("\n  A3:\n") + 1].count("\n") + 1
    assert f"fan.circuit.yaml:{line}:" in texts[0]


def test_an_output_that_takes_its_own_input_away_oscillates(tmp_path):
    """The fan's own relay feeds the input that asks for it: no rest."""
    text = FAN.replace("{on: coolant >= 97 degC,", "{on: coolant >= 97 degC and ignition is on,")
    text = text.replace("off: coolant <= 92 degC, off after: 30 s", "off: ignition is off")
    text = text.replace("  5:  [S1.out, A3.15,", "  5:  [A3.9, A3.15,")
    path = tmp_path / "fan.circuit.yaml"
    path.write_text(text, encoding="utf-8")
    found = [str(one) for one in check_circuit_file(path).mistakes]
    assert any("A3: fan wanted" in one and "chase each other" in one for one in found)


@pytest.mark.parametrize(
    ("old", "new", "says"),
    [
        ('"input, pull-up 2.49 kohm"', '"inptu"', "A3: pin 4: a pin is one of"),
        ('"switches to ground, up to 1 A"', '"switches to ground"', "say what it can give"),
        ('pin: "4"', 'pin: "44"', "A3: inputs: coolant: no pin '44'"),
        ("coolant >= 97 degC", "coolant >= 97 V", "A3: decisions: fan wanted: on"),
        ('"9": fan wanted', '"9": gauge', "a level needs a pin that is pulsed"),
        ('"10": gauge', '"4": gauge', "it switches nothing"),
        ("\n  A3:\n", "\n  A4:\n", "'A4' is no control unit"),
        ("works from: 6 V", "works frm: 6 V", "works frm"),
    ],
)
def test_mistakes_are_named_with_their_line(old, new, says, tmp_path):
    assert FAN.count(old) >= 1
    at = FAN.index(old)
    path = tmp_path / "fan.circuit.yaml"
    path.write_text(FAN[:at] + new + FAN[at + len(old) :], encoding="utf-8")
    texts = [str(one) for one in read_through(path).mistakes]
    assert len(texts) == 1, texts
    assert says in texts[0]
    with pytest.raises(CircuitFileError):
        read_circuit(path)
    named = int(texts[0].split(":")[1])
    written = FAN.splitlines()[named - 1]
    near = FAN[:at].count("\n") + 1
    assert named == near or "A3:" in written or abs(named - near) <= 1


def written(text, tmp_path):
    path = tmp_path / "fan.circuit.yaml"
    path.write_text(text, encoding="utf-8")
    whole = read_circuit(path)
    return Stand.of(whole, Solver.of(whole))


def test_rules_that_chase_each_other_are_named_on_the_bench_too(tmp_path):
    """Only while the ignition is on; the bench stays as it was."""
    text = CHASING.replace("bell: {on: horn is off}", "bell: {on: ignition is on and horn is off}")
    stand = written(text, tmp_path)
    before = stand.bench.situation
    with pytest.raises(RulesError, match="A3: bell, A3: horn chase each other") as caught:
        stand.set(ignition="on")
    assert caught.value.cycle == "A3: bell, A3: horn"
    assert stand.bench.situation == before


def test_rules_that_are_due_without_end_are_named_and_short_waits_are_not_refused(tmp_path):
    """A flasher of 2 Hz: 200 things are due within 50 s."""
    blink = (
        "      blink: {on: ignition is on and blink is off, off: blink is on or ignition is off, "
        "on after: 0.25 s, off after: 0.25 s}\n"
    )
    text = FAN.replace("    levels:\n", f"{blink}    levels:\n", 1)
    stand = written(text, tmp_path)
    stand.set(ignition="on")
    stand.wait("20 s")
    with pytest.raises(RulesError, match="more than 200 things were due") as caught:
        stand.wait("2 min")
    assert caught.value.cycle == "A3: blink"
    stand.wait("20 s")


def test_every_mistake_in_a_module_is_named_with_its_line(tmp_path):
    """And nothing that only hangs on one of them."""
    swaps = (
        ('pin: "4"', 'pin: "44"', "inputs: coolant: no pin '44'"),
        ("low: 0.3 V", "low: 0.3 A", "inputs: coolant: low: "),
        ("low code: P0117", "low code: X0117", "'X0117' is no trouble code"),
        ("on above: 8 V, off below: 5 V", "on above: 8 V", "inputs: ignition: expected a table"),
        ("coolant >= 97 degC", "coolant >= 97 V", "decisions: fan wanted: on"),
        ("off after: 30 s", "off after: 30 m", "decisions: fan wanted: off after"),
        ("120 degC: 100 %}", "120 degC: 200 %}", "levels: gauge: a level goes from"),
        ('"9": fan wanted', '"4": fan wanted', "outputs: 4: pin 4 is 'input'"),
        ('"10": gauge', '"10": gauges', "outputs: 10: no decision or level 'gauges'"),
        ("asleep after: 10 min", "asleep after: soon", "sleep: asleep after"),
    )
    text = FAN
    for old, new, _says in swaps:
        assert text.count(old) == 1, old
        text = text.replace(old, new)
    path = tmp_path / "fan.circuit.yaml"
    path.write_text(text, encoding="utf-8")
    texts = [str(one) for one in read_through(path).mistakes]
    assert len(texts) == len(swaps), "\n".join(texts)
    for _old, new, says in swaps:
        assert sum(says in one for one in texts) == 1, says
        named = int(next(one for one in texts if says in one).split(":")[1])
        assert abs(named - text[: text.index(new)].count("\n") - 1) <= 4, says
