"""What a healthy circuit does in every position: fuses, sources, loads, controls, effects."""

from __future__ import annotations

from collections.abc import Iterator

import numpy as np

from sim.checks.conductors import Branch, is_supply
from sim.checks.finding import Finding, listed, where_of
from sim.checks.trials import MOST, Trials, loads_behind, relay_states, restless_relays
from sim.effects import effect_holds, load_element
from sim.modules.loop import rules_error
from sim.network import INSTRUMENTS, owner_of
from sim.parts import FAMILIES
from sim.parts.family import Element, Law
from sim.solver.laws import OSCILLATING

DEAD = 1e-6  # A, below which a load is said to get no current at all
HOUR = 3600.0  # s
SHARE_OF_LOADS = 0.5  # of a fuse's current that its loads take at least, or it is a short; ours
SWALLOWED = 0.5  # of its capacity that a battery may take in an hour; ours


def unsolved(trials: Trials) -> Iterator[Finding]:
    """Find positions in which the circuit has no steady state, with the relays to blame."""
    said: set[tuple[str, ...]] = set()
    for lane in range(len(trials.combinations)):
        status = int(trials.solution.status[lane])
        if status == 0:
            continue
        when = trials.described(lane)
        error = rules_error(trials.solution, lane)
        if error:
            if (error.cycle,) not in said:
                said.add((error.cycle,))
                where = ("modules", error.cycle.partition(":")[0])
                yield Finding(where, f"{when}: {error}")
            continue
        relays = restless_relays(trials, lane) if status == OSCILLATING else []
        if tuple(relays) in said:
            continue
        said.add(tuple(relays))
        if relays:
            text = f"{listed(relays)} never comes to rest {when}: its contact switches its own coil"
            text += " off and on again; feed the coil from before the contact"
            yield Finding(where_of(trials.circuit, relays[0]), text)
        else:
            why = trials.solver.explain(trials.solution, lane)
            yield Finding(("controls",), f"{when}: {why}")
    if not trials.complete:
        text = f"more than {MOST} combinations of positions; solved {len(trials.combinations)}: "
        yield Finding(("controls",), f"{text}every control by itself, and in pairs", warning=True)


def small_fuses(trials: Trials) -> Iterator[Finding]:
    """Find fuses and links whose healthy load is above their rating."""
    network, circuit = trials.solver.network, trials.circuit
    for number, element in enumerate(network.elements[: -len(INSTRUMENTS)]):
        part = circuit.parts.get(owner_of(element))
        if element.law is not Law.FUSE or part is None or "rating" not in part.values:
            continue
        amps = {n: abs(float(trials.solution.current[lane, number])) for n, lane in trials.held}
        worst = max(amps, key=lambda n: amps[n], default=0)
        rating = part.number("rating")
        if not amps or amps[worst] <= rating:
            continue
        lane = len(trials.combinations) + worst
        behind = loads_behind(trials, lane, number)
        loads = _loads(trials, behind)
        if _taken(trials, lane, behind) < SHARE_OF_LOADS * amps[worst]:
            loads = []  # they are on the way, but the current goes past them
        blows = "blows" if amps[worst] > element.shape[0] else "is overloaded"
        text = f"{part.name}: {rating:g} A {part.kind} {blows}: {amps[worst]:.1f} A"
        if loads:
            text += f" to {listed(loads, 4)} {trials.described(worst)}"
            text += "; take the next larger rating its wires allow, or share the load"
        else:
            text += f" {trials.described(worst)} and no load on its way: a short circuit"
            text += "; look at the wires behind it"
        yield Finding(where_of(circuit, part.name), text)


def _taken(trials: Trials, lane: int, elements: list[str]) -> float:
    """Return the current in A that loads among elements take together."""
    every = trials.solver.network.elements
    numbers = [n for n, e in enumerate(every) if e.name in elements and _is_load(trials, e)]
    return float(np.abs(trials.solution.current[lane, numbers]).sum())


def _is_load(trials: Trials, element: Element) -> bool:
    part = trials.circuit.parts.get(owner_of(element))
    load = FAMILIES[part.kind].load if part else ""
    return element.law is Law.COIL or bool(load and element.name.endswith(load))


def _loads(trials: Trials, elements: list[str]) -> list[str]:
    """Return the names of parts among elements (the hungriest first) that are loads."""
    network, parts = trials.solver.network, trials.circuit.parts
    names = {element.name: element for element in network.elements}
    found = [
        parts[owner_of(names[name])].name
        for name in elements
        if owner_of(names[name]) in parts and _is_load(trials, names[name])
    ]
    return list(dict.fromkeys(found))


def drained_sources(trials: Trials) -> Iterator[Finding]:
    """Find batteries that give more than their cold-cranking current."""
    network, circuit = trials.solver.network, trials.circuit
    for number, element in enumerate(network.elements[: -len(INSTRUMENTS)]):
        part = circuit.parts.get(owner_of(element))
        if part is None or "cold cranking" not in part.values:
            continue
        if not is_supply(Branch(part.name, element)):
            continue
        most = part.number("cold cranking")
        current = np.abs(trials.solution.current[:, number])
        above = [lane for lane in trials.settled if current[lane] > most]
        if above:
            text = f"{part.name}: {current[above[0]]:.0f} A {trials.described(above[0])}, more than"
            text += f" its {most:g} A of cold cranking: a short circuit; look for a way to ground"
            yield Finding(where_of(circuit, part.name), f"{text} without a load")


def swallowing_batteries(trials: Trials) -> Iterator[Finding]:
    """Find batteries that take charge as easily as they give it, for want of `accepts`."""
    network, circuit = trials.solver.network, trials.circuit
    for number, element in enumerate(network.elements[: -len(INSTRUMENTS)]):
        part = circuit.parts.get(owner_of(element))
        if part is None or "accepts" not in part.values or part.number("accepts") > 0.0:
            continue
        taken = trials.solution.current[:, number]  # from + to -: charging
        most = SWALLOWED * part.number("capacity") / HOUR
        above = [lane for lane in trials.settled if taken[lane] > most]
        if above:
            text = f"{part.name}: takes {taken[above[0]]:.0f} A {trials.described(above[0])}"
            text += " and holds the charging voltage down; say what it `accepts` at 14.4 V,"
            text += " such as accepts: 15 A"
            yield Finding(where_of(circuit, part.name), text, warning=True, follows=True)


def dead_loads(trials: Trials) -> Iterator[Finding]:
    """Find loads that get no current, and relays that never move, in any position."""
    circuit, network = trials.circuit, trials.solver.network
    lanes = trials.settled
    if not lanes or not trials.complete:
        return
    for part in circuit.parts.values():
        where = where_of(circuit, part.name)
        if part.name in network.relay_names:
            if len(relay_states(trials, lanes, part.name)) == 1:
                text = f"{part.name}: its coil never changes state, whatever the controls do"
                yield Finding(
                    where, f"{text}; look at the way to 86 and 85", warning=True, follows=True
                )
        elif FAMILIES[part.kind].load:
            try:
                number = load_element(circuit, network, part.name)
            except KeyError:
                continue
            if np.abs(trials.solution.current[lanes, number]).max() < DEAD:
                text = f"{part.name}: no current in any position of the controls"
                yield Finding(where, f"{text}; look at its wires", warning=True, follows=True)


def idle_moves(trials: Trials) -> Iterator[Finding]:
    """Find controls that, moved, change no current anywhere."""
    if not trials.complete:
        return
    settled = set(trials.settled)
    current = trials.solution.current
    for control in trials.circuit.controls.values():
        first: dict[tuple[tuple[str, str], ...], int] = {}
        changed = False
        for lane, positions in enumerate(trials.combinations):
            if lane in settled:
                rest = tuple(pair for pair in positions if pair[0] != control.name)
                before = first.setdefault(rest, lane)
                changed |= bool(np.abs(current[lane] - current[before]).max() > DEAD)
        if not changed and len(settled) == len(trials.combinations):
            text = f"{control.name}: no current changes, whatever its position"
            where = ("controls", control.name)
            yield Finding(where, f"{text}; look at what it sets", warning=True, follows=True)


def constant_effects(trials: Trials) -> Iterator[Finding]:
    """Find effects that never or always hold while nothing is wrong."""
    circuit, network = trials.circuit, trials.solver.network
    lanes = trials.settled
    if not lanes or not trials.complete:
        return
    for effect in circuit.effects.values():
        where = ("effects", effect.name)
        if effect.quantity == "state":
            known = effect.part in network.relay_names
            if known and len(relay_states(trials, lanes, effect.part)) == 1:
                text = f"{effect.name}: {effect.part} stays as it is in every position"
                yield Finding(where, text, warning=True, follows=True)
            continue
        try:
            holds = effect_holds(circuit, network, trials.solution, effect)[lanes]
        except KeyError:
            continue
        if holds.all() or not holds.any():
            when = "holds in every position" if holds.all() else "never holds, in no position,"
            text = f"{effect.name}: {when} while nothing is wrong"
            yield Finding(where, f"{text}; look at its limit", warning=True, follows=True)
