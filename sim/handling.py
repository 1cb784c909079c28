"""What an action does to the bench: what is refused, and how the bench stands afterwards."""

from __future__ import annotations

from collections.abc import Iterable
from dataclasses import replace

from sim.access import Price, probe_points
from sim.action import Action
from sim.circuit import Circuit
from sim.errors import ActionError
from sim.parts import FAMILIES
from sim.situation import Situation


def check(circuit: Circuit, situation: Situation, action: Action) -> None:
    """Refuse what cannot be done: unknown names, unplugging what is unplugged, and the like."""
    verb, target = action.verb, action.target
    _check_settings(circuit, action)
    if verb == "look" and target not in circuit.places:
        raise ActionError(_unknown("place", target, circuit.places))
    watched = {n: e for n, e in circuit.effects.items() if e.quantity != "state"}
    if verb == "watch" and target not in watched:
        raise ActionError(_unknown("effect to watch", target, watched))
    if verb == "clamp" and target not in _wires(circuit):
        raise ActionError(_unknown("wire", target, _wires(circuit)))
    if verb in ("unplug", "plug", "pull", "insert", "renew", "feel", "listen"):
        _check_part(circuit, situation, verb, target)
    if verb == "swap":
        _check_swap(circuit, action)
    if verb == "bridge" and situation.bridge:
        message = "the jumper is already on; take it off first"
        raise ActionError(message)
    if verb == "unbridge" and not situation.bridge:
        message = "the jumper is not on"
        raise ActionError(message)


def _check_settings(circuit: Circuit, action: Action) -> None:
    for control, position in action.settings:
        known = circuit.controls.get(control)
        if known is None:
            raise ActionError(_unknown("control", control, circuit.controls))
        if position not in known.positions:
            raise ActionError(_unknown(f"position of {control}", position, known.positions))


def _unknown(what: str, got: str, allowed: Iterable[str]) -> str:
    return f"{what} {got!r} unknown; there are {', '.join(allowed)}"


def _wires(circuit: Circuit) -> list[str]:
    return [name for name in circuit.parts if name.startswith("wire ")]


def _check_part(circuit: Circuit, situation: Situation, verb: str, name: str) -> None:
    parts = {n: p for n, p in circuit.parts.items() if p.kind != "wire"}
    if name not in parts:
        raise ActionError(_unknown("part", name, parts))
    kind, apart = parts[name].kind, name in situation.apart
    family = FAMILIES[kind]
    wrong = {
        "unplug": not family.separable or apart,
        "plug": not family.separable or not apart,
        "pull": not family.removable or apart,
        "insert": not family.removable or not apart,
        "renew": kind != "blade fuse",
        "listen": kind != "relay",
    }
    if wrong.get(verb, False):
        state = "already apart" if apart else "in place"
        message = f"cannot {verb} {name}: it is a {kind}, {state}"
        raise ActionError(message)


def _check_swap(circuit: Circuit, action: Action) -> None:
    first, second = (circuit.parts.get(name) for name in (action.red, action.black))
    likes = [p for p in (first, second) if p is not None and p.kind == "relay"]
    names = {part.name for part in likes}
    if len(names) != 2 or not any(str(part.values["like"]) in names for part in likes):  # noqa: PLR2004 -- a pair
        pairs = ", ".join(
            f"{part.values['like']} and {part.name}"
            for part in circuit.parts.values()
            if part.kind == "relay" and part.values["like"]
        )
        message = f"cannot swap {action.red} and {action.black}: like parts are {pairs or 'none'}"
        raise ActionError(message)


def handled(circuit: Circuit, situation: Situation, action: Action, cost: Price) -> Situation:
    """Return how the bench stands after an action that `check` has let pass."""
    seconds = action.seconds or cost.minutes * 60
    clock = situation.clock + seconds
    new = replace(
        situation,
        minutes=situation.minutes + cost.minutes,
        clock=clock,
        reached=tuple(sorted({*situation.reached, *cost.places})),
        here=cost.places or situation.here,
    )
    changed = _changed(circuit, new, action)
    if changed == new or action.verb in ("measure", "lamp"):
        return changed
    return replace(changed, changed=clock)


def _changed(circuit: Circuit, new: Situation, action: Action) -> Situation:  # noqa: PLR0911 -- one a verb
    verb, name = action.verb, action.target
    if verb in ("set", "listen"):
        controls = {**dict(new.controls), **dict(action.settings)}
        return replace(new, controls=tuple(sorted(controls.items())))
    if verb in ("measure", "lamp"):
        return replace(new, red=circuit.point(action.red), black=circuit.point(action.black))
    if verb in ("unplug", "pull"):
        return _lifted(replace(new, apart=tuple(sorted({*new.apart, name}))), circuit)
    if verb in ("plug", "insert"):
        return _lifted(replace(new, apart=tuple(sorted({*new.apart} - {name}))), circuit)
    if verb == "renew":
        apart = tuple(sorted({*new.apart} - {name}))
        fitted = replace(new, renewed=tuple(sorted({*new.renewed, name})), apart=apart)
        return _lifted(fitted, circuit)
    if verb == "swap":
        pair = (min(action.red, action.black), max(action.red, action.black))
        left = tuple(p for p in new.swapped if p != pair)
        swapped = left if len(left) < len(new.swapped) else (*new.swapped, pair)
        return replace(new, swapped=swapped)
    if verb == "bridge":
        return replace(new, bridge=(circuit.point(action.red), circuit.point(action.black)))
    if verb == "unbridge":
        return replace(new, bridge=())
    return new


def _lifted(situation: Situation, circuit: Circuit) -> Situation:
    """Take the leads off points that are no longer in reach."""
    points = probe_points(circuit, situation.apart)
    red = situation.red if situation.red in points else ""
    black = situation.black if situation.black in points else ""
    return replace(situation, red=red, black=black)
