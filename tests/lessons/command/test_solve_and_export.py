"""`halfsplit solve` and `halfsplit export`: what they print, and that bad input is one line."""

import argparse
import json
import re
import subprocess
import sys
from pathlib import Path

import pytest

from lessons.command import export, solve
from lessons.command.vehicle import settle_vehicle
from sim.errors import SimError

ROOT = Path(__file__).parents[3]
CIRCUIT = "rear-window-heater"
ON = ("--set", "key=run", "--set", "heater switch=on")


def parsed(command: str, *words: str) -> argparse.Namespace:
    parser = argparse.ArgumentParser()
    subparsers = parser.add_subparsers()
    solve.add_to(subparsers)
    export.add_to(subparsers)
    return parser.parse_args([command, *words])


def run(capsys: pytest.CaptureFixture[str], command: str, *words: str) -> str:
    arguments = parsed(command, *words)
    assert arguments.run(arguments) == 0
    shown = capsys.readouterr()
    assert shown.err == ""
    return shown.out


def solution(capsys: pytest.CaptureFixture[str], *words: str) -> dict:
    return json.loads(run(capsys, "solve", CIRCUIT, *words, "--json"))


def test_the_solution_carries_what_the_format_says(capsys: pytest.CaptureFixture[str]) -> None:
    found = solution(capsys, *ON)
    assert list(found) == [
        "format",
        "version",
        "points",
        "currents",
        "states",
        "kcl_residual",
        "law_residual",
    ]
    assert (found["format"], found["version"]) == ("solution", 1)
    assert found["kcl_residual"] < 1e-9
    assert found["law_residual"] < 1e-9
    assert found["states"]["K3"] == "closed"
    assert found["states"]["K5"] == "open"
    assert found["states"]["F7"] == "whole"
    assert found["points"]["E9.1b"] > 11.0
    assert {"C41.1a", "C41.1b", "F7.2", "F7.2b", "body"} <= set(found["points"])
    assert not [name for name in found["points"] if "middle" in name or "lead" in name]


def test_what_flows_into_a_part_flows_out_of_it(capsys: pytest.CaptureFixture[str]) -> None:
    """160 W at 12 V is 13.3 A; the feed drops a little, so 12 A to 13.3 A."""
    currents = solution(capsys, *ON)["currents"]
    assert 12.0 < currents["E9.1"] < 13.3
    assert currents["E9.1"] == pytest.approx(-currents["E9.2"], abs=1e-9)
    for part in ("B1", "F7", "K3", "S4", "C41", "S1", "link30", "wire 8"):
        ends = [amps for name, amps in currents.items() if name.rpartition(".")[0] == part]
        assert len(ends) >= 2
        assert sum(ends) == pytest.approx(0.0, abs=1e-9), part


def test_currents_at_a_terminal_add_up_to_nothing(capsys: pytest.CaptureFixture[str]) -> None:
    """Kirchhoff at harness terminals, where wires and parts meet, from printed numbers alone."""
    found = solution(capsys, *ON, "--set", "horn button=pressed")
    circuit = settle_vehicle(parsed("solve", CIRCUIT)).circuit
    sums: dict[str, float] = {}
    for name, amps in found["currents"].items():
        part, _, end = name.rpartition(".")
        wire = circuit.parts[part].kind == "wire"
        point = circuit.point(str(circuit.parts[part].values[end])) if wire else name
        sums[point] = sums.get(point, 0.0) + amps
    del sums["body"]
    assert len(sums) > 30
    for point, amps in sums.items():
        assert amps == pytest.approx(1e-12 * -found["points"][point], abs=1e-9), point


def test_a_chafed_feed_blows_its_fuse(capsys: pytest.CaptureFixture[str]) -> None:
    found = solution(capsys, *ON, "--fault", "wire 8=short to ground:0.1 ohm")
    assert found["states"]["F7"] == "blown"
    assert found["points"]["K3.30"] == pytest.approx(0.0, abs=1e-6)


def test_an_open_fuse_is_a_blown_one(capsys: pytest.CaptureFixture[str]) -> None:
    assert solution(capsys, "--fault", "F7=open")["states"]["F7"] == "blown"


def test_several_faults_in_one_or_two_arguments(capsys: pytest.CaptureFixture[str]) -> None:
    one = solution(capsys, *ON, "--fault", "C41.1=open + S4=lamp open")
    two = solution(capsys, *ON, "--fault", "C41.1=open", "--fault", "S4=lamp open")
    assert one == two
    assert one["currents"]["E9.1"] == pytest.approx(0.0, abs=1e-9)
    assert one["currents"]["S4.lamp"] == pytest.approx(0.0, abs=1e-9)


def test_unplugging_opens_the_part(capsys: pytest.CaptureFixture[str]) -> None:
    found = solution(capsys, *ON, "--unplug", "C41")
    assert found["points"]["C41.1a"] > 12.0
    assert found["points"]["C41.1b"] == pytest.approx(0.0, abs=1e-6)


def test_a_part_s_value_can_be_set(capsys: pytest.CaptureFixture[str]) -> None:
    """Battery Council International: 12.06 V at a quarter charge; nothing is switched on."""
    found = solution(capsys, "--set", "B1.charge=25 %")
    assert found["points"]["B1.+"] - found["points"]["B1.-"] == pytest.approx(12.06, abs=1e-6)


def test_cold_copper_and_a_cold_battery(capsys: pytest.CaptureFixture[str]) -> None:
    """Wires conduct better by 0.393 %/K (IEC 60028), the battery worse."""

    def ohms(found: dict) -> float:
        drop = found["points"]["K3.87"] - found["points"]["C41.1a"]
        return drop / found["currents"]["wire 8.from"]

    warm, cold = solution(capsys, *ON), solution(capsys, *ON, "--set", "temperature=-20 degC")
    assert ohms(cold) / ohms(warm) == pytest.approx(1 - 0.00393 * 40, rel=1e-6)
    inner = [
        (12.53 - found["points"]["B1.+"] + found["points"]["B1.-"]) / -found["currents"]["B1.+"]
        for found in (warm, cold)
    ]
    assert inner[1] > 1.5 * inner[0]


def test_the_table_shows_the_same_numbers(capsys: pytest.CaptureFixture[str]) -> None:
    text, found = run(capsys, "solve", CIRCUIT, *ON), solution(capsys, *ON)
    assert re.search(rf"^  E9\.1 +{found['points']['E9.1']:.6f}$", text, re.MULTILINE)
    assert re.search(rf"^  E9\.1 +{found['currents']['E9.1']:.6f}$", text, re.MULTILINE)
    assert re.search(r"^  K3 +closed$", text, re.MULTILINE)
    assert "-0.000000" not in text


def test_the_export_is_a_netlist_that_says_what_it_shows(
    capsys: pytest.CaptureFixture[str],
) -> None:
    text = run(capsys, "export", CIRCUIT, *ON, "--fault", "F7=open", "--unplug", "E9")
    title = "* rear-window-heater, F7=open, key=run, heater switch=on, E9 apart"
    assert text.splitlines()[0] == title
    assert text.endswith(".endc\n.end\n")
    assert "Sk3_contact k3_30b k3_87b k3_contact_inner 0 k3_contact ON" in text


@pytest.mark.parametrize(
    "words",
    [
        (),
        (*ON, "--fault", "wire 8=short to ground:0.1 ohm"),
        (*ON, "--unplug", "F12", "--set", "B1.charge=50 %", "--set", "temperature=-10 degC"),
        ("--fault", "X1=open"),
    ],
)
def test_ngspice_comes_to_the_printed_solution(
    ngspice: str, capsys: pytest.CaptureFixture[str], words: tuple[str, ...]
) -> None:
    """As a stranger would: the printed netlist into `ngspice -b`, against the printed JSON."""
    netlist, found = run(capsys, "export", CIRCUIT, *words), solution(capsys, *words)
    shown = subprocess.run(
        [ngspice, "-n", "-b"], input=netlist, capture_output=True, text=True, check=False
    ).stdout
    names = dict(re.findall(r"^\* (\S+) = (.+)$", netlist, re.MULTILINE))
    volts = {
        names[node]: float(value)
        for node, value in re.findall(r"^v\((\S+)\) = (\S+)$", shown, re.MULTILINE)
    }
    assert len(volts) > 60
    for point, ours in found["points"].items():
        theirs = volts.get(point, 0.0)
        assert abs(ours - theirs) <= 1e-4 + 1e-5 * abs(theirs), point


BAD = [
    (("nowhere",), "circuit 'nowhere': no such file; shipped are"),
    ((CIRCUIT, "--fault", "F7"), "expected PART[.PIN]=way[:severity]"),
    ((CIRCUIT, "--fault", "F99=open"), "'F99': no such part"),
    ((CIRCUIT, "--fault", "F7=melted"), "a blade fuse fails by"),
    ((CIRCUIT, "--fault", "C41.1=high resistance:1 V"), "got unit 'V'"),
    ((CIRCUIT, "--fault", "F7=open", "--fault", "F7=open"), "given twice"),
    ((CIRCUIT, "--set", "key"), "expected KEY=VALUE"),
    ((CIRCUIT, "--set", "key=fast"), "no position 'fast', but off, accessory, run, crank"),
    ((CIRCUIT, "--set", "lights=on"), "'lights' unknown; there are key"),
    ((CIRCUIT, "--set", "B1.colour=red"), "B1 has no 'colour'; a battery has capacity"),
    ((CIRCUIT, "--set", "B2.charge=70 %"), "'B2.charge' unknown"),
    ((CIRCUIT, "--set", "B1.charge=170 %"), "from 0 % to 100 %"),
    ((CIRCUIT, "--set", "K3.coil=0 ohm"), "must be above 0"),
    ((CIRCUIT, "--set", "K3.drop-out=9 V"), "drop-out must lie below pull-in"),
    ((CIRCUIT, "--set", "K3.contact=maybe"), "normally open or normally closed"),
    ((CIRCUIT, "--set", "wire 8.from=31"), "wire 8 has no 'from'"),
    ((CIRCUIT, "--set", "temperature=warm"), "expected a number"),
    ((CIRCUIT, "--set", "temperature=-300 degC"), "expected -50 degC to 150 degC"),
    ((CIRCUIT, "--unplug", "B1"), "what comes apart is S1, F12"),
    ((CIRCUIT, "--unplug", "C99"), "what comes apart is S1, F12"),
]


@pytest.mark.parametrize("command", ["solve", "export"])
@pytest.mark.parametrize(("words", "says"), BAD, ids=[" ".join(words[-2:]) for words, _says in BAD])
def test_bad_input_is_one_line(command: str, words: tuple[str, ...], says: str) -> None:
    arguments = parsed(command, *words)
    with pytest.raises(SimError) as caught:
        arguments.run(arguments)
    assert says in str(caught.value)
    assert "\n" not in str(caught.value)


def test_a_circuit_that_never_comes_to_rest_is_refused(tmp_path: Path) -> None:
    """The horn relay wired as a buzzer: its coil is fed through its own contact at rest."""
    text = (ROOT / f"lessons/circuits/{CIRCUIT}.circuit.yaml").read_text("utf-8")
    text = text.replace("[K5.30,  K5.86,", "[K5.87,  K5.86,")
    text = text.replace(
        "K5:  {kind: relay, contact: normally open", "K5:  {kind: relay, contact: normally closed"
    )
    path = tmp_path / "buzzer.circuit.yaml"
    path.write_text(text, "utf-8")
    arguments = parsed("solve", str(path), "--set", "horn button=pressed")
    with pytest.raises(SimError, match="never comes to rest"):
        arguments.run(arguments)


@pytest.mark.parametrize(("words", "code"), [((CIRCUIT,), 0), ((CIRCUIT, "--set", "key=x"), 2)])
def test_the_command_line_s_exit_code(words: tuple[str, ...], code: int) -> None:
    start = "import sys; from lessons.command import main; sys.exit(main())"
    done = subprocess.run(
        [sys.executable, "-c", start, "solve", *words],
        capture_output=True,
        text=True,
        check=False,
        cwd=ROOT,
    )
    assert done.returncode == code, done.stderr
    assert len(done.stderr.splitlines()) == (code != 0)
    assert "Traceback" not in done.stderr


def test_several_settings_may_stand_in_one_option(capsys):
    one = solution(capsys, "--set", "key=run,heater switch=on")
    assert one == solution(capsys, *ON)
