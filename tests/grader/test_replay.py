"""Replay: the same record passes, and each kind of tampering is named for what it is."""

import json
from collections.abc import Callable
from copy import deepcopy
from dataclasses import replace
from functools import cache
from pathlib import Path
from tempfile import TemporaryDirectory

import pytest

from grader.attempt import Attempt
from grader.draw import Draw
from grader.errors import AttemptError, RecordError
from grader.record import Entry, canonical, line_hash, parse_record
from grader.replay import Mismatch, differences, replay
from tests.grader.foggy import ON, VALUES, foggy, prepared

HINGE = "C41.1=high resistance:0.8 ohm"
DRAWN = Draw(HINGE, VALUES, "tag")
ACTS = (
    {"set": ON},
    {"measure": "volts", "red": "C41.1b", "black": "body"},
    {"ask": "Since when?"},
    {"clamp": "wire 8"},
    {"look": "tailgate hinge"},
    {"unplug": "E9"},
    {"measure": "volts", "red": "E9.2", "black": "E9.1b"},
    {"wait": "7.4074068 min"},
    {"measure": "volts", "red": "E9.2b", "black": "E9.1b"},
    {"plug": "E9"},
    {"measure": "amps", "red": "B1.+", "black": "B1.-"},
)


@cache
def original() -> bytes:
    with TemporaryDirectory() as folder:
        path = Path(folder) / "a.record.jsonl"
        with Attempt(prepared().lineup, DRAWN, "kim", path) as one:
            for do in ACTS:
                one.act(do)
            one.strike(["K3=coil open"])
            one.restore(["K3=coil open"])
            one.note("heat at the hinge")
            one.call("relay K3", "K3=coil open")
            one.call("hinge joint", HINGE)
            one.act({"wait": "5 min"})
            one.act({"watch": "rear window clears"})
            one.close()
        return path.read_bytes()


def lines() -> list[dict]:
    return [json.loads(line) for line in original().splitlines()]


def chained(data: list[dict]) -> list[Entry]:
    """Give the entries of lines numbered and hashed anew, as one who knows the format would."""
    prev, raw = "", b""
    for number, line in enumerate(data):
        line.update(n=number, prev=prev)
        prev = line["hash"] = line_hash(line)
        raw += canonical(line).encode() + b"\n"
    return parse_record(raw, "a.record.jsonl")


def mismatches(entries: list[Entry]) -> tuple[Mismatch, ...]:
    return replay(prepared().lineup, DRAWN, "kim", entries).mismatches


def tampered(change: Callable[[list[dict]], object]) -> tuple[Mismatch, ...]:
    data = deepcopy(lines())
    change(data)
    return mismatches(chained(data))


def number_of(do: dict, which: int = 0) -> int:
    return [line["n"] for line in lines() if line.get("do") == do][which]


VOLTS = number_of(ACTS[1])
CLAMP, LOOK = VOLTS + 2, VOLTS + 3


def test_the_record_itself_passes_and_ends_mended_and_closed():
    played = replay(prepared().lineup, DRAWN, "kim", parse_record(original(), "a"))
    assert played.mismatches == ()
    assert played.vehicle.progress.mended
    assert played.vehicle.progress.closed
    assert played.vehicle.progress.calls == ["relay K3", "hinge joint"]
    assert len(played.entries) == len(lines())


def test_hashed_anew_and_not_changed_it_passes():
    assert tampered(lambda data: None) == ()


def test_loose_wires_are_among_what_is_replayed():
    assert any(line.get("shown", {}).get("steady") is False for line in lines())
    assert any(line.get("harm") for line in lines())


@pytest.mark.parametrize("at", [VOLTS, LOOK])
def test_a_reading_edited_without_the_hash_breaks_the_chain(at):
    raw = original().splitlines(keepends=True)
    shown = lines()[at]["shown"]
    key = "value" if "value" in shown else "words"
    raw[at] = raw[at].replace(json.dumps(shown[key]).encode(), b'"12.31"')
    with pytest.raises(RecordError, match=f":{at + 1}: edited"):
        parse_record(b"".join(raw), "a.record.jsonl")


def set_shown(at: int, **shown: object) -> Callable[[list[dict]], None]:
    return lambda data: data[at]["shown"].update(shown)


TAMPERED = {
    "another value": (set_shown(VOLTS, value="12.31"), VOLTS, "shown is"),
    "a power of ten": (set_shown(VOLTS, value="1E+1"), VOLTS, "shown is"),
    "more digits": (
        lambda data: set_shown(VOLTS, value=data[VOLTS]["shown"]["value"] + "4")(data),
        VOLTS,
        "shown is",
    ),
    "fewer digits": (set_shown(VOLTS, value="7"), VOLTS, "shown is"),
    "no number": (set_shown(VOLTS, value="NaN"), VOLTS, "shown is"),
    "no end of volts": (set_shown(VOLTS, value="Infinity"), VOLTS, "shown is"),
    "a bare number": (set_shown(VOLTS, value=7.1), VOLTS, "shown is"),
    "another unit": (set_shown(VOLTS, unit="mV"), VOLTS, "shown is"),
    "wandering": (set_shown(VOLTS, steady=False), VOLTS, "shown is"),
    "other words": (set_shown(LOOK, words="nothing out of the ordinary"), LOOK, "shown is"),
    "nothing shown": (lambda data: data[VOLTS].pop("shown"), VOLTS, "shown is None"),
    "fewer minutes": (lambda data: data[VOLTS].update(minutes="0.2"), VOLTS, "minutes is '0.2'"),
    "another clock": (lambda data: data[VOLTS].update(clock="0.2"), VOLTS, "clock is '0.2'"),
    "harm added": (lambda data: data[VOLTS].update(harm=["F7 has blown"]), VOLTS, "harm is"),
    "harm hidden": (lambda data: data[11].update(harm=[]), 11, "harm is []"),
    "another answer": (lambda data: data[3]["shown"].update(words="Since ever."), 3, "shown is"),
    "another point": (lambda data: data[VOLTS]["do"].update(red="C41.1a"), VOLTS, "shown is"),
    "no such point": (lambda data: data[VOLTS]["do"].update(red="Z9"), VOLTS, "cannot be done"),
    "no such verb": (lambda data: data[VOLTS].update(do={"hope": "so"}), VOLTS, "cannot be done"),
    "a list done": (lambda data: data[VOLTS].update(do=[]), VOLTS, "cannot be done"),
    "nothing done": (lambda data: data[VOLTS].pop("do"), VOLTS, "cannot be done"),
    "nobody struck": (lambda data: data[12].update(suspects=["nobody"]), 12, "unknown"),
    "a number struck": (lambda data: data[12].update(suspects=7), 12, "cannot be done"),
    "a cheap call": (lambda data: data[15].update(minutes="1"), 15, "minutes is '1'"),
    "no such unit": (lambda data: data[15].update(unit="engine"), 15, "unit 'engine' unknown"),
    "cause elsewhere": (lambda data: data[15].update(cause=HINGE), 15, "is not in 'relay K3'"),
    "no option": (lambda data: data[15].pop("option"), 15, "cannot be done"),
}


@pytest.mark.parametrize("name", TAMPERED)
def test_an_edited_line_hashed_anew_is_found_by_the_simulator(name):
    change, at, says = TAMPERED[name]
    found = tampered(change)
    assert found[0].line == at
    assert says in found[0].text
    assert "\n" not in found[0].text


def test_a_reading_left_out_is_found_by_what_comes_after_it():
    found = tampered(lambda data: data.pop(VOLTS))
    assert found
    assert "clock is" in found[0].text


def test_a_wrong_call_left_out_is_found():
    found = tampered(lambda data: data.pop(15))
    assert found
    assert found[0].line == 15


def test_what_comes_after_the_end_is_named():
    extra = dict(lines()[1])
    found = tampered(lambda data: data.append(extra))
    assert [one.line for one in found] == [len(lines())]
    assert "closed" in found[0].text


def test_a_call_after_the_right_one_is_named():
    extra = dict(lines()[15])
    found = tampered(lambda data: data.insert(17, extra))
    assert found[0].line == 17
    assert "mended" in found[0].text


def counted(value: str, counts: int) -> str:
    """Give a displayed number some counts of its last digit more."""
    decimals = len(value.partition(".")[2])
    return f"{float(value) + counts * 10**-decimals:.{decimals}f}"


@pytest.mark.parametrize("at", [VOLTS, CLAMP, number_of(ACTS[6])])
@pytest.mark.parametrize(("counts", "passes"), [(-2, False), (-1, True), (1, True), (2, False)])
def test_one_count_in_the_last_digit_is_tolerated_and_two_are_not(at, counts, passes):
    value = counted(lines()[at]["shown"]["value"], counts)
    found = tampered(set_shown(at, value=value))
    assert (found == ()) == passes


@pytest.mark.parametrize(
    ("key", "value", "says"),
    [
        ("case", "other-case", "another case's record: case is 'other-case'"),
        ("case_sha256", "0" * 64, "made with another version of the case"),
        ("circuit_sha256", "0" * 64, "made with another version of the circuit"),
        ("student", "ada", "another student's record: student is 'ada', expected 'kim'"),
        ("draw", "other", "another draw"),
    ],
)
def test_what_the_record_belongs_to_is_checked_first(key, value, says):
    data = deepcopy(lines())
    data[0][key] = value
    with pytest.raises(AttemptError, match=says) as caught:
        mismatches(chained(data))
    assert "\n" not in str(caught.value)


def test_on_another_cause_the_readings_do_not_fit():
    """Somebody else's readings under the own name and draw."""
    entries = parse_record(original(), "a")
    other = Draw("X7=open", VALUES, "tag")
    found = replay(prepared().lineup, other, "kim", entries).mismatches
    assert found[0].line == VOLTS


def test_on_another_version_of_the_case_it_is_no_forgery():
    lineup = replace(prepared().lineup, case=replace(foggy(), sha256="1" * 64))
    with pytest.raises(AttemptError, match="another version"):
        replay(lineup, DRAWN, "kim", parse_record(original(), "a"))


def test_a_record_without_its_end_is_replayed_and_not_closed():
    entries = parse_record(original(), "a")[:-1]
    played = replay(prepared().lineup, DRAWN, "kim", entries)
    assert played.mismatches == ()
    assert not played.vehicle.progress.closed


def test_differences_are_told_key_by_key():
    one = {"minutes": "1.0", "clock": "2.0", "harm": [], "shown": {"words": "a"}, "at": "now"}
    two = {**one, "minutes": "1.2", "shown": {"words": "b"}, "at": "then"}
    assert differences(one, dict(one)) == []
    assert [text.partition(" ")[0] for text in differences(one, two)] == ["minutes", "shown"]


@pytest.mark.parametrize(
    ("old", "new", "same"),
    [
        ("0 100 200", "0 101 199", True),
        ("0 100 200", "0 102 200", False),
        ("0 100 200", "0 100", False),
        ("12.53 V", "12.54 V", True),
        ("12.53 V", "12.53 mV", False),
        ("12.53 V", "12.55 V", False),
        ("612", "613", True),
        ("F7 has blown", "F9 has blown", False),
        ("1 of 3", "2 of 3", False),
    ],
)
def test_further_figures_and_curves_are_compared_count_by_count(old, new, same):
    shown = [{"shown": {"words": "screen", "also": {"A samples": text}}} for text in (old, new)]
    assert (differences(*shown) == []) == same


@pytest.mark.parametrize(
    "line",
    [
        b'{"kind":"open","x":"\\ud800"}',
        b'{"kind":"open","x":' + b"9" * 5000 + b"}",
        b'{"kind":"open","x":' + b"[" * 100_000 + b"]" * 100_000 + b"}",
        b'{"kind":"open"',
        b"\xff\xfe",
    ],
    ids=["half a character", "huge number", "deep", "cut", "no text"],
)
def test_a_line_that_nobody_wrote_is_named_and_nothing_worse_happens(line):
    with pytest.raises(RecordError, match=r"a:1: edited") as caught:
        parse_record(line + b"\n", "a")
    assert "\n" not in str(caught.value)
