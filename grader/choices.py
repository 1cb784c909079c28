"""The plain readings: those a good technician would take and can explain.

- volts, and test lamp where no caution forbids it, with one lead on the body; volts across at most
  two joints of one current path
- clamp, click, feel, look, watch
- ohms, in circuit and dead, for opens and shorts only
- each of them as the vehicle stands, or with one thing unplugged, pulled, swapped or bridged; the
  configuration is made and undone within the reading, and paid for; it is made where the reading is
  taken, so that nobody walks to and fro within a reading
- watching what the vehicle does with one more control in another position (main beam, a door)

They span the yardstick V. A student may read anything else: it is judged in the same terms.
"""

from __future__ import annotations

from collections.abc import Iterator, Mapping, Sequence
from dataclasses import dataclass

from grader.suspects import Lineup
from sim.access import HANDLING, ProbePoint, lead_minutes, probe_points, wire_places
from sim.action import Action
from sim.care import on_module, on_sensor
from sim.circuit import BODY, Circuit
from sim.language import msg, retell
from sim.network import LEADS, Network
from sim.parts import FAMILIES
from sim.parts.family import Law
from sim.vocabulary import says_where

MOST_JOINTS = 2
#: How names of readings are made; they are kept with a prepared case, so they are English.
NAMES = (
    msg("volts at {point}"),
    msg("test lamp at {point}"),
    msg("drop {one} to {two}"),
    msg("clamp on {wire}"),
    msg("look at {place}"),
    msg("look {where}"),
    msg("feel {part}"),
    msg("watch: {effect}"),
    msg("ohms {point} to body"),
    msg("ohms {one} to {two}"),
    msg("listen to {part}"),
)
LOOK_AT = "look at "
SETUPS = (
    msg("{one} and {two} exchanged"),
    msg("{part} pulled"),
    msg("{part} unplugged"),
    msg("switching {setting}"),
)


def choice_words(name: str) -> str:
    """Return the name of a reading, with how the vehicle stands, in the language now spoken."""
    reading, found, rest = name.partition(" (")
    place = reading.removeprefix(LOOK_AT)
    if place != reading and says_where(place):
        reading = f"look {place}"
    if not found:
        return retell(reading, NAMES)
    stands = ", ".join(retell(piece, SETUPS) for piece in rest.removesuffix(")").split(", "))
    return f"{retell(reading, NAMES)} ({stands})"


@dataclass(frozen=True, slots=True)
class Choice:
    """One plain reading, with what has to be set up for it and undone after it.

    Attributes
    ----------
    prepare : tuple of Action
        From the vehicle as handed over with everything plugged; controls first.
    action : Action
    minutes : float
        Handling, the undoing included; without the way to places.
    places : tuple of str
    leads : int
        How many leads have to be moved; ties are shown with fewer.
    """

    name: str
    prepare: tuple[Action, ...]
    action: Action
    minutes: float
    places: tuple[str, ...]
    leads: int


@dataclass(frozen=True, slots=True)
class Setup:
    """One way the vehicle can stand: actions, words for it, minutes to make and undo, places."""

    prepare: tuple[Action, ...]
    words: str
    minutes: float = 0.0
    places: tuple[str, ...] = ()
    apart: tuple[str, ...] = ()


def plain_choices(lineup: Lineup) -> tuple[Choice, ...]:
    """Return every plain reading of a case, in a fixed order."""
    circuit = lineup.case.circuit
    network = lineup.fleet.solver.network
    relevant = relevant_parts(lineup, network)
    live, dead = _control_settings(lineup)
    found: list[Choice | None] = []
    for setup in _setups(circuit, relevant, live, _words(live)):
        found += _live_readings(lineup, network, relevant, setup)
    for setup in _setups(circuit, relevant, dead, _words(dead)):
        found += _dead_readings(lineup, network, relevant, setup)
    found += _clicks(lineup, relevant, live)
    found += _switched(lineup, live)
    return tuple(choice for choice in found if choice is not None)


def _words(settings: tuple[tuple[str, str], ...]) -> str:
    return ", ".join(f"{control} {position}" for control, position in settings)


def _control_settings(lineup: Lineup) -> tuple[tuple[tuple[str, str], ...], ...]:
    """Return the controls of the complaint, and those of the bench at hand-over."""
    case = lineup.case
    live = tuple(setting for a in case.shows[0].doing for setting in a.settings)
    start = dict(case.start)
    dead = tuple((control, start[control]) for control, _ in live)
    return live, dead


def relevant_parts(lineup: Lineup, network: Network) -> tuple[str, ...]:
    """Return the parts that suspects are in, and those their wires run to."""
    circuit = lineup.case.circuit
    names = {name for suspect in lineup.suspects for name in suspect.parts}
    for name in list(names):
        part = circuit.parts[name]
        for key in ("from", "to"):
            point = circuit.point(str(part.values.get(key, "")))
            names.add(point.partition(".")[0])
    known = {element.name.partition(" ")[0].partition(".")[0] for element in network.elements}
    return tuple(n for n in circuit.parts if n in names and (n in known or n.startswith("wire ")))


def _setups(
    circuit: Circuit,
    relevant: Sequence[str],
    settings: tuple[tuple[str, str], ...],
    words: str,
) -> Iterator[Setup]:
    base = (Action("set", settings=settings),)
    yield Setup(base, words)
    for name in relevant:
        part = circuit.parts[name]
        family = FAMILIES[part.kind]
        if family.removable or family.separable:
            verb, back = ("pull", "insert") if family.removable else ("unplug", "plug")
            done = f"{name} {'pulled' if family.removable else 'unplugged'}"
            minutes = HANDLING[verb] + HANDLING[back]
            action = Action(verb, name)
            yield Setup((action, *base), f"{done}, {words}", minutes, (part.at,), (name,))
    for name in relevant:
        part = circuit.parts[name]
        for other in circuit.parts.values():
            pair = {name, other.name}
            likes = {str(part.values.get("like", "")), str(other.values.get("like", ""))}
            if part.kind == other.kind == "relay" and name != other.name and likes & pair:
                swap = Action("swap", red=name, black=other.name)
                places = tuple(dict.fromkeys((part.at, other.at)))
                done = f"{name} and {other.name} exchanged"
                yield Setup((swap, *base), f"{done}, {words}", 2 * HANDLING["swap"], places)


def _switched(lineup: Lineup, live: tuple[tuple[str, str], ...]) -> Iterator[Choice | None]:
    """Return what can be watched with one control turned to where the complaint has it not."""
    circuit, stands = lineup.case.circuit, dict(lineup.case.start) | dict(live)
    for name, control in circuit.controls.items():
        for position in control.positions:
            if position != stands.get(name, control.positions[0]):
                settings = tuple((dict(live) | {name: position}).items())
                base = (Action("set", settings=settings),)
                yield from _watching(circuit, Setup(base, _words(settings)))


def _visit(point: ProbePoint, *more: ProbePoint) -> tuple[str, ...]:
    return tuple(dict.fromkeys(p.place for p in (point, *more) if p.place))


def _lead_minutes(*points: ProbePoint) -> float:
    return sum(lead_minutes(point) for point in points)


def _points(lineup: Lineup, relevant: Sequence[str], setup: Setup) -> list[ProbePoint]:
    points = probe_points(lineup.case.circuit, setup.apart)
    return [p for p in points.values() if p.name.partition(".")[0] in relevant]


def _choice(
    setup: Setup, name: str, action: Action, minutes: float, places: Sequence[str], leads: int = 0
) -> Choice | None:
    """Return a reading; None where it would be taken elsewhere than it was set up."""
    if setup.places and places and set(setup.places) != set(places):
        return None
    where = tuple(dict.fromkeys((*setup.places, *places)))
    title = f"{name} ({setup.words})"
    return Choice(title, setup.prepare, action, setup.minutes + minutes, where, leads)


def _live_readings(
    lineup: Lineup, network: Network, relevant: Sequence[str], setup: Setup
) -> Iterator[Choice | None]:
    circuit = lineup.case.circuit
    points = _points(lineup, relevant, setup)
    for point in points:
        minutes, places = _lead_minutes(point), _visit(point)
        volts = Action("measure", "volts", point.name, BODY)
        yield _choice(setup, f"volts at {point.name}", volts, minutes, places, 1)
        if not (on_module(circuit, {point.name}, setup.apart) or on_sensor(circuit, {point.name})):
            lamp = Action("lamp", red=point.name, black=BODY)
            yield _choice(setup, f"test lamp at {point.name}", lamp, minutes, places, 1)
    for one, two in _across(network, points):
        action = Action("measure", "volts", one.name, two.name)
        minutes, places = _lead_minutes(one, two), _visit(one, two)
        yield _choice(setup, f"drop {one.name} to {two.name}", action, minutes, places, 2)
    for name in relevant:
        if name.startswith("wire "):
            for place in wire_places(circuit, name):
                action = Action("clamp", name)
                yield _choice(setup, f"clamp on {name}", action, HANDLING["clamp"], (place,))
    yield from _senses(lineup, relevant, setup)


def _senses(lineup: Lineup, relevant: Sequence[str], setup: Setup) -> Iterator[Choice | None]:
    circuit = lineup.case.circuit
    if not setup.places:
        for place in circuit.places:
            action = Action("look", place)
            yield _choice(setup, f"{LOOK_AT}{place}", action, HANDLING["look"], (place,))
    warm = Action("wait", seconds=60.0)
    waited = Setup(
        (*setup.prepare, warm), f"{setup.words}, 1 min", setup.minutes + 0.1, setup.places
    )
    for name in relevant:
        part = circuit.parts[name]
        if part.kind != "wire" and name not in setup.apart:
            place = part.felt_at or part.at
            action = Action("feel", name)
            yield _choice(waited, f"feel {name}", action, HANDLING["feel"], (place,))
    yield from _watching(circuit, setup)


def _watching(circuit: Circuit, setup: Setup) -> Iterator[Choice | None]:
    for effect in circuit.effects.values():
        if effect.quantity != "state" and not effect.hold_seconds:
            places = (effect.place,) if effect.place else ()
            action = Action("watch", effect.name)
            yield _choice(setup, f"watch: {effect.name}", action, HANDLING["watch"], places)


def _dead_readings(
    lineup: Lineup, network: Network, relevant: Sequence[str], setup: Setup
) -> Iterator[Choice | None]:
    points = _points(lineup, relevant, setup)
    for point in points:
        action = Action("measure", "ohms", point.name, BODY)
        yield _choice(
            setup, f"ohms {point.name} to body", action, _lead_minutes(point), _visit(point), 1
        )
        if not setup.places:
            volts = Action("measure", "volts", point.name, BODY)
            yield _choice(
                setup, f"volts at {point.name}", volts, _lead_minutes(point), _visit(point), 1
            )
    for one, two in _across(network, points):
        action = Action("measure", "ohms", one.name, two.name)
        minutes, places = _lead_minutes(one, two), _visit(one, two)
        yield _choice(setup, f"ohms {one.name} to {two.name}", action, minutes, places, 2)


def _clicks(
    lineup: Lineup, relevant: Sequence[str], live: tuple[tuple[str, str], ...]
) -> Iterator[Choice | None]:
    """Listen to a relay while the last control of the complaint is operated."""
    *before, last = live
    start = dict(lineup.case.start)
    ready = (*before, (last[0], start[last[0]]))
    setup = Setup((Action("set", settings=ready),), f"switching {last[0]} {last[1]}")
    for name in relevant:
        if lineup.case.circuit.parts[name].kind == "relay":
            action = Action("listen", name, settings=(last,))
            yield _choice(setup, f"listen to {name}", action, HANDLING["listen"], ())


def _across(
    network: Network, points: Sequence[ProbePoint]
) -> Iterator[tuple[ProbePoint, ProbePoint]]:
    """Return pairs of points on one current path with at most two joints between them."""
    by_name = {p.name: p for p in points}
    ways = _ways(network)
    for point in points:
        for name in sorted(_near(ways, point.name)):
            if name in by_name and name > point.name:
                yield point, by_name[name]


def _ways(network: Network) -> dict[str, list[tuple[str, int]]]:
    """Return where current paths go on from every point, and over how many joints each time."""
    ways: dict[str, list[tuple[str, int]]] = {}
    for element in network.elements:
        if _passes(element.law, element.name):
            for one, other in ((element.a, element.b), (element.b, element.a)):
                if other != BODY and other not in LEADS:
                    ways.setdefault(one, []).append((other, int(element.joint)))
    return ways


def _near(ways: Mapping[str, Sequence[tuple[str, int]]], start: str) -> set[str]:
    """Return points joined to one by wires, contacts and at most two joints (never the body)."""
    best = {start: 0}
    queue = [start]
    while queue:
        at = queue.pop(0)
        for other, more in ways.get(at, ()):
            joints = best[at] + more
            if joints < best.get(other, MOST_JOINTS + 1):
                best[other] = joints
                queue.append(other)
    return set(best) - {start}


def _passes(law: Law, name: str) -> bool:
    """Tell whether an element belongs to a path, not being a load or a fault's own branch."""
    loads = (" grid", " coil", " chafe", " diode short", " welded")
    return law in (Law.LINEAR, Law.CONTACT, Law.FUSE) and not name.endswith(loads) and name != "B1"
