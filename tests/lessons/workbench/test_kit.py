"""Every verb of every instrument can be used from the bench, with no line about it there."""

import json
from pathlib import Path

import pytest

from lessons.workbench import open_bench, open_setup
from lessons.workbench.kit import AT_THE_PART, Held, kit, taken_up
from sim.action import action_from_json
from sim.instruments.registry import INSTRUMENTS, VERBS
from tests.lessons.workbench.cases import ON, done, setup_of

POSTS = {"red": "B1.+", "black": "B1.-"}


def does(value: object) -> list[dict]:
    """Give every action that stands on a button somewhere in a view."""
    if isinstance(value, dict):
        own = [value["do"]] if isinstance(value.get("do"), dict) else []
        return own + [do for item in value.values() for do in does(item)]
    if isinstance(value, list):
        return [do for item in value for do in does(item)]
    return []


def verb_of(do: dict) -> str:
    return action_from_json(do).verb


def test_every_verb_is_on_a_button_somewhere() -> None:
    bench = open_bench("rear-window-heater")
    found: set[str] = set()

    def see(view: dict) -> None:
        found.update(verb_of(do) for do in does(view))

    for place in bench.desk.circuit.places:
        see(done(bench, choose={"place": place}))
    for verb in kit():
        see(done(bench, choose={"instrument": verb}))
    see(done(bench, choose={"instrument": "bridge", "one": "F7.1b", "other": "F7.2b"}))
    see(done(bench, do={"bridge": ["F7.1b", "F7.2b"]}))
    done(bench, choose={"place": "fuse panel"})
    for do in ({"pull": "K3"}, {"shake": "C41"}, {"unplug": "E9"}):
        done(bench, do=do)
    see(bench.view)
    done(bench, choose={"place": "tailgate inside"})
    see(bench.view)
    done(bench, choose={"place": "tailgate hinge"})
    see(bench.view)
    see(done(bench, do={"unbridge": True}))
    done(bench, choose={"place": "fuse panel", "instrument": "measure"})
    see(done(bench, do={"try": "K3"}))
    # controls are moved by their own rows of positions; the rest is set and pressed in the kit
    assert set(VERBS) - found - {"set"} - set(kit()) == set()


def test_what_is_held_is_held_for_every_instrument_but_the_body() -> None:
    verbs = {verb for one in INSTRUMENTS if one.name not in AT_THE_PART for verb in one.verbs}
    extras = {extra for tool in kit().values() for extra in tool.extras}
    assert set(kit()) | extras | {"unbridge"} == verbs


HELD = [
    ("measure", {"knob": {"measure": "AC volts"}, **POSTS}, {"measure": "AC volts", **POSTS}),
    (
        "measure",
        {**POSTS, "during": {"key": "crank"}},
        {"measure": "volts", **POSTS, "while": {"key": "crank"}},
    ),
    ("lamp", POSTS, {"lamp": True, **POSTS}),
    ("led", POSTS, {"led": True, **POSTS}),
    ("load", {"knob": {"load": "55 W"}, **POSTS}, {"load": "55 W", **POSTS}),
    (
        "conductance",
        {"knob": {"conductance": "640 A"}, **POSTS},
        {"conductance": "640 A", **POSTS},
    ),
    ("temperature", {"aim": "C41"}, {"temperature": "C41"}),
    ("clamp", {"wire": "wire 8"}, {"clamp": "wire 8"}),
    (
        "clamp",
        {"wires": ["wire 8", "wire 7"], "knob": {"of": "AC"}},
        {"clamp": ["wire 8", "wire 7"], "of": "AC"},
    ),
    (
        "bridge",
        {"knob": {"fuse": "5 A"}, "one": "F7.1b", "other": "F7.2b"},
        {"bridge": ["F7.1b", "F7.2b"], "fuse": "5 A"},
    ),
    (
        "scope",
        {
            "A red": "B1.+",
            "A black": "B1.-",
            "B clamp": "wire 8",
            "knob": {"time": "50 ms", "trigger channel": "B", "trigger level": "2 A"},
        },
        {
            "scope": {"A": ["B1.+", "B1.-"], "B": {"clamp": "wire 8"}},
            "time": "50 ms",
            "trigger": {"channel": "B", "level": "2 A", "slope": "rising"},
        },
    ),
]


@pytest.mark.parametrize(("verb", "choices", "do"), HELD, ids=lambda one: json.dumps(one)[:60])
def test_choices_make_the_action_and_the_action_is_taken_up(
    verb: str, choices: dict, do: dict
) -> None:
    bench = open_bench("rear-window-heater", settings=ON)
    view = done(bench, choose={"instrument": verb, **choices})
    assert view["meter"]["offer"]["do"] == do
    tool = kit()[verb]
    held = taken_up(tool, action_from_json(do).to_json())
    assert tool.action(Held(**{f: getattr(held, f) for f in Held.__dataclass_fields__})) == do
    view = done(bench, do=do)
    assert view["evidence"][-1]["what"]


def test_a_kernel_that_starts_again_holds_the_scope_as_before(tmp_path: Path) -> None:
    first = open_setup(setup_of(tmp_path))
    do = {"scope": {"A": ["C41.1a", "body"], "B": {"clamp": "wire 8"}}, "time": "20 ms"}
    done(first, do=do)
    first.rest()
    again = open_setup(setup_of(tmp_path))
    meter = again.view["meter"]
    assert meter["instrument"] == "scope"
    assert meter["offer"]["do"] == do
    assert again.view["readout"]["screen"]["seconds"] == pytest.approx(0.02)


def test_a_refusal_stands_beside_the_button_before_it_is_pressed() -> None:
    bench = open_bench("rear-window-heater")
    view = done(bench, choose={"knob": {"measure": "hertz"}, **POSTS, "during": {"key": "run"}})
    assert view["meter"]["offer"] is None
    assert "no minimum and maximum" in view["meter"]["problem"].lower()


def test_the_second_channel_goes_on_and_the_first_stays() -> None:
    bench = open_bench("rear-window-heater")
    done(bench, choose={"instrument": "scope"})
    for point in ("B1.+", "B1.-", "C41.1a", "body", "C41.1b"):
        view = done(bench, choose={"touch": point})
    assert [end["point"] for end in view["meter"]["ends"]] == ["B1.+", "B1.-", "C41.1b", "body"]
    view = done(bench, choose={"A clamp": "wire 8"})
    assert [end["point"] for end in view["meter"]["ends"]][:2] == ["", ""]


def test_curves_go_from_their_lowest_to_their_highest_figure() -> None:
    bench = open_bench("starter")
    moved = {"key": "crank", "clutch pedal": "pressed"}
    do = {"scope": {"A": ["B1.+", "B1.-"]}, "time": "1 s", "while": moved}
    view = done(bench, do=do)
    also = dict(view["readout"]["also"])
    (curve,) = view["readout"]["screen"]["curves"]
    low, high = (float(also[f"A {name}"].split(" ")[0]) for name in ("minimum", "maximum"))
    assert (curve["name"], curve["unit"]) == ("A", "V")
    step = (high - low) / 200  # counts of the screen; every other sample is kept
    assert min(curve["values"]) == pytest.approx(low, abs=5 * step)
    assert max(curve["values"]) == pytest.approx(high, abs=5 * step)
    assert low < 11
    assert high > 12


def test_the_needle_stands_where_the_digits_are() -> None:
    bench = open_bench("rear-window-heater")
    readout = done(bench, do={"measure": "volts", **POSTS})["readout"]
    full = float(readout["dial"]["high"])
    assert readout["dial"]["share"] * full == pytest.approx(float(readout["value"]), abs=0.01)
    turned = {"measure": "volts", "red": "B1.-", "black": "B1.+"}
    readout = done(bench, do=turned)["readout"]
    assert readout["dial"]["low"] == f"-{full:g}"
    assert readout["dial"]["share"] < 0.5
    over = {"measure": "ohms", "red": "F7.1b", "black": "K3.87"}
    done(bench, do={"pull": "K3"})
    assert done(bench, do=over)["readout"]["dial"]["share"] <= 1.0
