"""What several instruments ask of a scene: labour at leads and places, names that must be known."""

from __future__ import annotations

from collections.abc import Callable, Iterable
from dataclasses import replace

from sim import care
from sim.care import Caution
from sim.circuit import Circuit, Part
from sim.doing import Doing
from sim.errors import ActionError
from sim.instruments.verb import Labour, Scene
from sim.language import say, say_in
from sim.reach import HANDLING, lead_moves, place_of, travel_minutes, wire_places
from sim.situation import Situation


def meanwhile(done: str, doing: Doing) -> str:
    """Return what was done, in words, with the controls that were operated meanwhile."""
    if not doing.settings:
        return done
    settings = ", ".join(f"{control} {position}" for control, position in doing.settings)
    return say("{done}, while {settings}", done=done, settings=settings)


def cannot(verb: str, part: Part, state: str) -> str:
    """Return that something cannot be done to a part: what it is, and how it stands."""
    return say(
        "cannot {verb} {part}: it is a {kind}, {state}",
        verb=say_in("verb", verb),
        part=part.name,
        kind=say(part.kind),
        state=state,
    )


def unknown(what: str, got: str, allowed: Iterable[str]) -> ActionError:
    """Return the error that names what there is."""
    known = ", ".join(allowed)
    return ActionError(
        say("{what} {got} unknown; there are {known}", what=say(what), got=repr(got), known=known)
    )


def check_settings(scene: Scene) -> None:
    """Refuse controls and positions that the vehicle does not have."""
    for control, position in scene.doing.settings:
        known = scene.circuit.controls.get(control)
        if known is None:
            raise unknown("control", control, scene.circuit.controls)
        if position not in known.positions:
            raise unknown(f"position of {control}", position, known.positions)


def known_part(scene: Scene) -> Part:
    """Return the part the action names; refuse wires and what is not there."""
    parts = {n: p for n, p in scene.circuit.parts.items() if p.kind != "wire"}
    if scene.doing.target not in parts:
        raise unknown("part", scene.doing.target, parts)
    return parts[scene.doing.target]


def check_part(scene: Scene) -> None:
    """Refuse wires and parts that are not there."""
    known_part(scene)


def check_place(scene: Scene) -> None:
    """Refuse places that are not there."""
    if scene.doing.target not in scene.circuit.places:
        raise unknown("place", scene.doing.target, scene.circuit.places)


def lead_labour(scene: Scene) -> Labour:
    """Return the labour of putting red and black where the action wants them."""
    resting = (scene.situation.red, scene.situation.black)
    ends = (scene.doing.red, scene.doing.black)
    places, minutes = lead_moves(scene.circuit, scene.situation, ends, resting)
    return Labour(tuple(places), minutes)


def clipped_labour(scene: Scene) -> Labour:
    """Return the labour of a tester with clips of its own: the leads', and its handling."""
    leads = lead_labour(scene)
    return Labour(leads.places, leads.minutes + HANDLING[scene.doing.verb])


def place_labour(scene: Scene) -> Labour:
    """Return the labour of doing something to a part, place or effect where it is."""
    place = place_of(scene.circuit, scene.doing.target)
    return Labour((place,), HANDLING[scene.doing.verb])


def part_place(scene: Scene) -> tuple[str, ...]:
    """Return the nearest place at which the named part, or wire, can be laid hands on."""
    circuit, name = scene.circuit, scene.doing.target
    if circuit.parts[name].kind != "wire":
        return (circuit.parts[name].at,)
    places = wire_places(circuit, name)
    nearest = min(
        places, key=lambda one: travel_minutes(circuit, scene.situation, (one,)), default=""
    )
    return (nearest,) if nearest else ()


def felt_labour(scene: Scene) -> Labour:
    """Return the labour of getting a hand on a part, from where that is easiest."""
    part = scene.circuit.parts[scene.doing.target]
    return Labour((part.felt_at or part.at,), HANDLING[scene.doing.verb])


def bench_labour(scene: Scene) -> Labour:
    """Return the labour of something done at the instrument itself."""
    return Labour((), HANDLING[scene.doing.verb])


def leads_put(scene: Scene) -> Situation:
    """Return the bench with red and black where the action wants them."""
    point = scene.circuit.point
    return replace(scene.situation, red=point(scene.doing.red), black=point(scene.doing.black))


def joined(
    *rules: Callable[[Scene], tuple[Caution, ...]],
) -> Callable[[Scene], tuple[Caution, ...]]:
    """Return the cautions of several rules, one rule after the other."""
    return lambda scene: tuple(caution for rule in rules for caution in rule(scene))


def always(text: str) -> Callable[[Scene], tuple[Caution, ...]]:
    """Return the rule that a caution goes with every use."""
    return lambda _scene: (Caution(text),)


def rings(scene: Scene) -> tuple[Caution, ...]:
    """Rings and watches, where leads come near a battery's posts."""
    return (Caution(care.RINGS),) if care.at_battery(scene.circuit, scene.ends) else ()


def restraint(scene: Scene) -> tuple[Caution, ...]:
    """No source of current on air bags and belt tensioners."""
    part = care.flagged_part(scene.circuit, scene.ends, "restraint")
    return (Caution(care.RESTRAINT, breached=True),) if part else ()


def high_voltage(scene: Scene) -> tuple[Caution, ...]:
    """Orange cables."""
    ends = scene.ends | ({scene.doing.target} & set(scene.circuit.parts))
    part = care.flagged_part(scene.circuit, ends, "high voltage")
    return (Caution(care.HIGH_VOLTAGE, breached=True),) if part else ()


def moving(scene: Scene) -> tuple[Caution, ...]:
    """Fans, pumps and a running engine, where a hand comes near them."""
    found = []
    part = scene.circuit.parts.get(scene.doing.target)
    if part is not None and part.kind in care.TURNING:
        found.append(Caution(care.FANS))
    if care.engine_runs(scene.circuit, scene.situation):
        found.append(Caution(care.ENGINE))
    return tuple(found)


def fired(circuit: Circuit, ends: set[str]) -> str:
    """Return the lasting harm of a source of current at these points, "" for none."""
    part = care.flagged_part(circuit, ends, "restraint")
    return f"{part} may have been fired: a restraint takes no current from a tester" if part else ""
