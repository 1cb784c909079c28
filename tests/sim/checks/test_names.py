"""Names too alike, rails, places, controls and effects that cannot do anything."""

import pytest

from tests.sim.checks.conftest import Checker

LEVER = "washer lever: {released, pulled, sets: S6}"


@pytest.mark.parametrize(
    ("old", "new", "says"),
    [
        ("  C8: {", "  c8: {kind: lamp, power: 5 W, at: wing}\n  C8: {", "22: 'C8' is too"),
        ("  7: [B1.-,", ("  A: [31, M3.2, red, 1 mm2, 1 m]\n  a: [31, M3.2, red, 1 mm2, 1 m]\n"
         "  7: [B1.-,"), "41: 'a' is too like 'A' in wires"),
        ("  washer lever:", "  KEY: {off, on, sets: S6}\n  washer lever:", "31: 'KEY' is too like"),
        ("  wing:     {", "  Bonnet:   {reach: 1 min, again: 1 min}\n  wing:     {",
         "12: 'Bonnet' is too like 'bonnet' in places"),
        ("  washer squirts:", "  m3: M3 carries current\n  washer squirts:",
         "43: 'm3' is too like 'M3' in parts"),
        ('  "15": S1.run', '  "15": S1.run\n  "15a": S1.run', "27: warning: rails 15 and 15a"),
        ('  "15": S1.run', '  "15": S1.run\n  "75": S1.accessory', "27: warning: rail 75: no wire"),
        ('  "31": body', '  "31": B1.-', "27: rail 31 has to be body"),
        ('  "31": body', '  "31": body\n  body: B1.-', "28: rail 'body': no dots and not 'body'"),
        ("  wing:     {", "  roof: {reach: 1 min, again: 1 min}\n  wing:     {",
         "12: warning: place 'roof': no part is there"),
        (LEVER, LEVER.replace("S6", "M3"), "31: washer lever sets M3, but nothing in a horn"),
        (LEVER, LEVER.replace("S6", "M3"), "19: warning: S6: no control sets this switch"),
        (LEVER, LEVER.replace("pulled", "puled"),
         "19: S6: closed in 'pulled', but washer lever has released, puled; did you mean 'puled'?"),
        ("{off, accessory, run, crank, sets: S1}", "{locked, ignition, sets: S1}",
         "30: key sets S1, which follows accessory, run, crank; rename the positions"),
        ("M3 power >= 50 % of nominal", "S6 power >= 1 W", "43: washer squirts: nothing in S6"),
        ("M3 power >= 50 % of nominal", "F5 power >= 5 % of nominal",
         "43: washer squirts: a blade fuse has no nominal power; give the limit in W or A"),
        ("M3 power >= 50 % of nominal", "S6 changes state", "43: washer squirts: a switch has no"),
    ],
)  # fmt: skip
def test_what_is_said(washer: Checker, old: str, new: str, says: str) -> None:
    said = washer((old, new))
    assert any(line.startswith(says) for line in said), said


def test_a_key_without_accessory_is_no_mistake(washer: Checker) -> None:
    assert washer(("{off, accessory, run, crank,", "{off, run, crank,")) == []


def test_spaces_do_not_tell_names_apart(washer: Checker) -> None:
    said = washer(("  washer lever:", "  washer  lever: {off, on, sets: S6}\n  washer lever:"))
    assert "32: 'washer lever' is too like 'washer  lever' in controls; rename one of them" in said


@pytest.mark.parametrize(
    ("words", "said"),
    [
        ('"key, washer lever"', []),
        ("key doors", ["'key doors', but there is no such control; there are key, washer lever"]),
        ('"key, washer leve"', ["'washer leve', but there is no such control; did you mean"]),
        ("wake", ["'wake', but there is no such control"]),
    ],
)
def test_a_unit_is_woken_by_controls_that_there_are(
    washer: Checker, words: str, said: list[str]
) -> None:
    """What commas part is two controls, and what they do not is one with a space in it."""
    unit = f"{{kind: sleeping unit, woken by: {words}, at: wing}}"
    changes = ("M3.1,", "M3.30,"), ("M3.2,", "M3.31,")
    found = washer(("{kind: horn, power: 50 W at 12 V, at: wing}", unit), *changes)
    woken = [line.partition("woken by ")[2] for line in found if "woken by" in line]
    assert len(woken) == len(said)
    assert all(line.startswith(start) for line, start in zip(woken, said, strict=True)), woken
