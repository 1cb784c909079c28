"""At a place: whose leads are on it, what a deed costs and what goes against a caution."""

from pathlib import Path

import pytest

from lessons.workbench import open_setup
from tests.lessons.workbench.cases import ON, say, setup_of


def test_a_place_shows_the_leads_of_what_is_in_the_hand(tmp_path: Path) -> None:
    bench = open_setup(setup_of(tmp_path))

    def leads(**chosen: object) -> dict[str, list[str]]:
        places = say(bench, choose=chosen)["places"]
        return {place["name"]: place["leads"] for place in places if place["leads"]}

    meter = {"tailgate hinge": ["red"], "fuse panel": ["black"]}
    assert leads(red="C41.1a", black="F7.1b") == meter
    assert leads(instrument="clamp") == {}
    assert leads(instrument="scope") == {}
    assert leads(**{"A red": "B1.+"}) == {"engine bay": ["A red"]}
    assert leads(instrument="measure") == meter
    say(bench, choose={"instrument": "bridge", "one": "F7.1b", "other": "F7.2b"})
    say(bench, do={"bridge": ["F7.1b", "F7.2b"]})
    assert leads(instrument="clamp") == {"fuse panel": ["one", "other"]}  # it is still on


def test_a_lead_falls_off_what_is_pulled(tmp_path: Path) -> None:
    bench = open_setup(setup_of(tmp_path))
    say(bench, choose={"red": "F7.1b", "black": "body"})
    say(bench, do={"pull": "F7"})
    view = say(bench, do={"insert": "F7"})
    assert [end["point"] for end in view["meter"]["ends"]] == ["F7.1b", "body"]
    say(bench, do={"pull": "F7"})
    say(bench, choose={"red": "F7.1"})
    view = say(bench, do={"insert": "F7"})
    assert [end["point"] for end in view["meter"]["ends"]] == ["", "body"]
    assert view["meter"]["offer"] is None


def test_the_price_and_the_caution_come_before_the_deed(tmp_path: Path) -> None:
    bench = open_setup(setup_of(tmp_path))
    say(bench, do={"set": ON})
    say(bench, choose={"knob": {"measure": "ohms"}, "red": "C41.1a", "black": "body"})
    view = say(bench, choose={"place": "tailgate hinge"})
    # 3 min to the hinge and 0.5 min to back-probe; the body is at hand everywhere
    assert view["meter"]["offer"]["minutes"] == "3.5"
    assert view["meter"]["cautions"][0]["against"]
    assert view["evidence"] == []
    assert any(c["when"] == "Before you unplug" for c in view["sight"]["cautions"])
    after = say(bench, do=view["meter"]["offer"]["do"])
    assert after["evidence"][0]["minutes"] == "3.5"


@pytest.mark.parametrize("place", ["fuse panel", "tailgate hinge"])
def test_each_caution_of_a_place_is_said_once_with_all_it_is_for(
    tmp_path: Path, place: str
) -> None:
    bench = open_setup(setup_of(tmp_path))
    say(bench, do={"set": ON})
    sight = say(bench, choose={"place": place})["sight"]
    said = [caution["text"] for caution in sight["cautions"]]
    assert len(said) == len(set(said)) > 2
    shown = [*sight["offers"], *(o for p in sight["parts"] for o in p["offers"])]
    shown += [offer for wire in sight["wires"] for offer in wire["offers"]]
    assert {text for offer in shown for text in offer["cautions"]} == set(said)
    warm = next(c for c in sight["cautions"] if c["text"].startswith("Hot air"))
    assert warm["when"] == "Before you warm"  # the wires that run past are warmed as well


def test_the_jumper_goes_on_and_off(tmp_path: Path) -> None:
    bench = open_setup(setup_of(tmp_path))
    say(bench, choose={"instrument": "bridge"})
    say(bench, choose={"touch": "F7.1b"})
    view = say(bench, choose={"touch": "F7.2b"})
    assert view["meter"]["offer"]["do"] == {"bridge": ["F7.1b", "F7.2b"]}
    view = say(bench, do=view["meter"]["offer"]["do"])
    assert view["meter"]["offer"]["do"] == {"unbridge": True}
    assert view["meter"]["bridge"] == ["F7 top 1", "F7 top 2"]
    view = say(bench, do=view["meter"]["offer"]["do"])
    assert view["meter"]["bridge"] == []
