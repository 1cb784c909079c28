"""Circuit files that are refused: every mistake is one line with file and line number."""

import os
import re
from pathlib import Path

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from sim.circuitfile import read_circuit, read_through
from sim.errors import CircuitFileError
from sim.network import circuit_elements
from tests.sim.benchfile import TEXT, Write, fails

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
    (
        "C1.1=high resistance",
        "C1.3=high resistance",
        33,
        "C1.3: got 'high resistance', but a connector fails at C1.1",
    ),
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
        (
            "a: 1\nparts:\n  F1 {kind: blade fuse, rating: 5 A}\n",
            "3: not YAML: mapping values are not allowed here; a colon is missing after a name",
        ),
        (
            "a: 1\nrails\nwires: {}\n",
            "2: not YAML: could not find expected ':'; a colon is missing after the name in this",
        ),
        (
            "a: {b: 1,\n  c: 2\nd: 3\n",
            "3: not YAML: expected ',' or '}', but got ':'; the bracket opened in line 1 is not",
        ),
        (
            "a: 'driver's seat'\n",
            "1: not YAML: expected <block end>, but found '<scalar>'; a text with a quote",
        ),
        (
            'a: 1\nb: "open\nc: 2\n',
            "4: not YAML: found unexpected end of stream; the quote opened in line 2 is not closed",
        ),
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


def test_a_letter_in_another_coding_is_named_with_its_line(tmp_path: Path) -> None:
    path = tmp_path / "bench.circuit.yaml"
    path.write_bytes("format: circuit\nversion: 1\ntitle: Rückfahrlampe\n".encode("latin-1"))
    assert fails(path) == "bench.circuit.yaml:3: byte 35 is not UTF-8; save the file as UTF-8"


def test_what_to_do_about_a_section_without_entries(write: Write) -> None:
    """One that every file needs cannot be left out."""
    said = fails(write(re.sub(r"(?m)^wires:\n(?:  .*\n)+", "wires:\n", TEXT)))
    assert "got nothing; fill it, or write wires: {} if there is nothing to say" in said
