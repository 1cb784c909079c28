"""A stranger writes a circuit and makes the usual mistakes: what each is told, word for word.

Every text here was read and found to name the line, what is wrong and what would be right; whoever
changes one changes what an author sees.
"""

import pytest

from sim.circuitparts import kinds
from sim.diagram import lettering
from tests.sim.checks.conftest import Checker

KINDS, COLOURS = ", ".join(kinds()), ", ".join(lettering.COLOURS)
#: What the author did, the change, and all that is said.
MISTAKES = [
    (
        "the fuse's unit",
        [("rating: 10 A", "rating: 10 V")],
        [("20: F5: rating: current: got unit 'V' in '10 V', expected one of: A, mA, uA")],
    ),
    (
        "no unit",
        [("rating: 10 A", "rating: 10")],
        [
            (
                "20: F5: rating: current: got unit '' in '10', expected one of: A, mA, "
                "uA, such as 10 A"
            )
        ],
    ),
    (
        "a key misspelt",
        [("rating: 10 A", "ratting: 10 A")],
        ["20: F5: a blade fuse needs 'rating', got 'ratting'; check its spelling"],
    ),
    (
        "a terminal by another name",
        [("S6.in, ", "S6.input, ")],
        ["36: 'S6.input': a switch has S6.in, S6.out"],
    ),
    (
        "a part by another name",
        [("F5.2,", "F6.2,")],
        [
            (
                "36: 'F6.2': no part 'F6'; parts are B1, X1, X3, S1, S6, F5, C8, M3; "
                "rails are 30, 15, 31"
            )
        ],
    ),
    (
        "a kind there is not",
        [("kind: horn", "kind: washer pump")],
        [f"22: M3: kind 'washer pump' unknown; kinds are {KINDS}"],
    ),
    (
        "a place misspelt",
        [("at: column}\n  S6", "at: colunm}\n  S6")],
        [
            (
                "18: S1: place 'colunm' unknown; places are bonnet, fuse box, column, "
                "wing; did you mean 'column'?"
            )
        ],
    ),
    (
        "a place forgotten",
        [("in: pulled, at: column", "in: pulled")],
        [("19: S6: no place; give `at: PLACE`; places are bonnet, fuse box, column, wing")],
    ),
    (
        "a wire's number twice",
        [("  4: [S6.out", "  3: [S6.out")],
        [
            "37: '3' is given twice; keep one (the first is in line 36)",
            "49: loom to the wing: wire '4' unknown; wires are 1, 2, 3, 5, 6, 7",
            (
                "52: 'wire 4': no such part in washer; parts are B1, X1, X3, S1, S6, F5, "
                "C8, M3, link30, strap 30, wire 1, wire 2, wire 3, wire 5, wire 6, wire "
                "7; did you mean 'wire 7'?"
            ),
        ],
    ),
    (
        "a ground wire forgotten",
        [("  6: [M3.2,   X3.ring, brown,       1 mm2,   0.4 m]\n", "")],
        [
            "17: X3 is tied to nothing; wire X3.ring, or leave it out",
            "22: M3: only M3.1 is wired; no current can pass; wire M3.2 too",
        ],
    ),
    (
        "the wrong half of a plug",
        [("C8.1b, to", "C8.1a, to")],
        [("21: C8.1a is wired, C8.1b is not: current ends there; wire it on from C8.1b")],
    ),
    (
        "closed in forgotten",
        [("closed in: pulled, ", "")],
        [
            (
                "19: S6: closed in 'on', but washer lever has released, pulled; say which"
                " with `closed in`"
            )
        ],
    ),
    (
        "the fuse set by the lever",
        [("released, pulled, sets: S6", "released, pulled, sets: F5")],
        [
            (
                "19: warning: S6: no control sets this switch; add `NAME: {off, on, sets:"
                " S6}` to controls"
            ),
            (
                "31: washer lever sets F5, but nothing in a blade fuse follows a control;"
                " set a switch"
            ),
        ],
    ),
    (
        "too small a fuse",
        [("rating: 10 A", "rating: 3 A")],
        [
            (
                "20: F5: 3 A blade fuse blows: 4.1 A to M3 with key run, washer lever "
                "pulled; take the next larger rating its wires allow, or share the load"
            )
        ],
    ),
    (
        "too large a fuse",
        [("rating: 10 A", "rating: 25 A")],
        [
            (
                "36: wire 3: 1 mm2 carries 20 A for ever, its fuse F5 holds 25 A; "
                "allowed: a fuse up to 20 A, or at least 1.5 mm2"
            ),
            (
                "37: wire 4: 1 mm2 carries 20 A for ever, its fuse F5 holds 25 A; "
                "allowed: a fuse up to 20 A, or at least 1.5 mm2"
            ),
            (
                "38: wire 5: 1 mm2 carries 20 A for ever, its fuse F5 holds 25 A; "
                "allowed: a fuse up to 20 A, or at least 1.5 mm2"
            ),
        ],
    ),
    (
        "the supply taken from the wrong rail",
        [("1: [30, ", "1: [15, ")],
        [
            (
                "17: X3, S1, S6, F5, C8, M3: no wire leads to a supply; tie one of them "
                "to a rail or a battery"
            ),
            ("25: link30: only link30.1 is wired; no current can pass; wire link30.2 too"),
            ("25: warning: rail 30: no wire begins or ends on it; use its name in `wires`"),
        ],
    ),
    (
        "past the pump",
        [("[S6.out, C8.1a", "[S6.out, 31")],
        [
            ("17: X3, C8, M3: no wire leads to a supply; tie one of them to a rail or a battery"),
            (
                "20: F5: 10 A blade fuse blows: 105.6 A with key run, washer lever pulled"
                " and no load on its way: a short circuit; look at the wires behind it"
            ),
            ("21: C8.1b is wired, C8.1a is not: current ends there; wire it on from C8.1a"),
            (
                "25: link30: 80 A fusible link is overloaded: 105.6 A with key run, "
                "washer lever pulled and no load on its way: a short circuit; look at the"
                " wires behind it"
            ),
        ],
    ),
    (
        "a colour misspelt",
        [("green,       1 mm2", "gren,       1 mm2")],
        [f"36: wire 3: colour 'gren' unknown; colours are {COLOURS}"],
    ),
    (
        "American spelling",
        [("colour: green/black, area", "color: green/black, area")],
        [
            (
                "38: wires.5.color is not a key that belongs here; check its spelling, "
                "got 'green/black'; did you mean 'colour'?"
            )
        ],
    ),
    (
        "minutes with an s",
        [("reach: 12 min", "reach: 12 mins")],
        [
            (
                "12: wing: reach: time: got unit 'mins' in '12 mins', expected one of: s,"
                " ms, min, h; did you mean 'min'?"
            )
        ],
    ),
    (
        "a limit out of reach",
        [("50 % of nominal", "500 % of nominal")],
        [
            (
                "43: warning: washer squirts: never holds, in no position, while nothing "
                "is wrong; look at its limit"
            )
        ],
    ),
    (
        "an item of no track",
        [("F5, S6, C8, M3", "F5, S7, S6, C8, M3")],
        [("46: track 1: 'S7' unknown; there are B1, X1, X3, S1, S6, F5, C8, M3, link30 and rails")],
    ),
    (
        "a length forgotten",
        [("1.5 mm2, 0.5 m]", "1.5 mm2]")],
        [("35: wires.2: expected [from, to, colour, cross-section, length], got 4 items")],
    ),
    (
        "a wire to ground too many, before the load",
        [("  5: {from", "  8: [S6.out, 31, brown, 1 mm2, 0.5 m]\n  5: {from")],
        [
            (
                "20: F5: 10 A blade fuse blows: 148.8 A with key run, washer lever pulled and "
                "no load on its way: a short circuit; look at the wires behind it"
            ),
            (
                "25: link30: 80 A fusible link blows: 148.8 A with key run, washer lever pulled "
                "and no load on its way: a short circuit; look at the wires behind it"
            ),
        ],
    ),
    (
        "a decimal comma",
        [("green/black, 1 mm2,   2.5 m]", "green/black, 1,5 mm2, 2.5 m]")],
        [
            (
                "37: wires.4: expected [from, to, colour, cross-section, length], got 6 items; "
                "decimals have a point: 1.5 mm2"
            )
        ],
    ),
    (
        "a comma in a note",
        [("note: under the dash", "note: under the dash, left")],
        [
            (
                "10: places.fuse box.left is not a key that belongs here, and has no value; if "
                "it is the rest of a text with a comma in it, put that text in quotes"
            )
        ],
    ),
    (
        "a fault of no wire",
        [("wire 4=short", "wire 14=short")],
        [
            (
                "52: 'wire 14': no such part in washer; parts are B1, X1, X3, S1, S6, F5,"
                " C8, M3, link30, strap 30, wire 1, wire 2, wire 3, wire 4, wire 5, wire "
                "6, wire 7; did you mean 'wire 4'?"
            )
        ],
    ),
]


def test_the_circuit_itself_is_sound(washer: Checker) -> None:
    assert washer() == []


@pytest.mark.parametrize(
    ("changes", "says"), [row[1:] for row in MISTAKES], ids=[row[0] for row in MISTAKES]
)
def test_a_usual_mistake(washer: Checker, changes: list[tuple[str, str]], says: list[str]) -> None:
    assert washer(*changes) == says


def test_many_mistakes_are_told_at_once_in_the_order_of_the_file(washer: Checker) -> None:
    stud = "  X3: {kind: ground stud, at: wing}"
    said = washer(
        ("reach: 12 min", "reach: 12 mins"),
        (stud, f"{stud.replace('X3', 'X9')}\n{stud}"),
        ("rating: 10 A", "rating: 10 V"),
        ("S6.in, ", "S6.input, "),
        ("green/black, 1 mm2,   2.5 m]", "green/blak, 1 mm2,   2.5 m]"),
        ("washer squirts: M3", "washer squirts: M4"),
        ("wire 4=short to ground", "wire 4=shorted"),
    )
    assert [int(line.partition(":")[0]) for line in said] == [12, 17, 21, 37, 38, 44, 53]
    assert "X9 is tied to nothing" in said[1]
    assert "no part 'M4'" in said[5]
