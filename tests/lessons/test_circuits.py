"""The shipped circuits as vehicles: sound ones work and are wired to last, faulty ones show it.

Limits from outside are named beside the checks. That each file reads, and draws without anything in
the way of anything else, is looked at in tests/sim.
"""

import itertools
import re
from dataclasses import dataclass
from functools import cache
from pathlib import Path

import numpy as np
import pytest

from lessons.catalogue import circuit_path
from sim.action import action_from_json
from sim.bench import Bench
from sim.bus import live
from sim.circuit import Circuit
from sim.circuitfile import read_circuit
from sim.effects import effect_holds, load_power, nominal_power
from sim.faults import parse_faults, possible_faults, with_faults, write_faults
from sim.network import (
    EVERYTHING,
    Configuration,
    Floats,
    configured,
    owner_of,
    stack_rows,
)
from sim.parts.family import Law, Trigger
from sim.solver.steady import Solution, Solver

FOLDER = circuit_path("rear-window-heater").parent
NAMES = sorted(path.name.removesuffix(".circuit.yaml") for path in FOLDER.glob("*.circuit.yaml"))
STRESSES = (
    (),
    *(((EVERYTHING, t),) for t in (Trigger.VIBRATION, Trigger.HEAT, Trigger.MOISTURE)),
)
#: Largest fuse in A for a wire of so many mm2, bundled in a car: common practice, no source.
LARGEST_FUSE = {0.5: 7.5, 0.75: 10, 1: 15, 1.5: 20, 2.5: 30, 4: 40, 6: 60, 10: 80, 16: 100}
JUMPER = 0.15  # m, a wire inside a box that may be thinner; ours
BRIDGE = 10.0  # S, what conducts less is a load
SLEEPING = {"sleeping unit", "bus unit"}
PASSING = {
    "wire",
    "connector",
    "switch",
    "selector switch",
    "key switch",
    "relay",
    "splice",
    "fusible link",
}


@dataclass(frozen=True)
class Vehicle:
    """A circuit and what solves it."""

    circuit: Circuit
    solver: Solver

    def solve(self, rows: Floats, standing: Configuration) -> Solution:
        here = configured(self.circuit, self.solver.network, rows, standing)
        return live.solve(self.solver, here, self.solver.lanes(np.arange(len(here))))

    def standing(self, *positions: str, stressed: tuple = ()) -> Configuration:
        """Give controls in positions, units asleep with the key off or without a key."""
        asleep = tuple(n for n, p in self.circuit.parts.items() if p.kind in SLEEPING)
        controls = tuple(zip(self.circuit.controls, positions, strict=True))
        awake = dict(controls).get("key", "off") != "off"
        return Configuration(controls, stressed=stressed, asleep=() if awake else asleep)

    def positions(self) -> list[tuple[str, ...]]:
        return [*itertools.product(*(c.positions for c in self.circuit.controls.values()))]

    def noticed(self, solution: Solution) -> np.ndarray:
        """Give for every lane (L, effects) which hold, a relay pulled in counting as one."""
        network, found = self.solver.network, []
        for effect in self.circuit.effects.values():
            if effect.quantity == "state":
                found.append(solution.closed[:, network.relay_names.index(effect.part)] == 1)
            else:
                found.append(effect_holds(self.circuit, network, solution, effect))
        return np.stack(found, axis=1)


@cache
def vehicle(name: str) -> Vehicle:
    """Give a shipped vehicle."""
    circuit = read_circuit(circuit_path(name))
    return Vehicle(circuit, Solver.of(circuit))


@pytest.fixture(params=NAMES)
def car(request: pytest.FixtureRequest) -> Vehicle:
    """Give every shipped vehicle."""
    return vehicle(request.param)


def whole(car: Vehicle) -> list[tuple[tuple[str, ...], Solution]]:
    """Give the sound vehicle in every position."""
    rows = stack_rows([car.circuit])
    return [(p, car.solve(rows, car.standing(*p))) for p in car.positions()]


# Which effects are there when a sound vehicle is operated: vehicle, positions, yes, no.
WORKS: list[tuple[str, tuple[str, ...], str, str]] = [
    ("first-bench", ("off", "on"), "", "big lamp glows, small lamp glows"),
    ("first-bench", ("on", "on"), "big lamp is bright, small lamp is bright", ""),
    ("cargo-lamp", ("off", "closed", "off"), "", "front load lamp glows, cab lamp lights"),
    (
        "cargo-lamp",
        ("off", "open", "off"),
        "front load lamp is bright, rear load lamp is bright",
        "",
    ),
    ("cargo-lamp", ("on", "closed", "on"), "rear load lamp is bright, cab lamp lights", ""),
    (
        "horn-relay",
        ("released", "on", "off"),
        "interior lamp lights",
        "high horn sounds, relay clicks",
    ),
    (
        "horn-relay",
        ("pressed", "off", "off"),
        "high horn sounds, low horn sounds, relay clicks",
        "",
    ),
    ("horn-relay", ("released", "off", "on"), "rear window warms", "high horn sounds"),
    ("headlamps", ("side", "main"), "left side lamp lights", "left main beam glows"),
    (
        "headlamps",
        ("head", "dipped"),
        "left dipped beam is bright, right dipped beam is bright, right side lamp lights",
        "left main beam glows, right main beam glows, main beam pilot lights",
    ),
    (
        "headlamps",
        ("head", "main"),
        "left main beam is bright, right main beam is bright, main beam pilot lights",
        "left dipped beam is bright",
    ),
    ("starter", ("crank", "released", "off"), "", "start relay clicks, starter clunks"),
    ("starter", ("run", "pressed", "on"), "interior lamp lights", "start relay clicks"),
    ("starter", ("crank", "pressed", "on"), "engine cranks, starter clunks", ""),
    ("trailer-lamps", ("off",), "", "tail markers glow, tractor marker lights"),
    ("trailer-lamps", ("on",), "left tail marker lights, right tail marker lights", ""),
    ("tail-lamps", ("off",), "", "left tail lamp lights, dash is lit"),
    ("tail-lamps", ("on",), "right tail lamp lights, right licence lamp lights, dash is lit", ""),
    ("night-draw", ("off", "closed", "standing"), "", "car drinks through the main fuse"),
    ("night-draw", ("off", "open", "standing"), "glovebox lamp lights", "camera is on"),
    (
        "night-draw",
        ("run", "closed", "standing"),
        "camera is on",
        "current in the alternator cable",
    ),
    ("rear-wiper", ("run", "off", "on"), "number plate lamp lights", "rear wiper creeps"),
    ("rear-wiper", ("run", "on", "off"), "rear wiper runs, relay clicks", ""),
    ("added-accessory", ("off", "on"), "", "cool box hums, reading lamps glow"),  # as designed
    ("added-accessory", ("accessory", "on"), "cool box runs, reading lamps are bright", ""),
    ("washer-pump", ("run", "off", "on"), "map lamp lights", "washer dribbles"),
    ("washer-pump", ("run", "front", "off"), "washer sprays", ""),
    ("washer-pump", ("run", "rear", "off"), "washer sprays", ""),
    ("reversing-lamps", ("run", "neutral"), "washer jets get warm", "left reversing lamp glows"),
    ("reversing-lamps", ("run", "reverse"), "right reversing lamp lights, dash lamp lights", ""),
    ("power-sockets", ("off",), "", "lamp in front socket glows, lamp in rear socket glows"),
    (
        "power-sockets",
        ("run",),
        "lamp in front socket is bright, lamp in rear socket is bright, relay clicks",
        "",
    ),
    (
        "fog-lamps",
        ("off", "on", "dipped", "released"),
        "",
        "left fog lamp glows, fog switch lamp lights",
    ),
    (
        "fog-lamps",
        ("on", "on", "dipped", "released"),
        "left fog lamp is bright, fog relay clicks",
        "",
    ),
    (
        "fog-lamps",
        ("on", "on", "main", "pressed"),
        "horn sounds, main beam pilot lights",
        "left fog lamp glows",
    ),
    ("rear-window-heater", ("run", "on", "released"), "rear window clears", "horn sounds"),
    ("two-wires", ("off", "open"), "courtesy lamp lights", "dash shows road speed"),
    (
        "two-wires",
        ("run", "closed"),
        "dash shows road speed, rear wiper knows reverse gear",
        "courtesy lamp lights",
    ),
]


@pytest.mark.parametrize(
    ("name", "positions", "yes", "no"), WORKS, ids=lambda one: one if isinstance(one, str) else None
)
def test_a_sound_vehicle_does_what_it_is_told(
    name: str, positions: tuple[str, ...], yes: str, no: str
) -> None:
    car = vehicle(name)
    seen = car.noticed(car.solve(stack_rows([car.circuit]), car.standing(*positions)))[0]
    found = dict(zip(car.circuit.effects, seen.tolist(), strict=True))
    assert [effect for effect in yes.split(", ") if effect and not found[effect]] == []
    assert [effect for effect in no.split(", ") if effect and found[effect]] == []


def test_every_vehicle_is_operated_above() -> None:
    assert {name for name, *_ in WORKS} == set(NAMES)


def test_the_file_says_which_lesson_it_is_for(car: Vehicle) -> None:
    head = Path(circuit_path(car.circuit.name)).read_text("utf-8").partition("format:")[0]
    if car.circuit.name != "rear-window-heater":
        assert re.match(r"# Lesson \d\d, ", head)
        assert re.search(r"to break", " ".join(head.split("\n# ")))


# Sound


def test_a_sound_vehicle_blows_no_fuse_and_burns_its_lamps_as_rated(car: Vehicle) -> None:
    lamps = [p for p in car.circuit.parts.values() if p.kind == "lamp"]
    for position, solution in whole(car):
        assert not solution.status.any(), position
        assert not solution.blown.any(), position
        # charging raises 12 V lamps to 14 V: 1.28 times the power by the exponent 1.6 of re-rating
        for lamp in lamps:
            power = load_power(car.circuit, car.solver.network, solution, lamp.name)[0]
            share = float(power) / nominal_power(lamp)
            assert share < 0.05 or 0.8 < share < 1.3, (position, lamp.name, share)


def test_joints_of_a_sound_vehicle_lose_next_to_nothing(car: Vehicle) -> None:
    """Lighting loses 0.5 V in all, a ground 0.1 V (common practice, no source)."""
    network = car.solver.network
    joints = [n for n, e in enumerate(network.elements) if e.joint and e.conductance]
    studs = [n for n, e in enumerate(network.elements) if e.name in car.circuit.parts]
    studs = [n for n in studs if car.circuit.parts[network.elements[n].name].kind == "ground stud"]
    for position, solution in whole(car):
        assert np.abs(solution.drop[0, [*joints, *studs]]).max() < 0.1, position


def test_fuses_suit_their_load_and_their_wires(car: Vehicle) -> None:
    network, parts = car.solver.network, car.circuit.parts
    fuses = [p.name for p in parts.values() if p.kind == "blade fuse"]
    for position, solution in whole(car):
        for name in fuses:
            amps = abs(float(solution.current[0, network.element(name)]))
            assert amps < 0.9 * parts[name].number("rating"), (position, name)
    fed = reached(car, "B1.+")
    for name in fuses:
        ends = [f"{name}.1", f"{name}.2"]
        behind = {end: reached(car, end) for end in ends if end not in fed}
        for wire in {
            w for found in behind.values() for w in found if w in parts and w.startswith("wire ")
        }:
            if parts[wire].number("length") > JUMPER:
                area = round(parts[wire].number("area") * 1e6, 2)
                assert parts[name].number("rating") <= LARGEST_FUSE[area], (name, wire)


def reached(car: Vehicle, start: str) -> set[str]:
    """Give points and wires that lie at the same feed: through contacts and joints, no loads."""
    network, parts = car.solver.network, car.circuit.parts
    found, queue = {start}, [start]
    links = []
    for element in network.elements:
        owner = parts.get(owner_of(element))
        if owner is None or element.law not in (Law.LINEAR, Law.CONTACT, Law.FUSE):
            continue
        closed = element.conductance > BRIDGE and "welded" not in element.name
        if closed and (owner.kind in PASSING or element.joint) and owner.kind != "blade fuse":
            links.append((element.a, element.b, owner.name))
    while queue:
        at = queue.pop()
        for a, b, owner in links:
            if at in (a, b):
                found.add(owner)
                other = b if at == a else a
                if other not in found and other != "body":
                    found.add(other)
                    queue.append(other)
    return found


def test_cranking_is_within_the_limits_of_the_trade() -> None:
    """Currents of four cylinders without data: a textbook; 9.6 V: US Army TM 5-3820-256-24-4.

    Each cable at most 0.2 V, each contact 0.1 V: US Navy, NAVEDTRA 14050, starter circuit test.
    """
    car = vehicle("starter")
    solution = car.solve(stack_rows([car.circuit]), car.standing("crank", "pressed", "off"))
    network = car.solver.network
    drops = dict(zip((e.name for e in network.elements), solution.drop[0].tolist(), strict=True))
    amps = -float(solution.current[0, network.element("B1")])
    volts = solution.volts[0, network.node("B1.+")] - solution.volts[0, network.node("B1.-")]
    assert 150.0 < amps < 185.0
    assert 9.6 < volts < 11.1
    for cable in ("wire 1", "wire 2", "wire 3"):
        assert 0.0 < abs(drops[f"{cable} first half"] + drops[f"{cable} second half"]) < 0.2
    for contact in ("M1 contact", "X1", "X2"):
        assert 0.0 < abs(drops[contact]) < 0.1


# Faulty


@cache
def shown(name: str) -> tuple[list[str], np.ndarray, np.ndarray]:
    """Give every fault: name, whether it changes an effect, and all voltages (0.1 V), per lane.

    Faults that come and go are given what brings them out.
    """
    car = vehicle(name)
    faults = [found for found, _ in possible_faults(car.circuit)]
    rows = stack_rows([car.circuit, *(with_faults(car.circuit, one) for one in faults)])
    changes, volts = [], []
    for position, stressed in itertools.product(car.positions(), STRESSES):
        solution = car.solve(rows, car.standing(*position, stressed=stressed))
        seen = car.noticed(solution)
        changes.append((seen != seen[0]).any(axis=1) | (solution.blown != 0).any(axis=1))
        volts.append(np.round(solution.volts[:, :-4], 1) + 0.0)
    names = ["sound", *(write_faults(car.circuit, one) for one in faults)]
    return names, np.any(changes, axis=0), np.concatenate(volts, axis=1)


def test_at_least_eight_faults_can_be_told_apart_and_are_noticed(car: Vehicle) -> None:
    _names, noticed, volts = shown(car.circuit.name)
    assert len({lane.tobytes() for lane in volts[noticed]}) >= 8


def test_some_complaint_has_at_least_eight_causes_that_read_differently(car: Vehicle) -> None:
    """What a case needs: the same is noticed of all of them, and no two show the same volts."""
    faults = [found for found, _ in possible_faults(car.circuit)]
    rows = stack_rows([car.circuit, *(with_faults(car.circuit, one) for one in faults)])
    causes: dict[tuple, set[bytes]] = {}
    for position in car.positions():
        solution = car.solve(rows, car.standing(*position))
        volts = np.round(solution.volts[:, :-4], 1) + 0.0
        for seen, lane in zip(car.noticed(solution), volts, strict=True):
            causes.setdefault((position, seen.tobytes()), set()).add(lane.tobytes())
        sound = car.noticed(solution)[0].tobytes()
        del causes[position, sound]
    assert max(len(found) for found in causes.values()) >= 8


def test_every_fault_that_the_file_names_is_noticed_or_read(car: Vehicle) -> None:
    names, noticed, volts = shown(car.circuit.name)
    for note in car.circuit.notes:
        name = write_faults(car.circuit, note.faults)
        lane = names.index(name)
        assert noticed[lane] or (volts[lane] != volts[0]).any(), name


def test_the_file_names_what_is_likely_on_this_vehicle(car: Vehicle) -> None:
    assert len({write_faults(car.circuit, note.faults) for note in car.circuit.notes}) >= 8
    for note in car.circuit.notes:
        assert note.cause, note.faults


def test_a_lost_ground_sends_the_current_back_through_the_main_beams() -> None:
    """Dipped beam left, main beams left and right in series: none of them as it should be."""
    car = vehicle("headlamps")
    lost = with_faults(car.circuit, car.circuit.notes[0].faults)
    assert write_faults(car.circuit, lost.parts["C3"].faults) == "C3.1=open"
    solution = car.solve(stack_rows([car.circuit, lost]), car.standing("head", "dipped"))
    network = car.solver.network
    left, back = (solution.current[1, network.element(f"{name} filament")] for name in ("E1", "E2"))
    assert back < -1.0  # out of the feed of the lamp that is off
    assert 0.0 < left < solution.current[0, network.element("E1 filament")]


def test_meter_and_oscilloscope_agree_on_the_charging_voltage_of_the_night_draw() -> None:
    """The mean of a ripple is what a meter on DC shows, within 0.2 V, at what the battery takes."""
    bench = Bench(read_circuit(circuit_path("night-draw")))
    posts = ["B1.+", "B1.-"]
    ask = (
        {"set": {"key": "run", "engine": "idling 850 rpm"}},
        {"measure": "volts", "red": posts[0], "black": posts[1]},
        {"scope": {"A": posts}, "time": "10 ms"},
    )
    _set, meter, screen = (bench.do(action_from_json(one)).reading for one in ask)
    assert meter is not None
    assert screen is not None
    mean = float(dict(screen.also)["A mean"].removesuffix(" V"))
    assert mean == pytest.approx(float(meter.value), abs=0.2)
    assert 13.8 < mean < 14.7


def test_the_readme_names_every_circuit() -> None:
    readme = (Path(__file__).parents[2] / "README.md").read_text("utf-8")
    files = circuit_path("headlamps").parent.glob("*.circuit.yaml")
    names = [path.name.removesuffix(".circuit.yaml") for path in files]
    assert [name for name in names if f"`{name}`" not in readme] == []


def test_a_headlamp_bulb_in_place_of_the_tail_lamps_fuse_tells_where_the_short_is() -> None:
    """In series it takes nearly all of the volts while the short is there, and few without it."""
    whole = read_circuit(circuit_path("tail-lamps"))
    bench = Bench(with_faults(whole, parse_faults(whole, "wire 12=short to ground:0.05 ohm")))
    holder = {"red": "F3.1", "black": "F3.2"}
    seen = []
    for do in ({"set": {"side lamps": "on"}}, {"pull": "F3"}, {"unplug": "C6"}):
        bench.do(action_from_json(do))
        if "set" not in do:
            bulb = bench.do(action_from_json({"load": "55 W", **holder})).reading
            small = bench.do(action_from_json({"lamp": True, **holder})).reading
            assert bulb is not None
            assert small is not None
            assert small.words == "bright"  # with the short and without
            seen.append(float(bulb.value))
    assert seen[0] > 11.0
    assert seen[1] < 4.0
