"""Where the current runs on the diagram, and where the volts go: one moment, solved.

Every figure is of the solved circuit with the instrument in it. What is drawn between two points is
the sum of what the elements between them carry (A). Elements of a part that carry the same current
lose the sum of their volts (V, Kirchhoff) and turn U I into heat or work (W). Told only where the
cause may be told: a closed work order, a demonstration.
"""

from __future__ import annotations

import itertools
from collections.abc import Collection, Iterable, Mapping, Sequence
from typing import Any

from grader.because import solved
from grader.currentpath import EXCESS, FLOWS, Lane
from lessons.workbench.words import element_words, part_title
from sim.access import probe_points
from sim.action import Action
from sim.bench import Bench
from sim.circuit import BODY, Circuit
from sim.network import INSTRUMENTS, owner_of

#: A; less is not drawn (ours): a meter's own microamps would hide what works.
DRAWN = 0.5e-3
#: V; a smaller loss is not listed (ours).
LISTED = 0.02
Spot = Sequence[float]


def lane_of(bench: Bench, action: Action) -> Lane:
    """Return the solved circuit of an action, instrument in place, leaving the bench as it is.

    Raises
    ------
    ActionError
        The action cannot be done as the bench stands.
    """
    solution, _shown = solved(bench.fleet, bench.situation, bench.memory, action)
    return Lane.of(bench.fleet.solver.network, solution, 0)


def current_view(
    circuit: Circuit, drawn: Mapping[str, Any], lane: Lane, sound: Lane | None
) -> dict[str, Any]:
    """Return the flows to draw and the table of losses, beside those of a sound vehicle."""
    found: dict[str, Any] = {"flows": flows(drawn, lane), "losses": losses(circuit, lane, sound)}
    if sound is not None:
        found["sound"] = flows(drawn, sound)
    return found


def flows(drawn: Mapping[str, Any], lane: Lane) -> list[dict[str, Any]]:
    """Return lines on the diagram with the amps that run along each, in its direction."""
    return [*_in_wires(drawn, lane), *_in_parts(drawn, lane)]


def _in_wires(drawn: Mapping[str, Any], lane: Lane) -> Iterable[dict[str, Any]]:
    for name, line in drawn["wires"].items():
        halves = [
            float(lane.current[lane.network.element(f"{name} {half} half")])
            for half in ("first", "second")
        ]
        if abs(halves[0] - halves[1]) < DRAWN:
            yield from _flow(name, line, halves[0], label=True)
        else:  # some of it leaves on the way, where the insulation is through
            first, second = cut_in_half(line)
            yield from _flow(name, first, halves[0], label=True)
            yield from _flow(name, second, halves[1], label=True)


def _in_parts(drawn: Mapping[str, Any], lane: Lane) -> Iterable[dict[str, Any]]:
    points, network = drawn["points"], lane.network
    sums: dict[tuple[str, str, str], float] = {}
    for number, element in enumerate(network.elements):
        inside = element.a in points and element.b in points and BODY not in (element.a, element.b)
        if not inside or element in INSTRUMENTS:
            continue
        way, sign = (element.a, element.b), 1.0
        if (owner_of(element), *way[::-1]) in sums:
            way, sign = way[::-1], -1.0
        key = (owner_of(element), *way)
        sums[key] = sums.get(key, 0.0) + sign * float(lane.current[number])
    for (owner, a, b), amps in sums.items():
        yield from _flow(owner, [points[a], points[b]], amps)


def _flow(
    name: str, line: Sequence[Spot], amps: float, *, label: bool = False
) -> Iterable[dict[str, Any]]:
    """Return a line as the current runs; nothing where next to nothing does."""
    if abs(amps) < DRAWN:
        return ()
    way = [list(at) for at in (line if amps > 0 else reversed(line))]
    return ({"name": name, "line": way, "amps": round(abs(amps), 4), "label": label},)


def cut_in_half(line: Sequence[Spot]) -> tuple[list[Spot], list[Spot]]:
    """Return the two halves of a polyline, of the same length."""
    lengths = [abs(b[0] - a[0]) + abs(b[1] - a[1]) for a, b in itertools.pairwise(line)]
    left = sum(lengths) / 2
    for k, length in enumerate(lengths):
        if left <= length:
            share = left / length if length else 0.0
            (x, y), (u, v) = line[k], line[k + 1]
            middle = [x + share * (u - x), y + share * (v - y)]
            return [*line[: k + 1], middle], [middle, *line[k + 1 :]]
        left -= length
    return list(line), [line[-1]]


def losses(circuit: Circuit, lane: Lane, sound: Lane | None) -> list[dict[str, Any]]:
    """Return what every part takes of the battery's volts, in V, A and W, most power first.

    Elements of a part in which the same current runs are one line: a relay has two, its coil and
    its contact. Where leads reach all points between them each is a line of its own, as the tabs of
    a heated window are beside its grid. Where they do not, as in a lamp's holder, `with_contacts`
    says that the contacts are in the figure. `odd` marks what loses `EXCESS` volts more than on the
    sound vehicle; it is there even where nothing flows, for there the current stops.
    """
    found = []
    for members in chains(circuit, lane, sound):
        volts, amps = _taken(lane, members)
        usual, flowed = _taken(sound, members) if sound is not None else (volts, amps)
        odd = volts > usual + EXCESS and max(flowed, amps) > FLOWS
        if not odd and (amps < FLOWS or volts < LISTED):
            continue
        part = circuit.parts[owner_of(lane.network.elements[members[0]])]
        name = _named(lane, members)
        line = {"name": name, "part": part.name, "volts": round(volts, 3)}
        line["words"] = element_words(circuit, name)
        line |= {"amps": round(amps, 4), "watts": round(volts * amps, 3), "odd": odd}
        line["with_contacts"] = part.kind != "wire" and len(members) > 1
        line["title"] = "" if part.kind == "wire" else part_title(circuit, part)
        found.append({**line, "usual": round(usual, 3)} if sound is not None else line)
    return sorted(found, key=lambda line: (-float(line["watts"]), str(line["name"])))


def chains(circuit: Circuit, lane: Lane, sound: Lane | None) -> list[list[int]]:
    """Return the elements of each part that carry the same current, here and on the sound one.

    They are told apart where leads reach both ends of each with everything plugged together.
    """
    groups: dict[tuple[str, float, float], list[int]] = {}
    for number, element in enumerate(lane.network.elements):
        if element in INSTRUMENTS:
            continue
        usual = float(sound.current[number]) if sound is not None else 0.0
        amps = (round(abs(float(lane.current[number])), 3), round(abs(usual), 3))
        groups.setdefault((owner_of(element), *amps), []).append(number)
    points = probe_points(circuit)
    return [piece for group in groups.values() for piece in _cut(lane, group, points)]


def _cut(lane: Lane, members: list[int], points: Collection[str]) -> list[list[int]]:
    """Return each element by itself if leads reach both ends of all of them, else all as one."""
    elements = [lane.network.elements[number] for number in members]
    if all(element.a in points and element.b in points for element in elements):
        return [[number] for number in members]
    return [members]


def _taken(lane: Lane, members: Sequence[int]) -> tuple[float, float]:
    """Return the volts lost in elements in series, and the current; a source loses none."""
    volts = 0.0
    for number in members:
        a, b = lane.network.ends[number]
        lost = float(lane.volts[a] - lane.volts[b])
        volts += abs(lost) if lost * float(lane.current[number]) >= 0 else 0.0
    return volts, max(abs(float(lane.current[number])) for number in members)


def _named(lane: Lane, members: Sequence[int]) -> str:
    """Return the name of the element that loses most, such as ``K3 contact`` or ``C41.1``."""
    ends = lane.network.ends

    def lost(number: int) -> float:
        return abs(float(lane.volts[ends[number][0]] - lane.volts[ends[number][1]]))

    element = lane.network.elements[max(members, key=lost)]
    wire = owner_of(element)
    return wire if wire.startswith(("wire ", "strap ")) else element.name
