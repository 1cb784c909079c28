"""Every action can be told in plain words, each in its own."""

import pytest

from grader.wording import describe
from sim.action import VERBS, action_from_json

WORDS = (
    ({"set": {"key": "run", "heater switch": "on"}}, "set key run, heater switch on"),
    ({"listen": "K3", "set": {"key": "run"}}, "listened to K3, key run"),
    ({"measure": "volts", "red": "F7.1b", "black": "body"}, "volts from F7.1b to body"),
    ({"lamp": True, "red": "F7.1b", "black": "body"}, "test lamp from F7.1b to body"),
    ({"swap": ["K3", "K5"]}, "exchanged K3 and K5"),
    ({"bridge": ["B1.+", "F7.1b"]}, "bridged B1.+ and F7.1b"),
    ({"unbridge": True}, "took the jumper off"),
    ({"wait": "5 min"}, "waited 5 min"),
    ({"clamp": "wire 8"}, "clamp on wire 8"),
    ({"look": "engine bay"}, "looked at the engine bay"),
    ({"look": "under the seat"}, "looked under the seat"),
    ({"smell": "Behind dash"}, "smelled Behind dash"),
    ({"feel": "E9"}, "felt E9"),
    ({"watch": "horn sounds"}, "watched: horn sounds"),
    ({"renew": "F7"}, "fitted a new F7"),
    ({"unplug": "C41"}, "unplugged C41"),
    ({"plug": "C41"}, "plugged C41 in"),
    ({"pull": "F7"}, "pulled F7"),
    ({"insert": "F7"}, "put F7 back"),
    ({"try": "K3"}, "tried a known-good K3"),
    ({"untry": "K3"}, "plugged the old K3 back in"),
    ({"shake": "C41"}, "kept shaking C41"),
    ({"warm": "wire 8"}, "warmed wire 8"),
    ({"wet": "everything"}, "wetted everything"),
    ({"leave": "C41"}, "left C41 alone"),
    ({"led": True, "red": "F7.1b", "black": "body"}, "LED lamp from F7.1b to body"),
    ({"load": "55 W", "red": "F7.1b", "black": "body"}, "loaded F7.1b to body with 55 W"),
    (
        {"conductance": "640 A", "red": "B1.+", "black": "B1.-"},
        "tested B1.+ to B1.- against 640 A",
    ),
    ({"temperature": "C41"}, "temperature of C41"),
    ({"smell": "fuse panel"}, "smelled at the fuse panel"),
    ({"touch": "K3"}, "touched K3"),
    ({"touch": "K3", "while": {"key": "run"}}, "touched K3, while key run"),
    ({"zero": "leads"}, "zeroed the leads"),
    ({"zero": "off"}, "took the zero off"),
    ({"jack": "10 A"}, "put the red lead into the 10 A jack"),
    ({"jack": "with the function"}, "moved the red lead with the function again"),
    ({"clamp": ["wire 8", "wire 9"], "of": "AC"}, "AC clamp on wire 8 and wire 9"),
    ({"bridge": ["B1.+", "F7.1b"], "fuse": "5 A"}, "bridged B1.+ and F7.1b with 5 A"),
    (
        {"measure": "volts", "red": "B1.+", "black": "body", "while": {"key": "crank"}},
        "volts from B1.+ to body, while key crank",
    ),
    ({"scan": "codes"}, "scan tool, all units: codes"),
    ({"scan": "clear", "unit": "A1"}, "scan tool, A1: codes cleared"),
    (
        {"scan": "hold", "unit": "A1", "what": "cooling fan", "at": "50"},
        "scan tool, A1: cooling fan held at 50",
    ),
    (
        {"scope": {"A": ["B1.+", "B1.-"], "B": {"clamp": "wire 8"}}, "time": "100 ms"},
        "oscilloscope, 100 ms: A from B1.+ to B1.-, B around wire 8",
    ),
)


@pytest.mark.parametrize(("do", "words"), WORDS, ids=str)
def test_an_action_is_told_as_a_technician_would(do, words):
    assert describe(action_from_json(do)) == words


def test_no_verb_is_left_out():
    assert {action_from_json(do).verb for do, _words in WORDS} == set(VERBS)
