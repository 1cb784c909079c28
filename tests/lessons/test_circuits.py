"""Sound vehicles: they do what they are told, and are wired to last.

Limits from outside are named beside the checks. That each file draws without anything in the way of
anything else is looked at in tests/sim.
"""

import numpy as np
import pytest

from lessons.catalogue import circuit_path
from sim.action import action_from_json
from sim.bench import Bench
from sim.circuitfile import read_circuit
from sim.effects import load_power, nominal_power
from sim.network import (
    owner_of,
    stack_rows,
)
from sim.parts.family import Law
from tests.lessons.vehicles import NAMES, Vehicle, vehicle, whole

#: Largest fuse in A for a wire of so many mm2, bundled in a car: common practice, no source.
LARGEST_FUSE = {0.5: 7.5, 0.75: 10, 1: 15, 1.5: 20, 2.5: 30, 4: 40, 6: 60, 10: 80, 16: 100}
JUMPER = 0.15  # m, a wire inside a box that may be thinner; ours
BRIDGE = 10.0  # S, what conducts less is a load
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
        "coolant-pump-off",
        ("run", "on", "standing"),
        "the pump hums, warning lamp lights",
        "",
    ),
    ("coolant-pump-off", ("run", "off", "idling 850 rpm"), "", "the pump hums, warning lamp glows"),
    ("coolant-pump-off", ("off", "on", "standing"), "", "the pump hums, warning lamp glows"),
    (
        "coolant-pump-full",
        ("run", "on", "standing"),
        "the pump hums, warning lamp lights",
        "",
    ),
    (
        "coolant-pump-full",
        ("run", "off", "idling 850 rpm"),
        "",
        "the pump hums, warning lamp glows",
    ),
    ("coolant-pump-full", ("off", "on", "standing"), "", "the pump hums, warning lamp glows"),
    (
        "coolant-pump-last",
        ("run", "on", "standing"),
        "the pump hums, warning lamp lights",
        "",
    ),
    (
        "coolant-pump-last",
        ("run", "off", "idling 850 rpm"),
        "",
        "the pump hums, warning lamp glows",
    ),
    ("coolant-pump-last", ("off", "on", "standing"), "", "the pump hums, warning lamp glows"),
    ("no-start", ("run", "own key"), "main relay clicks", "fuel pump hums, key lamp lights"),
    (
        "no-start",
        ("crank 250 rpm", "own key"),
        "engine cranks, fuel pump hums, injectors tick, pump relay clicks",
        "key lamp lights",
    ),
    (
        "no-start",
        ("crank 250 rpm", "other key"),
        "engine cranks, key lamp lights",
        "fuel pump hums",
    ),
    (
        "engine-sensors",
        ("run", "standing 100 kPa", "off 6 bar", "released 0 %"),
        "warning lamp lights",
        "radiator fan runs",
    ),
    (
        "engine-sensors",
        ("run", "idling 35 kPa", "on 22 bar", "floored 100 %"),
        "radiator fan runs, fan relay clicks",
        "warning lamp glows",
    ),
    (
        "two-wires",
        ("run", "closed"),
        "dash shows road speed, rear wiper knows reverse gear",
        "courtesy lamp lights",
    ),
    ("charging", ("run", "standing", "on", "off"), "charge lamp lights", "headlamps are white"),
    (
        "charging",
        ("run", "idling 850 rpm", "on", "on"),
        "headlamps are white, the rear window clears",
        "charge lamp glimmers",
    ),
    ("window", ("off", "up", "off", "on"), "door lamp lights", "window creeps"),
    ("window", ("run", "up", "off", "off"), "window moves, window relay clicks", ""),
    ("window", ("run", "down", "off", "off"), "window moves", ""),
    ("window", ("run", "off", "up", "off"), "window moves", "door lamp lights"),
    ("window", ("run", "off", "down", "off"), "window moves", ""),
    ("window", ("run", "up", "down", "off"), "", "window creeps"),  # both ends are fed
    ("blower", ("run", "1", "on"), "a breath of air, cup light is on", "air blows"),
    ("blower", ("run", "2", "off"), "air blows", "air blows hard, blower relay clicks"),
    ("blower", ("run", "3", "off"), "air blows", "air blows hard"),
    ("blower", ("run", "4", "off"), "air blows hard, blower relay clicks", ""),
    (
        "charging-by-load",
        ("run", "standing", "warm 25 degC", "off", "off"),
        "charge lamp lights",
        "headlamps are yellow",
    ),
    (
        "charging-by-load",
        ("run", "idling 850 rpm", "warm 25 degC", "on", "on"),
        "headlamps are white, the rear window clears",
        "charge lamp lights",
    ),
    (
        "charging-by-load",
        ("run", "idling 850 rpm", "warm 25 degC", "off", "off"),
        "",
        "charge lamp lights",
    ),
    (
        "injectors",
        ("run", "standing 1 bar"),
        "main relay clicks",
        "cylinder 1 pulls, fuel pump hums",
    ),
    (
        "injectors",
        ("run", "idling 0.35 bar"),
        "cylinder 1 pulls, cylinder 2 pulls, cylinder 3 pulls, cylinder 4 pulls, fuel pump hums",
        "",
    ),
    ("pulsed-fan", ("run", "cold 20 degC"), "", "fan whispers"),
    ("pulsed-fan", ("run", "hot 102 degC"), "fan turns", "fan roars"),
    ("pulsed-fan", ("run", "boiling 115 degC"), "fan roars", ""),
    ("blower-module", ("off", "full 100 %"), "", "a breath of air, blower light is on"),
    ("blower-module", ("run", "off 0 %"), "", "a breath of air, blower light is on"),
    ("blower-module", ("run", "low 25 %"), "a breath of air, blower light is on", "air blows"),
    ("blower-module", ("run", "middle 50 %"), "air blows", "air blows hard"),
    ("blower-module", ("run", "full 100 %"), "air blows hard, blower light is on", ""),
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


def test_the_feed_of_a_starter_is_within_the_limits_of_the_trade() -> None:
    """US Navy, NAVEDTRA 14050: 0.4, 0.3 and 0.1 V in three views of the insulated circuit.

    Which view ends where is from memory: at the motor, at 30, across the contact. 0.20 V for each
    100 A of a cable: US Army TM 10-3930-671-24. 0.5 V from plus to 50 while it cranks: US Army TM
    5-3820-256-24-4, p. 9 (reprints a maker's text).
    """
    car = vehicle("starter")
    solution = car.solve(stack_rows([car.circuit]), car.standing("crank", "pressed", "off"))
    network = car.solver.network
    volts = dict(zip(network.nodes, solution.volts[0].tolist(), strict=True))
    elements = {e.name: n for n, e in enumerate(network.elements)}
    amps = float(solution.current[0, elements["M1 motor"]])
    contact = float(solution.drop[0, elements["M1 contact"]])
    to_30 = volts["B1.+"] - volts["M1.30"]
    behind = volts["M1.30"] - volts["M1.30b"] + contact
    assert 0.0 < contact < 0.1
    assert 0.0 < to_30 < 0.3
    assert 0.0 < to_30 + behind < 0.4
    for cable in (to_30, volts["M1.31"] - volts["X2.ring"], volts["X1.ring"] - volts["B1.-"]):
        assert 0.0 < cable < 0.20 * amps / 100.0
    assert 0.0 < volts["B1.+"] - volts["M1.50"] < 0.5


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
