"""Names that are too alike, places nobody goes to, controls and effects that cannot work."""

from __future__ import annotations

from collections.abc import Iterator

from sim.checks.finding import Finding
from sim.circuit import BODY, Circuit, Control, Part
from sim.effects import load_element
from sim.mistakes import perhaps
from sim.network import part_elements
from sim.parts import FAMILIES
from sim.parts.sleeper import wakers
from sim.solver.steady import Solver

_ENDS = ("from", "to")
GROUND = "31"


def alike(circuit: Circuit) -> Iterator[Finding]:
    """Find names of one section that differ in capitals or spaces only.

    Parts, places and effects are one section here: one can look at all three.
    """
    parts = [("parts", name) for name, part in circuit.parts.items() if _is_listed(part)]
    wires = [("wires", name.removeprefix("wire ")) for name in circuit.parts if _is_wire(name)]
    groups = [
        [*(("places", name) for name in circuit.places), *parts]
        + [("effects", name) for name in circuit.effects],
        wires,
        [("controls", name) for name in circuit.controls],
        [("rails", name) for name in circuit.rails],
    ]
    for group in groups:
        first: dict[str, tuple[str, str]] = {}
        for section, name in group:
            same = first.setdefault(_folded(name), (section, name))
            if same != (section, name):
                text = f"{name!r} is too like {same[1]!r} in {same[0]}; rename one of them"
                yield Finding((section, name), text)


def misnamed(file: str, written: str, ending: str) -> Iterator[Finding]:
    """Find an id that is not what its file is called: who asks for the one gets the other.

    Parameters
    ----------
    file : str
        Name of the file, without its folder; one without the usual ending is known by its path.
    written : str
        The id in it.
    ending : str
        What such files end with.
    """
    called = file.removesuffix(ending)
    if called not in (file, written):
        text = f"id {written!r}, but the file is called {file}: others find it by the file's name; "
        text += f"say `id: {called}`, or call the file {written}{ending}"
        yield Finding(("id",), text, warning=True)


def _folded(name: str) -> str:
    return " ".join(name.casefold().split())


def _is_wire(name: str) -> bool:
    return name.startswith("wire ")


def _is_listed(part: Part) -> bool:
    return part.kind not in {"wire", "fusible link"}


def rail_names(circuit: Circuit) -> Iterator[Finding]:
    """Find rails whose name hides a point, rails at the same point, and rails of no use."""
    ends = {str(p.values[key]) for p in circuit.parts.values() if p.kind == "wire" for key in _ENDS}
    by_point: dict[str, str] = {}
    for name, point in circuit.rails.items():
        where = ("rails", name)
        if name == GROUND and point != BODY:
            text = f"rail {GROUND} has to be {BODY}, the vehicle's ground, got {point}"
            yield Finding(where, f"{text}; wire {point} to a ground stud, and call its rail else")
        if name == BODY or "." in name:
            yield Finding(where, f"rail {name!r}: no dots and not {BODY!r}; points are called so")
        same = by_point.setdefault(point, name)
        if same != name and point != BODY:
            text = f"rails {same} and {name} are both {point}; one is enough"
            yield Finding(where, text, warning=True)
        if name not in ends and point != BODY:
            text = f"rail {name}: no wire begins or ends on it; use its name in `wires`"
            yield Finding(where, text, warning=True)


def idle_places(circuit: Circuit) -> Iterator[Finding]:
    """Find places at which there is nothing."""
    used = {part.at for part in circuit.parts.values()}
    used |= {part.felt_at for part in circuit.parts.values()}
    used |= {effect.place for effect in circuit.effects.values()}
    used |= {note.seen_at for note in circuit.notes}
    for name in circuit.places:
        if name not in used:
            text = f"place {name!r}: no part is there and nothing is seen there; leave it out"
            yield Finding(("places", name), text, warning=True)


def idle_controls(circuit: Circuit, broken: frozenset[str] = frozenset()) -> Iterator[Finding]:
    """Find controls that set what has no positions, and positions that a switch never has."""
    for control in circuit.controls.values():
        for name in sorted(set(control.sets) - broken):
            yield from _reaction(control, circuit.parts[name])


def _reaction(control: Control, part: Part) -> Iterator[Finding]:
    where = ("controls", control.name)
    gated = [e for e in part_elements(part, 20.0) if e.positions]
    if not gated and not FAMILIES[part.kind].setting:
        text = f"{control.name} sets {part.name}, but nothing in a {part.kind} follows a control"
        yield Finding((*where, "sets"), f"{text}; set a switch")
        return
    followed = list(dict.fromkeys(word for e in gated for word in e.positions))
    wrong = [word for word in followed if word not in control.positions]
    if wrong and "closed in" in part.values:
        known = ", ".join(control.positions)
        text = f"{part.name}: closed in {wrong[0]!r}, but {control.name} has {known}"
        text += perhaps(wrong[0], control.positions) or "; say which with `closed in`"
        yield Finding(("parts", part.name, "closed in"), text)
    elif followed and len(wrong) == len(followed):
        words = ", ".join(followed)
        text = f"{control.name} sets {part.name}, which follows {words}; rename the positions"
        yield Finding(where, text)


def unset_switches(circuit: Circuit) -> Iterator[Finding]:
    """Find switches that no control sets: their contacts stay open for ever.

    What a control warms is moved by it too.
    """
    for part in circuit.parts.values():
        follows = any(e.positions for e in part_elements(part, circuit.temperature))
        if part.values.get("warmed by"):
            continue
        if not part.settings and (follows or FAMILIES[part.kind].setting):
            text = f"{part.name}: no control sets this {part.kind}; add `NAME: {{off, on, sets: "
            yield Finding(("parts", part.name), f"{text}{part.name}}}` to controls", warning=True)


def unheard_wakers(circuit: Circuit) -> Iterator[Finding]:
    """Find units that are to be woken by a control there is not: they would sleep through it."""
    for part in circuit.parts.values():
        if "woken by" not in part.values:
            continue
        pin = ("wake",) if part.values.get("wake pin") else ()
        known = (*circuit.controls, *pin)
        for word in wakers(part):
            if word not in known:
                text = f"{part.name}: woken by {word!r}, but there is no such control"
                text += perhaps(word, known) or f"; there are {', '.join(known)}, parted by commas"
                yield Finding(("parts", part.name, "woken by"), text)


def unheard_warmers(circuit: Circuit) -> Iterator[Finding]:
    """Find thermistors that are to be warmed by a control there is not, or that one sets."""
    for part in circuit.parts.values():
        word = str(part.values.get("warmed by", ""))
        where = ("parts", part.name, "warmed by")
        if word and word not in circuit.controls:
            text = f"{part.name}: warmed by {word!r}, but there is no such control"
            known = tuple(circuit.controls)
            yield Finding(where, text + (perhaps(word, known) or f"; there are {', '.join(known)}"))
        elif word and part.settings:
            text = f"{part.name}: warmed by {word!r}, and set by a control as well; choose one"
            yield Finding(where, text)


def idle_effects(circuit: Circuit, solver: Solver) -> Iterator[Finding]:
    """Find effects that ask of a part what it does not have."""
    relays = solver.network.relay_names
    for effect in circuit.effects.values():
        where, part = ("effects", effect.name), circuit.parts[effect.part]
        if effect.quantity == "hears":
            continue
        if effect.quantity == "state":
            if part.name not in relays:
                text = f"a {part.kind} has no state that changes; relays do"
                yield Finding(where, f"{effect.name}: {text}")
            continue
        try:
            load_element(circuit, solver.network, effect.part)
        except KeyError:
            text = f"nothing in {part.name} takes power; give it a lamp, or name another part"
            yield Finding(where, f"{effect.name}: {text}")
            continue
        if effect.nominal and not FAMILIES[part.kind].nominal_power:
            text = f"a {part.kind} has no nominal power; give the limit in W or A"
            yield Finding(where, f"{effect.name}: {text}")
