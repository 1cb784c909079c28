"""Circuit files: what is read, and that every mistake is one line with file and line number."""

import math
import os
import re
from collections.abc import Callable
from dataclasses import replace
from pathlib import Path

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st
from ruamel.yaml import YAML

from sim.circuit import Circuit, Fault
from sim.circuitfile import read_circuit, read_through
from sim.errors import CircuitFileError
from sim.faults import possible_faults, with_faults
from sim.network import circuit_elements, part_elements
from sim.parts import FAMILIES
from sim.parts.family import Parameter, Way
from sim.parts.family import settings as family_settings

Write = Callable[[str], Path]

TEXT = """\
format: circuit
version: 1
id: bench
title: A lamp on a switch
vehicle: none
places:
  here: {reach: 1 min, again: 30 s, note: on the bench}
parts:
  B1: {kind: battery, at: here}
  F1: {kind: blade fuse, rating: 10 A, at: here}
  S1: {kind: switch, at: here, lamp: 12 V 1.2 W}
  K1: {kind: relay, suppression: diode, at: here}
  C1: {kind: connector, pins: 2, at: here}
  L1: {kind: lamp, power: 21 W at 12 V, at: here}
rails:
  "30": B1.+ through a 40 A link
  "31": body
controls:
  light: {off, on, sets: S1}
effects:
  lamp lights: L1 power >= 50 % of nominal
  fuse holds: F1 carries current
wires:
  1: [30, F1.1, red, 1.5 mm2, 1 m]
  2: [F1.2, S1.in, red, 1.5 mm2, 1 m]
  3: [S1.out, C1.1a, blue, 1.5 mm2, 1 m]
  4: [C1.1b, L1.1, blue, 1.5 mm2, 1 m]
  5: [L1.2, 31, brown, 1.5 mm2, 1 m]
  6: [B1.-, 31, black, 16 mm2, 0.3 m]
diagram:
  1: [30, F1, S1, L1, 31]
faults:
  C1.1=high resistance: {likelihood: 3, severity: [1 ohm, 2 ohm], cause: green}
"""


@pytest.fixture
def write(tmp_path: Path) -> Write:
    def put(text: str) -> Path:
        path = tmp_path / "bench.circuit.yaml"
        path.write_text(text, "utf-8")
        return path

    return put


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


#: What is replaced, by what, and what the one line says after `bench.circuit.yaml:LINE: `.
MISTAKES = [
    ("format: circuit", "format: case", 1, "format must be 'circuit', got 'case'"),
    ("version: 1\n", "version: 0\n", 2, "too old"),
    ("version: 1\n", "version: 2\n", 2, "too new"),
    ("version: 1\n", "version: one\n", 2, "whole number"),
    ("version: 1\n", f"version: {'9' * 5000}\n", 2, "whole number"),
    ("title: A lamp on a switch\n", "", 1, "title is missing"),
    ("vehicle: none", "vehicle: [a]", 5, "vehicle must be plain text"),
    ("diagram:", "diagramm:", 30, "diagramm is not a key that belongs here"),
    ("again: 30 s", "again: 30 m", 7, "got unit 'm'"),
    ("again: 30 s", "again: 2 min", 7, "again must lie between 0 and reach"),
    ("again: 30 s, note: on the bench", "rest: 1", 7, "places.here.again is missing"),
    ("B1: {kind: battery,", "B1: {kind: batery,", 9, "kind 'batery' unknown; kinds are battery"),
    ("B1: {kind: battery,", "B1: {kind: wire,", 9, "kind 'wire' unknown"),
    ("B1: {kind: battery, at: here", "B1: {kind: battery, at: there", 9, "place 'there' unknown"),
    ("L1: {kind: lamp, power: 21 W at 12 V,", "L1: {kind: lamp,", 14, "a lamp needs 'power'"),
    ("rating: 10 A", "rating: 10 V", 10, "got unit 'V' in '10 V', expected one of: A"),
    ("rating: 10 A", "rating: 10", 10, "got unit ''"),
    ("rating: 10 A", "rating: ten A", 10, "expected a number"),
    ("rating: 10 A", "rating: 0 A", 10, "rating must be above 0"),
    ("rating: 10 A", "rating: -5 A", 10, "rating must be above 0"),
    ("rating: 10 A", "ratings: 10 A", 10, "needs 'rating'"),
    ("rating: 10 A", "rating: 10 A, colour: red", 10, "'colour' unknown; a blade fuse has"),
    ("pins: 2", "pins: 1.5", 13, "pins must be a whole number"),
    ("suppression: diode", "suppression: zener", 12, "suppression must be none or diode"),
    ("suppression: diode", "drop-out: 8 V", 12, "drop-out must lie below pull-in"),
    ("at: here, lamp: 12 V 1.2 W", "at: here, lamp: 12 V", 11, "power: got ''"),
    ("at: here, lamp: 12 V 1.2 W", "at: here, lamp voltage: 12 V", 11, "look at lamp power"),
    ("at: here, lamp: 12 V 1.2 W", "at: here, latching: maybe", 11, "must be yes or no"),
    ("B1: {kind", "B.1: {kind", 9, "no dots"),
    ("B1: {kind", "body: {kind", 9, "not 'body'"),
    ("B1.+ through a 40 A link", "B1.+ through 40 A", 16, "expected `POINT`"),
    ("B1.+ through a 40 A link", "B2.+ through a 40 A link", 16, "no part 'B2'"),
    ("B1.+ through a 40 A link", "B1.x", 16, "a battery has B1.+, B1.-"),
    ("light: {off, on, sets: S1}", "light: {off, on, sets: S2}", 19, "unknown part 'S2'"),
    ("light: {off, on, sets: S1}", "light: {off, on}", 19, "needs at least two positions"),
    ("light: {off, on, sets: S1}", "light: {on, sets: S1}", 19, "needs at least two positions"),
    ("light: {off, on, sets: S1}", "light: {off: 1, on, sets: S1}", 19, "takes no value"),
    ("L1 power >= 50 % of nominal", "L1 glows", 21, "expected PART changes state"),
    ("L1 power >= 50 % of nominal", "L9 power >= 5 W", 21, "expected PART changes state"),
    ("L1 power >= 50 % of nominal", "L1 power >= 5 A", 21, "got unit 'A'"),
    ("L1 power >= 50 % of nominal", "L1 carries current, at home", 21, "place 'home' unknown"),
    ("F1.1, red", "F1.3, red", 24, "'F1.3': a blade fuse has F1.1, F1.2"),
    ("F1.1, red", "F2.1, red", 24, "no part 'F2'"),
    ("[30, F1.1", "[15, F1.1", 24, "'15': no part '15'"),
    ("S1.out, C1.1a", "S1.out, C1.1", 26, "a connector has C1.1a, C1.1b, C1.2a, C1.2b"),
    ("F1.1, red, 1.5 mm2, 1 m]", "F1.1, red, 1.5 mm2]", 24, "got 4 items"),
    ("F1.1, red, 1.5 mm2, 1 m]", "F1.1, red, 1.5 m, 1 m]", 24, "area: got unit 'm'"),
    ("F1.1, red, 1.5 mm2, 1 m]", "F1.1, red, 1.5 mm2, 0 m]", 24, "must be above 0"),
    ("likelihood: 3", "likelihood: 0", 33, "likelihood must be above 0"),
    ("likelihood: 3", "likelihood: often", 33, "expected a number"),
    ("cause: green", "cause: green, seen: {away: x}", 33, "place 'away' unknown"),
    ("C1.1=high resistance", "C1.3=high resistance", 33, "a connector fails by"),
    ("C1.1=high resistance", "C9.1=high resistance", 33, "no such part"),
    ("severity: [1 ohm, 2 ohm]", "severity: [1 V]", 33, "got unit 'V'"),
    ("severity: [1 ohm, 2 ohm]", "severity: 1 ohm", 33, "must be a list"),
    ("id: bench", "id: &a bench", 3, "anchors and aliases"),
    ("id: bench", "id: bench\nid: bench", 4, "'id' is given twice"),
    ("id: bench", "? [a]\n: b", 3, "a key must be plain text"),
    ("id: bench", "id: [bench", 4, "not YAML"),
    ("id: bench", "id: \tbench: x", 3, "not YAML"),
]


@pytest.mark.parametrize(
    ("old", "new", "line", "says"), MISTAKES, ids=[f"{m[1][:30]}: {m[3]}" for m in MISTAKES]
)
def test_a_mistake_is_one_line_that_says_where(
    write: Write, old: str, new: str, line: int, says: str
) -> None:
    assert old in TEXT
    with pytest.raises(CircuitFileError) as caught:
        read_circuit(write(TEXT.replace(old, new, 1)))
    message = str(caught.value)
    assert "\n" not in message
    assert message.startswith(f"bench.circuit.yaml:{line}: "), message
    assert says in message


def fails(path: Path) -> str:
    with pytest.raises(CircuitFileError) as caught:
        read_circuit(path)
    message = str(caught.value)
    assert "\n" not in message
    assert "bench" in message
    return message


def test_a_missing_file(tmp_path: Path) -> None:
    assert "cannot be read" in fails(tmp_path / "bench.circuit.yaml")


def test_a_directory(tmp_path: Path) -> None:
    (tmp_path / "bench.circuit.yaml").mkdir()
    assert "cannot be read" in fails(tmp_path / "bench.circuit.yaml")


def test_another_encoding(tmp_path: Path) -> None:
    path = tmp_path / "bench.circuit.yaml"
    path.write_bytes(TEXT.replace("A lamp", "Lämp").encode("latin-1"))
    assert "not UTF-8" in fails(path)


@pytest.mark.parametrize("text", ["", "- a\n- b\n", "circuit", "\0", "a: b: c", "%YAML 9.9\n---\n"])
def test_what_is_no_mapping(write: Write, text: str) -> None:
    assert fails(write(text)).startswith("bench.circuit.yaml:")


def test_ten_megabytes_are_refused_unread(write: Write) -> None:
    assert "allowed at most 1000000" in fails(write(TEXT + "#" * 10_000_000))


def test_a_bomb_of_aliases(write: Write) -> None:
    lines = ["a0: &a0 [x, x]"] + [f"a{n + 1}: &a{n + 1} [*a{n}, *a{n}]" for n in range(60)]
    assert "anchors and aliases" in fails(write("\n".join(lines)))


@pytest.mark.parametrize("text", ["[" * 400_000, "a: " + "{b: " * 40, "- " * 5000 + "x"])
def test_a_bomb_of_levels(write: Write, text: str) -> None:
    assert fails(write(text)).startswith("bench.circuit.yaml:")


def test_the_parser_s_own_levels_are_counted(write: Write) -> None:
    deep = "x: " + "{a: " * 14 + "b" + "}" * 14
    assert "nested deeper than 12 levels" in fails(write(f"{TEXT}{deep}\n"))


@settings(max_examples=60)
@given(data=st.data())
def test_a_damaged_file_reads_or_is_refused_in_one_line(
    data: st.DataObject, tmp_path_factory: pytest.TempPathFactory
) -> None:
    """Cut, doubled or overwritten anywhere, the file never brings anything else about."""
    at = data.draw(st.integers(0, len(TEXT)))
    length = data.draw(st.integers(0, 40))
    instead = data.draw(st.text(st.sampled_from("{}[]:,&*#!|>'\"%@` \n\tab19.-+=~"), max_size=12))
    path = tmp_path_factory.mktemp("damaged") / "bench.circuit.yaml"
    path.write_text(TEXT[:at] + instead + TEXT[at + length :], "utf-8")
    try:
        circuit = read_circuit(path)
    except CircuitFileError as error:
        assert "\n" not in str(error)  # noqa: PT017 -- either outcome is right
        return
    circuit_elements(circuit)


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


def test_every_mistake_is_in_one_reading(write: Write) -> None:
    text = TEXT
    for old, new in (
        ("again: 30 s", "again: 30 m"),
        ("rating: 10 A", "rating: 10 V"),
        ("F1.1, red, 1.5 mm2", "F1.3, red, 1.5 mm"),
        ("L1 power >= 50 %", "L2 power >= 50 %"),
        ("likelihood: 3", "likelihood: often"),
        ("title: A", "titel: A"),
    ):
        text = text.replace(old, new, 1)
    found = read_through(write(text)).mistakes
    assert [one.line for one in found] == [4, 7, 10, 21, 24, 24, 33]
    assert fails(write(text)).endswith("(and 6 more: see halfsplit check)")


def test_nothing_that_hangs_on_a_mistake_is_called_wrong_too(write: Write) -> None:
    found = read_through(write(TEXT.replace("B1: {kind: battery", "B1: {kind: batery"))).mistakes
    assert [one.line for one in found] == [9]
    found = read_through(write(TEXT.replace("pins: 2", "pins: two"))).mistakes
    assert [one.line for one in found] == [13]
    found = read_through(write(TEXT.replace("  here: {reach", "  here: {raech"))).mistakes
    assert [one.line for one in found] == [7]
    found = read_through(write(TEXT.replace("C1: {kind", "C1: {kind: connector, kind"))).mistakes
    assert [one.line for one in found] == [13]


# What is no circuit file at all


@pytest.mark.parametrize(
    ("text", "says"),
    [
        ("", "1: expected entries of the form `key: value`, got an empty file"),
        ("# only a comment\n", "1: expected entries of the form `key: value`, got an empty file"),
        ("- a\n- b\n", "1: expected entries of the form `key: value`, got a list"),
        ("circuit\n", "1: expected entries of the form `key: value`, got one word"),
        ("a:\n\tb: c\n", "2: not YAML: found character '\\t' that cannot start any token; indent"),
        ("a: b\nc: d\x07\n", "2: not YAML: the character U+0007 is not allowed; a circuit"),
        (
            "id: !!python/object/apply:os.system [ls]\n",
            "1: the tag tag:yaml.org,2002:python/object",
        ),
        ("id: !own x\n", "1: the tag !own is not allowed"),
        ("id: a\n---\nid: b\n", "2: not YAML: but found another document"),
    ],
)
def test_what_else_is_refused(write: Write, text: str, says: str) -> None:
    assert fails(write(text)).startswith(f"bench.circuit.yaml:{says}")


def test_a_picture_is_refused(tmp_path: Path) -> None:
    path = tmp_path / "bench.circuit.yaml"
    path.write_bytes(b"\x89PNG\r\n\x1a\n\x00\x00\x00\rIHDR")
    assert "byte 0 is not UTF-8; save the file as UTF-8" in fails(path)


@pytest.mark.skipif(not hasattr(os, "mkfifo"), reason="no named pipes here")
def test_a_pipe_is_refused_unread(tmp_path: Path) -> None:
    path = tmp_path / "bench.circuit.yaml"
    os.mkfifo(path)
    assert "it is no plain file" in fails(path)


def test_a_bomb_among_sound_entries_is_one_mistake_of_many(write: Write) -> None:
    bomb = "".join(f"x{n}: &x{n} [*x{n - 1}, *x{n - 1}]\n" for n in range(1, 40))
    text = TEXT.replace("rating: 10 A", "rating: 10 V") + f"x0: &x0 [a, a]\n{bomb}"
    lines = [one.line for one in read_through(write(text)).mistakes]
    assert lines[0] == 10
    assert set(range(34, 74)) <= set(lines)


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
