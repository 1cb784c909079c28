"""What eyes, ears and hand notice, from the solved circuit: effects, warmth, visible signs."""

from __future__ import annotations

from collections.abc import Mapping

import numpy as np

from sim.circuit import Circuit, Effect, Part
from sim.network import Floats, Network
from sim.parts import FAMILIES
from sim.parts.family import Element, Law
from sim.parts.heat import heat_at
from sim.solver.steady import Solution

NOTHING = "nothing out of the ordinary"
HEATING_SECONDS = 60.0  # s, until a hand can tell; common practice, no source
COLD, WARM, OVERHEATED = 0.04, 0.6, 2.0  # share of what heats it at nominal power; ours


def load_element(circuit: Circuit, network: Network, part: str) -> int:
    """Return the number of the element that does a part's work."""
    load = FAMILIES[circuit.parts[part].kind].load
    for number, element in enumerate(network.elements):
        if element.name.startswith((f"{part} ", f"{part}.")) and element.name.endswith(load):
            return number
    raise KeyError(part)


def load_power(circuit: Circuit, network: Network, solution: Solution, part: str) -> Floats:
    """Return the power in W of the element that does a part's work, for every lane."""
    return _power(solution, load_element(circuit, network, part))


def _power(solution: Solution, number: int) -> Floats:
    """Return the power in W of an element; of one that is pulsed, the mean of it."""
    if solution.power is not None:
        return solution.power[:, number]
    return solution.drop[:, number] * solution.current[:, number]


def working_power(circuit: Circuit, network: Network, solution: Solution, part: str) -> Floats:
    """Return the power in W that a part puts to use, for every lane.

    That of a motor is ``(V - R I) I``, what its back-EMF takes (OpenStax College Physics 2e, back
    EMF), with the R of a sound one: stalled, it does nothing however much it draws. Everything
    else puts all of its power to use.
    """
    number = load_element(circuit, network, part)
    element, current = network.elements[number], solution.current[:, number]
    power = _power(solution, number)
    if element.law is Law.MOTOR and element.conductance:
        return power - current**2 / element.conductance
    return power


def heating_share(
    circuit: Circuit, network: Network, solution: Solution, part: str, nominal: float
) -> Floats:
    """Return what heats a part, as a share of what heats it at its nominal power, every lane.

    A motor is heated by ``R I^2`` and not by the work it does, so stalled it gets far hotter than
    running: ``(I / I_nominal)^2``. All the power of anything else heats it.
    """
    number = load_element(circuit, network, part)
    if network.elements[number].law is Law.MOTOR:
        rated = nominal / circuit.parts[part].number("voltage")
        share: Floats = (solution.current[:, number] / rated) ** 2
        return share
    return np.abs(load_power(circuit, network, solution, part)) / nominal


def nominal_power(part: Part) -> float:
    """Return a part's rated power in W; 1 where it has none, so that shares are watts."""
    rated = FAMILIES[part.kind].nominal_power
    return rated(part) if rated else 1.0


def nominal_work(circuit: Circuit, network: Network, part: str) -> float:
    """Return the power in W that a part puts to use at its rating, as `working_power` counts it.

    A motor's rating is what it takes; of that ``R I^2`` stays in its winding.
    """
    taken = nominal_power(circuit.parts[part])
    element = network.elements[load_element(circuit, network, part)]
    if element.law is Law.MOTOR and element.conductance:
        rated = taken / circuit.parts[part].number("voltage")
        return taken - rated**2 / element.conductance
    return taken


def effect_holds(
    circuit: Circuit, network: Network, solution: Solution, effect: Effect
) -> np.ndarray:
    """Return for every lane whether an effect's condition holds at this moment (bool array)."""
    if effect.quantity == "hears":
        bus, lanes = solution.bus, range(len(solution.status))
        heard = [bus is not None and bus.heard(n, effect.other, effect.part) for n in lanes]
        return np.array(heard, dtype=bool)
    if effect.quantity == "current":
        value = np.abs(solution.current[:, load_element(circuit, network, effect.part)])
    else:
        value = working_power(circuit, network, solution, effect.part)
        if effect.nominal:
            value = value / nominal_work(circuit, network, effect.part)
    return value <= effect.limit if effect.below else value >= effect.limit


def is_load(part: Part) -> bool:
    """Tell whether a hand feels the work a part does, and not its contacts."""
    return FAMILIES[part.kind].nominal_power is not None and part.kind != "switch"


def felt_joint(celsius: float) -> str:
    """Return what a hand says of contacts at a temperature in degC."""
    felt = heat_at(celsius).hand
    return felt if felt == "hot" else "not hot"


def felt_load(share: float, part: Part) -> str:
    """Return what a hand says of a load that feels like this share of its nominal heat."""
    if share < COLD:
        return "cold"
    if share >= OVERHEATED:
        return "hot"
    lines = part.severity("line open")
    if lines is not None:
        return "warm, with cold stripes"
    return "warm" if share >= WARM else "lukewarm"


def is_contact(element: Element) -> bool:
    """Tell whether what an element loses is lost in a contact, a fuse or a resistance."""
    return element.law not in (Law.COIL, Law.LAMP, Law.DIODE) and element.emf == 0


def visible_signs(
    variant: Circuit,
    place: str,
    blown: set[str],
    renewed: tuple[str, ...],
    browned: Mapping[str, str],
) -> str:
    """Return everything out of the ordinary that eyes find at a place, in order of name.

    `blown` names the fuses whose strip has melted on the bench, `renewed` those that are new: what
    was wrong with the old one has gone, and a new one may have melted since. `browned` says what
    heat on the bench has left on which parts. What the circuit says of a fault stands in place of
    what is usual for such a part.
    """
    noted, told = _noted(variant, place), _told(variant, place)
    spoken_of = {part for part, _seen in noted}
    signs = {
        f"{name}: {words}"
        for name, words in browned.items()
        if in_sight(variant, name, place) and name not in spoken_of
    }
    for name, part in variant.parts.items():
        if not in_sight(variant, name, place):
            continue
        for way in FAMILIES[part.kind].ways(part):
            old = name not in renewed and part.has(way.name, way.pin)
            old = old and (name, way.name, way.pin) not in told
            if way.seen and (old or (name in blown and way.name == "open")):
                signs.add(f"{name}: {way.seen}")
    signs |= {f"{part}: {seen}" for part, seen in noted}
    return "; ".join(sorted(signs)) or NOTHING


def in_sight(variant: Circuit, name: str, place: str) -> bool:
    """Tell whether a part is where eyes and hands get at from a place."""
    part = variant.parts[name]
    return place == (part.felt_at or part.at)


def _told(variant: Circuit, place: str) -> set[tuple[str, str, str | None]]:
    """Return the single faults, as part, way and pin, whose sign at a place the circuit tells."""
    notes = (note for note in variant.notes if note.seen_at == place and len(note.faults) == 1)
    return {(fault.part, fault.way, fault.pin) for note in notes for fault in note.faults}


def _noted(variant: Circuit, place: str) -> list[tuple[str, str]]:
    """Return (part, words) of the circuit's own notes on faults that are seen at a place."""
    return [
        (note.faults[0].part, note.seen)
        for note in variant.notes
        if note.seen_at == place and all(f in variant.parts[f.part].faults for f in note.faults)
    ]


def found_notes(variant: Circuit, place: str) -> list[tuple[str, str]]:
    """Return (part, words) of everything that faults leave to be found at a place."""
    found = _noted(variant, place)
    for name, part in variant.parts.items():
        if place == (part.felt_at or part.at):
            ways = FAMILIES[part.kind].ways(part)
            found += [(name, w.seen) for w in ways if w.seen and part.has(w.name, w.pin)]
    return found
