"""Where leads can be put, and what the way there takes.

Minutes of places are those of the circuit file, minutes of handling those of `sim.access`, added up
by hand here.
"""

import pytest

from sim.access import price, probe_points
from sim.action import action_from_json
from sim.errors import ActionError
from sim.situation import Situation
from tests.sim.van import Hands, healthy


def cost(do: dict, situation: Situation | None = None) -> float:
    return price(healthy(), situation or Situation(), action_from_json(do)).minutes


def measure(red: str, black: str = "body") -> dict:
    return {"measure": "volts", "red": red, "black": black}


def test_fitted_parts_are_probed_where_metal_is_bare():
    points = probe_points(healthy())
    assert {"F7.1b", "F7.2b"} <= set(points)  # fuse tops
    assert "F7.1" not in points
    assert not points["F7.1b"].back_probed
    # both halves of a connector, and the harness side of a relay, from behind
    assert all(points[name].back_probed for name in ("C41.1a", "C41.1b", "K3.87"))
    assert "K3.87b" not in points
    # bare tabs, studs and battery posts as they are
    assert not any(points[n].back_probed for n in ("E9.1", "E9.1b", "X7.ring", "B1.+"))


def test_a_pulled_part_bares_its_cavity_and_its_own_terminals():
    points = probe_points(healthy(), ("F7", "K3", "C41"))
    for name in ("F7.1", "F7.1b", "K3.86", "K3.86b", "C41.1a", "C41.1b"):
        assert not points[name].back_probed


@pytest.mark.parametrize(
    ("do", "minutes"),
    [
        (measure("B1.+"), 1.0 + 0.2),  # way to the engine bay, one lead; the body is at hand
        (measure("B1.+", "B1.-"), 1.0 + 0.2 + 0.2),
        (measure("C41.1b"), 3.0 + 0.5),  # back-probed
        (measure("F7.2b", "X7.ring"), 2.0 + 0.2 + 9.0 + 0.2),  # two places
        ({"lamp": True, "red": "E9.1", "black": "body"}, 9.0 + 0.2),
        ({"set": {"key": "run"}}, 0.0),
        ({"wait": "5 min"}, 0.5),  # something else is done meanwhile
        ({"look": "tailgate hinge"}, 3.0 + 0.3),
        ({"feel": "E9"}, 0.5 + 0.2),  # felt from behind the van, the trim stays on
        ({"watch": "rear window clears"}, 0.5 + 0.2),
        ({"watch": "switch lamp lights"}, 0.2),  # from the driver's seat
        ({"listen": "K3", "set": {"key": "run"}}, 0.2),
        ({"unplug": "S4"}, 6.0 + 0.3),
        ({"pull": "K3"}, 2.0 + 0.3),
        ({"renew": "F7"}, 2.0 + 0.5),
        ({"swap": ["K3", "K5"]}, 2.0 + 1.0),
        ({"bridge": ["B1.+", "F7.2b"]}, 1.0 + 0.2 + 2.0 + 0.2),
        ({"clamp": "wire 8"}, 2.0 + 0.3),  # at the fuse panel, nearer than the hinge
        ({"clamp": "wire 12"}, 1.0 + 0.3),
    ],
    ids=str,
)
def test_the_first_way_costs_reach_and_handling(do, minutes):
    assert cost(do) == pytest.approx(minutes)


def test_coming_back_costs_again_and_staying_nothing():
    been = Situation(reached=("fuse panel", "tailgate hinge"), here=("tailgate hinge",))
    assert cost(measure("F7.1b"), been) == pytest.approx(0.5 + 0.2)
    assert cost(measure("C41.1a"), been) == pytest.approx(0.5)


def test_a_lead_that_stays_costs_nothing():
    hands = Hands()
    hands.do(**measure("C41.1a", "C41.1b"))
    rests = hands.bench.situation
    assert (rests.red, rests.black) == ("C41.1a", "C41.1b")
    assert cost(measure("C41.1a", "C41.1b"), rests) == 0.0
    assert cost({"measure": "ohms", "red": "C41.1a", "black": "C41.1b"}, rests) == 0.0
    assert cost(measure("C41.1a"), rests) == 0.0  # black to the body
    assert cost(measure("C41.1a", "F7.2b"), rests) == pytest.approx(2.0 + 0.2)


def test_a_rails_number_is_its_point():
    rests = Situation(red="link30.2", reached=("engine bay",), here=("engine bay",))
    assert cost(measure("30"), rests) == 0.0
    assert cost(measure("31"), rests) == 0.0


def test_what_was_done_is_what_it_was_priced_at():
    hands = Hands()
    total = 0.0
    for do in (
        measure("F7.1b"),
        {"unplug": "C41"},
        measure("C41.1a"),
        {"wait": "1 min"},
        {"plug": "C41"},
        {"bridge": ["F7.1b", "F7.2b"]},
        {"unbridge": True},
    ):
        due = price(healthy(), hands.bench.situation, action_from_json(do)).minutes
        assert hands.step(**do).minutes == due
        total += due
    assert hands.bench.situation.minutes == pytest.approx(total)
    # the clock runs with the labour, and with all of a wait
    assert hands.bench.situation.clock == pytest.approx((total - 0.1) * 60 + 60)


@pytest.mark.parametrize(
    ("point", "says"),
    [
        ("F7.1", "while F7 is fitted; pull it first"),
        ("C41.1", "there is no such point"),
        ("K3.87b", "while K3 is fitted; pull it first"),
        ("S4.outb", "while S4 is fitted; unplug it first"),
        ("Z9.1", "there is no such point"),
        ("wire 8 middle", "there is no such point"),
        ("", "must be a name"),
    ],
)
def test_where_no_lead_can_go_is_said_with_what_to_do(point, says):
    with pytest.raises(ActionError, match=says) as caught:
        cost(measure(point))
    assert "\n" not in str(caught.value)
