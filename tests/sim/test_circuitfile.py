"""Circuit files: what is read of them."""

import math
import re
from dataclasses import replace

import pytest
from ruamel.yaml import YAML

from sim.circuit import Circuit, Fault
from sim.circuitfile import read_circuit
from sim.faults import possible_faults, with_faults
from sim.network import circuit_elements, part_elements
from sim.parts import FAMILIES
from sim.parts.family import Parameter, Way
from sim.parts.family import settings as family_settings
from tests.sim.benchfile import TEXT, Write, fails


def test_the_file_is_read_into_si(write: Write) -> None:
    circuit = read_circuit(write(TEXT))
    assert circuit.name == "bench"
    assert circuit.places["here"].reach_minutes == 1.0
    assert circuit.places["here"].again_minutes == 0.5
    assert circuit.parts["F1"].number("rating") == 10.0
    assert circuit.parts["L1"].values == {"voltage": 12.0, "power": 21.0}
    assert circuit.parts["S1"].number("lamp power") == 1.2
    assert circuit.parts["wire 1"].number("area") == 1.5e-6
    assert circuit.rails == {"30": "link30.2", "31": "body"}
    assert circuit.parts["link30"].number("rating") == 40.0
    assert circuit.controls["light"].positions == ("off", "on")
    assert circuit.effects["lamp lights"].nominal
    assert circuit.effects["lamp lights"].limit == 0.5
    assert [note.likelihood for note in circuit.notes] == [1.5, 1.5]
    assert circuit.notes[1].faults == (Fault("C1", "high resistance", "1", 2.0),)


def test_words_that_yaml_1_1_turns_into_something_else_stay_words(write: Write) -> None:
    circuit = read_circuit(write(TEXT.replace("light: {off, on", "light: {no, 1E9, off, on, 0o7")))
    assert circuit.controls["light"].positions == ("no", "1E9", "off", "on", "0o7")


def test_the_digest_is_that_of_the_file(write: Write) -> None:
    one = read_circuit(write(TEXT)).sha256
    two = read_circuit(write(TEXT + "# a comment\n")).sha256
    assert re.fullmatch("[0-9a-f]{64}", one)
    assert one != two


# Features that the first circuit does without


def test_a_wire_may_be_written_out(write: Write) -> None:
    short = "5: [L1.2, 31, brown, 1.5 mm2, 1 m]"
    long = "5: {from: L1.2, to: 31, colour: brown, length: 1 m, area: 1.5 mm2}"
    assert short in TEXT
    one, two = read_circuit(write(TEXT)), read_circuit(write(TEXT.replace(short, long)))
    assert one.parts["wire 5"] == two.parts["wire 5"]


@pytest.mark.parametrize(
    ("old", "new", "says"),
    [
        ("area: 1.5 mm2", "area: 1.5 A", "wire 5: area: got unit 'A' in '1.5 A'"),
        ("to: 31", "to: L1.9", "'L1.9': a lamp has L1.1, L1.2"),
        ("to: 31", "too: 31", "wires.5.too is not a key that belongs here"),
        ("to: 31, ", "", "wires.5.to is missing; it is needed here"),
        ("to: 31", "to: L1.2", "wire 5: both ends are 'L1.2'"),
    ],
)
def test_a_mistake_in_a_wire_written_out_has_its_own_line(
    write: Write, old: str, new: str, says: str
) -> None:
    long = "5:\n    from: L1.2\n    to: 31\n    colour: brown\n    area: 1.5 mm2\n    length: 1 m"
    new = new.removesuffix(", ") and new
    text = TEXT.replace("5: [L1.2, 31, brown, 1.5 mm2, 1 m]", long)
    old = old.removesuffix(", ")
    said = fails(write(text.replace(f"    {old}\n", f"    {new}\n" if new else "")))
    line = 28 + (new != "") * (long.splitlines().index(f"    {old}"))
    assert said.startswith(f"bench.circuit.yaml:{line}: "), said
    assert says in said


LOOMS = "looms:\n  under the sill: [1, 2, 4]\n  to the lamp: [4, 5]\n"


def test_the_wires_of_a_loom_know_each_other(write: Write) -> None:
    parts = read_circuit(write(TEXT + LOOMS)).parts
    assert parts["wire 1"].values["beside"] == "wire 2|wire 4"
    assert parts["wire 4"].values["beside"] == "wire 1|wire 2|wire 5"
    assert parts["wire 3"].values["beside"] == ""
    assert parts["strap 30"].values["beside"] == ""


def test_a_live_point_beside_a_wire(write: Write, monkeypatch: pytest.MonkeyPatch) -> None:
    long = "5: {from: L1.2, to: 31, colour: brown, area: 1.5 mm2, length: 1 m, supply beside: 30}"
    path = write(TEXT.replace("5: [L1.2, 31, brown, 1.5 mm2, 1 m]", long))
    wire = FAMILIES["wire"]
    knows = {**wire.parameters, "supply beside": Parameter("text", "")}
    monkeypatch.setattr(
        "sim.circuitwires.FAMILIES", {**FAMILIES, "wire": replace(wire, parameters=knows)}
    )
    parts = read_circuit(path).parts
    assert parts["wire 5"].values["supply beside"] == "30"
    assert parts["wire 4"].values["supply beside"] == ""
    path.write_text(path.read_text("utf-8").replace("beside: 30", "beside: 20"), "utf-8")
    assert "28: '20': no part '20'" in fails(path)
    without = {key: one for key, one in wire.parameters.items() if key != "supply beside"}
    monkeypatch.setattr(
        "sim.circuitwires.FAMILIES", {**FAMILIES, "wire": replace(wire, parameters=without)}
    )
    assert "'supply beside' is not a key that this version knows" in fails(path)


@pytest.mark.parametrize(
    ("old", "new", "line", "says"),
    [
        ("[4, 5]", "[4, 9]", 36, "loom to the lamp: wire '9' unknown; wires are 1, 2, 3, 4, 5, 6"),
        ("[4, 5]", "[4, 4]", 36, "loom to the lamp: wire 4 is named twice"),
        ("[4, 5]", "[4]", 36, "loom to the lamp: expected at least 2 wires, got 1"),
        ("[4, 5]", "4", 36, "looms.to the lamp must be a list"),
        ("[4, 5]", "", 36, "looms.to the lamp must be a list, got nothing; fill it or leave it"),
    ],
)
def test_a_mistake_in_a_loom(write: Write, old: str, new: str, line: int, says: str) -> None:
    said = fails(write(TEXT + LOOMS.replace(old, new)))
    assert said.startswith(f"bench.circuit.yaml:{line}: "), said
    assert says in said


def test_a_way_that_never_happens_exists_where_a_file_names_it(
    write: Write, monkeypatch: pytest.MonkeyPatch
) -> None:
    wire = FAMILIES["wire"]
    rare = replace(wire, ways=lambda p: (*wire.ways(p), Way("open now and then", None, (), 0.0)))
    monkeypatch.setattr("sim.faults.FAMILIES", {**FAMILIES, "wire": rare})
    plain = read_circuit(write(TEXT))
    assert not [f for faults, _ in possible_faults(plain) for f in faults if "then" in f.way]
    named = read_circuit(write(TEXT + "  wire 4=open now and then: {cause: chafed}\n"))
    found = [(faults, p) for faults, p in possible_faults(named) if "then" in faults[0].way]
    assert found == [((Fault("wire 4", "open now and then"),), 1.0)]


@pytest.mark.parametrize(
    "name",
    ["wire 1=short to wire 2", "wire 2=short to wire 1", "wire 2=short to wire 1:0.5 ohm"],
)
def test_wires_that_touch_may_be_named_in_either_order(
    write: Write, monkeypatch: pytest.MonkeyPatch, name: str
) -> None:
    """The way belongs to the wire that comes first, whichever the author thinks of first."""
    wire = FAMILIES["wire"]
    touch = Way("short to wire 2", None, (0.5,), 0.0)
    rare = replace(wire, ways=lambda p: (*wire.ways(p), *([touch] if p.name == "wire 1" else [])))
    monkeypatch.setattr("sim.faults.FAMILIES", {**FAMILIES, "wire": rare})
    circuit = read_circuit(write(f"{TEXT}  {name}: {{cause: chafed}}\n"))
    assert circuit.notes[-1].faults == (Fault("wire 1", "short to wire 2", None, 0.5),)
    said = fails(write(f"{TEXT}  wire 3=short to wire 1: {{}}\n"))
    assert "34: wire 3: got 'short to wire 1', a wire fails by open" in said


def test_positions_may_carry_values(write: Write, monkeypatch: pytest.MonkeyPatch) -> None:
    turning = {**FAMILIES, "lamp": replace(FAMILIES["lamp"], setting="rotation")}
    monkeypatch.setattr("sim.circuitparts.FAMILIES", turning)
    engine = "effects:\n"
    text = TEXT.replace(engine, f"  engine: {{off, idle 800 rpm, 2500 rpm, sets: L1}}\n{engine}")
    circuit = read_circuit(write(text))
    assert circuit.parts["L1"].settings == ("off", "idle 800 rpm", "2500 rpm")
    values = dict(family_settings(circuit.parts["L1"], "rotation"))
    assert values["idle 800 rpm"] == pytest.approx(800 * 2 * math.pi / 60)
    said = fails(write(text.replace("2500 rpm", "2500 Hz")))
    assert said.startswith(
        "bench.circuit.yaml:20: engine: position '2500 Hz' sets L1: rotation: got unit 'Hz'"
    )


def test_comments_survive_a_round_trip(write: Write) -> None:
    """An editor's tool that keeps comments writes the same circuit back."""
    yaml = YAML()
    yaml.preserve_quotes = True
    yaml.width = 4096
    text = TEXT.replace("parts:\n", "parts:  # as fitted\n  # the battery is new\n")
    path = write(text)
    before = read_circuit(path)
    data = yaml.load(path)
    with path.open("w", encoding="utf-8") as stream:
        yaml.dump(data, stream)
    after = path.read_text("utf-8")
    assert "# as fitted" in after
    assert "# the battery is new" in after
    assert replace(read_circuit(path), sha256="") == replace(before, sha256="")


def test_shipped_circuits_have_a_network(shipped: Circuit) -> None:
    names = [element.name for element in circuit_elements(shipped)]
    assert len(names) == len(set(names))
    for faults, _likelihood in possible_faults(shipped):
        faulty = with_faults(shipped, faults)
        for name in {fault.part for fault in faults}:
            one, two = (
                [(e.name, e.a, e.b, e.law) for e in part_elements(c.parts[name], c.temperature)]
                for c in (shipped, faulty)
            )
            assert one == two, name
