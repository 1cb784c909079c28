"""A case file becomes a Case, and every mistake in it is one line with file and line."""

import pytest

from grader.casefile import Case, read_case, sha256_of
from grader.errors import CaseFileError
from grader.suspects import line_up
from sim.action import Action
from tests.grader.foggy import FILE, LESSONS, foggy

TEXT = FILE.read_text(encoding="utf-8")
CIRCUITS = LESSONS / "circuits"
FOGGED = (
    "set: {key: run, heater switch: on}, wait: 5 min, "
    "sees: {rear window clears: no, switch lamp lights: yes}"
)


def read(tmp_path, text: str) -> Case:
    file = tmp_path / "a.case.yaml"
    file.write_text(text, encoding="utf-8")
    return read_case(file, CIRCUITS)


def line_of(text: str, part: str) -> int:
    return text[: text.index(part)].count("\n") + 1


def changed(old: str, new: str) -> str:
    assert TEXT.count(old) >= 1, old
    return TEXT.replace(old, new, 1)


def test_the_shipped_case_is_read_as_it_is_written():
    case = foggy()
    assert (case.name, case.order, case.circuit.name) == (
        "foggy-window",
        "0417",
        "rear-window-heater",
    )
    on = Action("set", settings=(("key", "run"), ("heater switch", "on")))
    assert case.confirm.doing == (on, Action("wait", seconds=300.0))
    assert dict(case.confirm.sees) == {"rear window clears": "no", "switch lamp lights": "yes"}
    assert case.shows == (case.confirm,)
    assert dict(case.start) == {"key": "off", "heater switch": "off", "horn button": "released"}
    assert case.varies == {
        "B1.charge": (pytest.approx(0.7), pytest.approx(0.95)),
        "temperature": (-2.0, 12.0),
    }
    asked = case.questions[0]
    assert (asked.ask, asked.minutes) == ("Since when?", 1.0)
    assert dict(asked.likelier) == {"C41": 3.0, "X7": 2.0}
    assert [check.action for check in case.verify] == [
        Action("watch", "rear window clears"),
        Action("clamp", "wire 8"),
        Action("clamp", "wire 8"),
    ]
    assert [check.between for check in case.verify] == [None, (11.0, 16.0), (-0.3, 0.3)]
    assert (case.rate, case.dear) == (1.0, 60.0)
    weights = case.weights
    assert (weights.efficiency, weights.right_call, weights.reasoning) == (40.0, 25.0, 15.0)
    assert (weights.safe_work, weights.checked) == (10.0, 10.0)


def test_units_have_labour_prices_and_the_places_of_their_parts():
    glass = foggy().unit("window glass")
    assert glass.labour_minutes == 150.0
    assert (glass.cheapest.name, glass.cheapest.price, glass.cheapest.days) == ("used", 90.0, 2.0)
    assert glass.places == ("tailgate inside",)
    # a wire is mended where it ends
    assert foggy().unit("wire 8").places == ("fuse panel", "tailgate hinge")
    assert foggy().unit("wire 5").places == ("fuse panel",)
    with pytest.raises(KeyError):
        foggy().unit("flux capacitor")


def test_a_repair_in_vain_costs_labour_part_and_the_check():
    # 2 min and 9 at 1 a minute; the check: 5 min waited at a tenth, and one minute of looking
    assert foggy().minutes_of(foggy().unit("relay K3")) == pytest.approx(2 + 9 + 0.5 + 1.0)


def test_line_endings_do_not_change_the_version(tmp_path):
    file = tmp_path / "a.case.yaml"
    file.write_bytes(TEXT.replace("\n", "\r\n").encode())
    assert read_case(file, CIRCUITS).sha256 == foggy().sha256 == sha256_of(TEXT)


def test_a_control_left_out_at_the_start_is_in_its_first_position(tmp_path):
    case = read(
        tmp_path,
        changed("start: {key: off, heater switch: off, horn button: released}", "start: {}"),
    )
    assert dict(case.start) == dict(foggy().start)


MISTAKES = {
    "not YAML": ("start: {key: off", "start: {key: [off", "not YAML"),
    "unknown key": ('order: "0417"', 'order: "0417"\ncolour: red', "colour is not a key"),
    "unknown key in a unit": ("labour: 2 min, opt", "labour: 2 min, labor: 2, opt", "labor is not"),
    "key twice": ('order: "0417"', 'order: "0417"\norder: "0418"', "given twice"),
    "missing key": ('order: "0417"\n', "", "order is missing"),
    "other format": ("format: case", "format: circuit", "format must be 'case'"),
    "no version": ("version: 1", "version: one", "must be a whole number"),
    "too new": ("version: 1", "version: 2", "too new"),
    "too old": ("version: 1", "version: 0", "too old"),
    "unknown circuit": ("circuit: rear-window-heater", "circuit: radio", "'radio' not found"),
    "unknown control": ("start: {key: off", "start: {wiper: off", "control 'wiper' unknown"),
    "unknown position": ("start: {key: off", "start: {key: on", "got 'on', positions are off"),
    "no complaint simulated": (
        f"  - {{{FOGGED}}}\nquestions",
        "  []\nquestions",
        "must `set` what the customer set",
    ),
    "unknown effect": (
        "sees: {rear window clears: no",
        "sees: {it flies: no",
        "effect to watch 'it flies' unknown",
    ),
    "effect that is heard": (
        "sees: {rear window clears: no",
        "sees: {relay clicks: no",
        "'relay clicks' is heard, not watched; listen to K3",
    ),
    "neither yes nor no": ("rear window clears: no", "rear window clears: maybe", "yes or no"),
    "wait that is none": ("wait: 5 min, sees", "wait: 5, sees", "expected one of: s, ms, min"),
    "wait backwards": ("wait: 5 min, sees", "wait: -5 min, sees", "allowed above 0"),
    "question about no part": ("{C41: 3, X7: 2}", "{C99: 3}", "part 'C99' unknown"),
    "factor of nothing": ("{C41: 3, X7: 2}", "{C41: 0}", "factor must be above 0"),
    "minutes in words": ("Since when?, minutes: 1", "Since when?, minutes: one", "a number"),
    "minutes below nothing": ("Since when?, minutes: 1", "Since when?, minutes: -1", "from 0"),
    "check of nothing": ("do: {watch: rear window clears}", "do: {hope: it}", "exactly one of"),
    "check that shows nothing": ("do: {clamp: wire 8}", "do: {pull: F7}", "pull shows nothing"),
    "check of no wire": ("do: {clamp: wire 8}", "do: {clamp: wire 80}", "'wire 80' unknown"),
    "check of no point": (
        "do: {clamp: wire 8}, between: [11 A, 16 A]",
        "do: {measure: volts, red: Z1, black: body}, between: [11 V, 16 V]",
        "no such point",
    ),
    "words without expect": (", expect: yes}", "}", "watch shows words: give `expect`"),
    "number without between": (", between: [11 A, 16 A]", "", "give `between"),
    "between one": ("between: [11 A, 16 A]", "between: [11 A]", "lowest, highest"),
    "between three": ("between: [11 A, 16 A]", "between: [11 A, 12 A, 16 A]", "lowest, highest"),
    "between backwards": ("between: [11 A, 16 A]", "between: [16 A, 11 A]", "lowest is above"),
    "between volts": ("between: [11 A, 16 A]", "between: [11 V, 16 V]", "got unit 'V'"),
    "varies one": ("B1.charge: [70 %, 95 %]", "B1.charge: [70 %]", "[lowest, highest], got 1"),
    "varies nothing known": ("B1.charge: [", "B1.colour: [", "expected `temperature` or PART"),
    "varies misspelt": ("B1.charge: [", "B1.chrge: [", "parameter; did you mean 'B1.charge'?"),
    "varies no part": ("B1.charge: [", "B9.charge: [", "expected `temperature` or PART"),
    "varies a text": ("B1.charge: [70 %, 95 %]", "K3.like: [a, b]", "expected `temperature`"),
    "varies out of bounds": ("[70 %, 95 %]", "[70 %, 195 %]", "from 0 % to 100 %"),
    "varies backwards": ("[70 %, 95 %]", "[95 %, 70 %]", "lowest is above highest"),
    "rate of nothing": ("rate: 1 ", "rate: 0 ", "rate: got '0'"),
    "dear below nothing": ("dear: 60 ", "dear: -1 ", "dear: got '-1'"),
    "unit mends no part": ("mends: [K3=*]", "mends: [K9=*]", "no such part"),
    "unit mends no way": ("mends: [E9=line open]", "mends: [E9=melted]", "E9 fails by line open"),
    "unit mends no terminal": ("mends: [C41.1=*]", "mends: [C41.7=*]", "does not fail by itself"),
    "unit mends a part of terminals": ("mends: [C41.1=*]", "mends: [C41=*]", "name a terminal"),
    "unit mends a way of its terminals": ("mends: [K3=*]", "mends: [K3=open]", "K3 fails by coil"),
    "unit mends no such severity": ("[C41.1=*]", "['C41.1=high resistance:1 A']", "unit 'A'"),
    "unit mends nothing": ("mends: [K3=*]", "mends: []", "mends nothing"),
    "unit without option": (
        "labour: 2 min, options: {new: {price: 9}}",
        "labour: 2 min, options: {}",
        "at least one",
    ),
    "price below nothing": ("{new: {price: 9}}", "{new: {price: -9}}", "price: got '-9'"),
    "labour below nothing": ("labour: 2 min", "labour: -2 min", "labour: got '-2 min'"),
    "labour without unit": ("labour: 2 min", "labour: 2", "expected one of: s, ms, min"),
    "unit at no place": ("mends: [K3=*], ", "mends: [K3=*], at: [roof], ", "place 'roof' unknown"),
    "unknown weight": ("rate: 1 ", "weights: {luck: 10}\nrate: 1 ", "weight 'luck' unknown"),
    "weights beyond 100": ("rate: 1 ", "weights: {checked: 20}\nrate: 1 ", "sum to 110"),
    "weight below nothing": (
        "rate: 1 ",
        "weights: {checked: -10, safe work: 30}\nrate: 1 ",
        "checked: got '-10'",
    ),
}


@pytest.mark.parametrize("name", MISTAKES)
def test_a_mistake_is_one_line_with_file_and_line(tmp_path, name):
    old, new, says = MISTAKES[name]
    text = changed(old, new)
    with pytest.raises(CaseFileError) as caught:
        read(tmp_path, text)
    message = str(caught.value)
    assert "\n" not in message
    assert says in message
    file, line, _rest = message.split(":", 2)
    assert file == "a.case.yaml"
    # the line of the mistake, or of the entry that lacks something (line 2 for the whole file)
    wanted = {line_of(TEXT, old) + extra for extra in (-1, 0, 1)} | {2}
    assert int(line) in wanted


def test_the_line_is_that_of_the_mistake_itself(tmp_path):
    text = changed("mends: [E9=line open]", "mends: [E9=melted]")
    with pytest.raises(CaseFileError, match=rf"^a.case.yaml:{line_of(text, 'E9=melted')}: "):
        read(tmp_path, text)


@pytest.mark.parametrize(
    ("content", "says"),
    [
        (b"\xff\xfe", "not UTF-8"),
        (b"", "expected entries"),
        (b"- a\n- b\n", "expected entries"),
        (b"format: &a case\nversion: *a\n", "anchors and aliases"),
        (b"a: " * 2 + b"1", "not YAML"),
        (b"x" * 1_100_000, "allowed at most"),
    ],
    ids=["no text", "empty", "a list", "anchors", "no YAML", "huge"],
)
def test_what_is_no_case_file_at_all_is_one_line(tmp_path, content, says):
    file = tmp_path / "a.case.yaml"
    file.write_bytes(content)
    with pytest.raises(CaseFileError, match=says) as caught:
        read_case(file, CIRCUITS)
    assert "\n" not in str(caught.value)


def test_a_file_that_is_not_there_is_one_line(tmp_path):
    with pytest.raises(CaseFileError, match="cannot be read") as caught:
        read_case(tmp_path / "none.case.yaml", CIRCUITS)
    assert "\n" not in str(caught.value)


def test_a_mistake_in_the_circuit_is_told_with_the_circuits_own_line(tmp_path):
    circuits = tmp_path / "circuits"
    circuits.mkdir()
    text = (CIRCUITS / "rear-window-heater.circuit.yaml").read_text(encoding="utf-8")
    broken = text.replace("kind: heater grid", "kind: toaster")
    (circuits / "rear-window-heater.circuit.yaml").write_text(broken, encoding="utf-8")
    file = tmp_path / "lesson" / "a.case.yaml"
    file.parent.mkdir()
    file.write_text(TEXT, encoding="utf-8")
    line = line_of(broken, "toaster")
    with pytest.raises(CaseFileError, match=rf"^rear-window-heater.circuit.yaml:{line}: "):
        read_case(file)  # the folder of circuits is found above the case


def test_a_circuit_is_found_beside_its_case_before_a_shipped_one(tmp_path):
    """Where an author begins: both files in one folder."""
    text = (CIRCUITS / "rear-window-heater.circuit.yaml").read_text(encoding="utf-8")
    mine = text.replace("vehicle: Kestrin Dray panel van", "vehicle: Kestrin Dray, my own")
    file = tmp_path / "a.case.yaml"
    file.write_text(TEXT, encoding="utf-8")
    assert read_case(file, CIRCUITS).circuit.vehicle == "Kestrin Dray panel van"
    (tmp_path / "rear-window-heater.circuit.yaml").write_text(mine, encoding="utf-8")
    assert read_case(file).circuit.vehicle == "Kestrin Dray, my own"
    assert read_case(file, CIRCUITS).circuit.vehicle == "Kestrin Dray, my own"


def test_a_suspect_that_no_unit_mends_is_named(tmp_path):
    case = read(tmp_path, changed("mends: [wire 9=*, F7=open]", "mends: [wire 19=*]"))
    with pytest.raises(CaseFileError, match=r"no unit mends 'wire 9=open'") as caught:
        line_up(case)
    assert "\n" not in str(caught.value)


def test_all_suspects_that_no_unit_mends_are_named_at_once(tmp_path):
    case = read(tmp_path, changed("mends: [E9.1=*, E9.2=*]", "mends: [wire 19=*]"))
    with pytest.raises(CaseFileError) as caught:
        line_up(case)
    said = str(caught.value)
    assert all(f"'E9.{pin}=open'" in said for pin in (1, 2)), said
    assert said.endswith(
        "which show the complaint; add each of them to a unit's `mends`, or say "
        "in `shows` what sets each of them apart"
    )


def test_a_complaint_that_nothing_shows_is_refused(tmp_path):
    both = "set: {key: off}, wait: 5 min, sees: {rear window clears: yes, horn sounds: yes}"
    text = changed(f"  - {{{FOGGED}}}", f"  - {{{both}}}")
    with pytest.raises(CaseFileError, match="no fault of the circuit shows the complaint"):
        line_up(read(tmp_path, text))


def test_a_unit_may_mend_one_severity_alone(tmp_path):
    hinge = "  hinge joint:      {mends: [C41.1=*]"
    text = changed(
        hinge,
        "  new terminal:     {mends: ['C41.1 = high resistance:400 mohm'], labour: 15 min, "
        f"options: {{new: {{price: 4}}}}}}\n{hinge}",
    )
    units = {s.name: s.unit.name for s in line_up(read(tmp_path, text)).suspects}
    assert units["C41.1=high resistance:0.4 ohm"] == "new terminal"
    assert units["C41.1=high resistance:2 ohm"] == "hinge joint"
    assert units["C41.1=open"] == "hinge joint"
