"""Making it fail: what comes and goes shows under its own condition, and only there."""

import pytest

from sim import care
from sim.action import action_from_json
from sim.bench import Bench
from sim.cautions import cautions
from sim.circuit import Circuit, Fault
from sim.errors import ActionError
from sim.faults import with_faults
from tests.sim.van import ON, healthy, solver

ACROSS = {"measure": "volts", "red": "C41.1a", "black": "C41.1b"}


def faulty(way: str, severity: float | None = None) -> Circuit:
    return with_faults(healthy(), [Fault("C41", way, "1", severity)])


def bench_with(way: str, severity: float | None = None) -> Bench:
    bench = Bench(faulty(way, severity), solver())
    bench.do(action_from_json({"set": ON}))
    return bench


def across(bench: Bench) -> float:
    reading = bench.do(action_from_json(ACROSS)).reading
    return float(reading.value) * (1e-3 if reading.unit == "mV" else 1.0)


@pytest.mark.parametrize(
    ("way", "verb"),
    [("open on vibration", "shake"), ("open on heat", "warm"), ("open in the wet", "wet")],
)
@pytest.mark.parametrize("target", ["C41", "everything"])
def test_a_joint_that_comes_and_goes(way: str, verb: str, target: str) -> None:
    bench = bench_with(way)
    assert across(bench) < 0.1
    for other in {"shake", "warm", "wet"} - {verb}:
        bench.do(action_from_json({other: target}))
        assert across(bench) < 0.1
        bench.do(action_from_json({"leave": target}))
    bench.do(action_from_json({verb: target}))
    assert across(bench) > 11.0
    bench.do(action_from_json({"leave": target}))
    assert across(bench) < 0.1


def test_another_part_shaken_shows_nothing() -> None:
    bench = bench_with("open on vibration")
    bench.do(action_from_json({"shake": "K3"}))
    assert across(bench) < 0.1


def test_plugging_wipes_a_poor_contact_for_a_while_and_a_bad_road_undoes_it() -> None:
    bench = bench_with("poor contact", 0.8)
    before = across(bench)
    assert before > 3.0
    for do in ({"unplug": "C41"}, {"plug": "C41"}):
        bench.do(action_from_json(do))
    assert across(bench) < 0.1
    bench.do(action_from_json({"shake": "everything"}))
    bench.do(action_from_json({"leave": "everything"}))
    assert across(bench) == pytest.approx(before, rel=0.05)


def test_after_two_hours_it_is_as_bad_as_before() -> None:
    bench = bench_with("poor contact", 0.8)
    for do in ({"unplug": "C41"}, {"plug": "C41"}):
        bench.do(action_from_json(do))
    bench.do(action_from_json({"set": {"key": "off", "heater switch": "off"}}))
    bench.do(action_from_json({"wait": "125 min"}))
    bench.do(action_from_json({"set": ON}))
    assert across(bench) > 3.0


@pytest.mark.parametrize(
    ("does", "said"),
    [
        ([{"shake": "Z9"}], "part 'Z9' unknown; there are everything, B1"),
        ([{"shake": "C41"}, {"shake": "C41"}], "it is done already, until you leave it"),
        ([{"leave": "C41"}], "shaken, warmed or wetted now is nothing"),
        ([{"wet": "C41"}, {"leave": "K3"}], "shaken, warmed or wetted now is C41"),
    ],
)
def test_what_cannot_be_done_is_refused_in_one_line(does: list[dict], said: str) -> None:
    bench = Bench(healthy(), solver())
    *first, last = does
    for do in first:
        bench.do(action_from_json(do))
    with pytest.raises(ActionError) as caught:
        bench.do(action_from_json(last))
    assert said in str(caught.value)
    assert "\n" not in str(caught.value)


def test_a_wire_is_shaken_at_the_nearer_of_its_ends() -> None:
    bench = Bench(healthy(), solver())
    bench.do(action_from_json({"look": "tailgate hinge"}))
    assert bench.do(action_from_json({"shake": "wire 9"})).minutes == pytest.approx(0.3)


def test_hot_air_and_water_have_their_cautions() -> None:
    bench = Bench(healthy(), solver())
    for verb, text in (("warm", care.HOT_AIR), ("wet", care.WATER)):
        action = action_from_json({verb: "C41"})
        assert text in {c.text for c in cautions(healthy(), bench.situation, action)}


@pytest.mark.parametrize(
    ("part", "pin", "do"),
    [
        ("K3", "87", {"try": "K3"}),
        ("K3", "87", {"swap": ["K3", "K5"]}),
        ("F7", "2", {"renew": "F7"}),
    ],
)
def test_whatever_is_put_on_a_poor_contact_wipes_it(part: str, pin: str, do: dict) -> None:
    """It looks as if the old relay or fuse had been bad, until the old one is put back as well."""
    poor = with_faults(healthy(), [Fault(part, "poor contact", pin, 8.0)])
    bench = Bench(poor, solver())
    bench.do(action_from_json({"set": ON}))
    clamp = action_from_json({"clamp": "wire 8"})
    assert float(bench.do(clamp).reading.value) < 3.0
    bench.do(action_from_json(do))
    assert float(bench.do(clamp).reading.value) > 11.0
    if part == "K3":
        back = {"untry": "K3"} if "try" in do else do
        bench.do(action_from_json(back))
        assert float(bench.do(clamp).reading.value) > 11.0
