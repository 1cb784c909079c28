"""Why a reading would be what it is on a vehicle: by what way the current comes, what stops it.

One action is solved on the sound vehicle and on the one looked at. The way of the current is
followed on the sound one; where the other loses more of the voltage, there the reason sits:

- *before* the point: less is left there; *behind* it: the point stands at more than usual
- *beyond* the body: the current gets back to the battery by a poor ground
- in the way of a single current (clamp, warmth, an effect, a coil): none flows, or less; or it
  heats the very joint that a hand is on; or more flows than should, by another way
- nowhere: the reading is that of the sound vehicle
- where the sound vehicle feeds nothing: the way is followed on the vehicle itself

A contact that does not close is followed to its coil, a blown fuse is named as blown.
"""

from __future__ import annotations

from dataclasses import dataclass

from grader.currentpath import (
    CARRIES,
    EXCESS,
    FLOWS,
    Lane,
    Way,
    body_position,
    culprit,
    way_between,
    way_of,
    way_through,
)
from sim.access import price
from sim.action import Action
from sim.circuit import BODY, Circuit
from sim.effects import is_load, load_element
from sim.handling import check, handled
from sim.instruments.registry import VERBS
from sim.instruments.verb import Shown
from sim.language import say
from sim.network import Network, owner_of
from sim.observe import Fleet
from sim.parts.family import Law
from sim.situation import Memory, Situation
from sim.solver.steady import Solution
from sim.view import View

SENSED = ("feel", "temperature", "watch", "listen", "clamp")
#: Share by which a current may differ from the sound vehicle's and still be alike (ours).
ALIKE = 0.1
SEEN = ("look", "smell", "touch")


@dataclass(frozen=True, slots=True)
class Probe:
    """What an action looks at: two points, or the current in one element, or neither.

    `own_source` is an instrument that sends a current of its own: ohms, continuity, diode.
    """

    points: tuple[str, ...] = ()
    element: int | None = None
    own_source: bool = False


@dataclass(frozen=True, slots=True)
class Because:
    """Why one vehicle would show what it would.

    Attributes
    ----------
    kind : str
        before, behind, beyond, between, outside, flow, heat, stray, open, live, fed, unfed, same,
        seen or plain.
    via : str
        What stands between the fault and the reading: a contact that does not close, a fuse that
        has blown; empty if the fault itself is in the way.
    flows : bool
        Whether a current worth the name still flows.
    amps : float
        That current, A.
    way : tuple of str
        Parts on the way of the current to the point looked at, or all the way.
    """

    kind: str
    via: str = ""
    flows: bool = False
    amps: float = 0.0
    way: tuple[str, ...] = ()


def solved(
    fleet: Fleet, situation: Situation, memory: Memory, action: Action
) -> tuple[Solution, Shown]:
    """Return the solution of one action on every variant, instrument in place, and what it shows.

    Raises
    ------
    ActionError
        The action cannot be done at the bench as it stands.
    """
    circuit = fleet.circuits[0]
    check(circuit, situation, action)
    after = handled(circuit, situation, action, price(circuit, situation, action))
    verb = VERBS[action.verb]
    view = View(fleet, situation, after, memory, action, leads=verb.leads)
    shown = verb.read(view)
    return view.solution, shown


def probe_of(circuit: Circuit, network: Network, action: Action) -> Probe:
    """Return what an action looks at."""
    if action.red and action.black and VERBS[action.verb].leads:
        points = (circuit.point(action.red), circuit.point(action.black))
        own = action.verb == "measure" and action.target in ("ohms", "continuity", "diode")
        return Probe(points, own_source=own)
    if action.verb == "clamp":
        return Probe(element=network.element(f"{action.target} first half"))
    if action.verb == "listen":
        return Probe(element=network.element(f"{action.target} coil"))
    part = circuit.parts.get(action.target)
    if action.verb == "watch":
        part = circuit.parts[circuit.effects[action.target].part]
    if action.verb in SENSED and part is not None:
        return Probe(element=_working_element(circuit, network, part.name))
    return Probe()


def _working_element(circuit: Circuit, network: Network, name: str) -> int | None:
    """Return the element a part works with: its load, else its contact or whatever it has."""
    if is_load(circuit.parts[name]):
        return load_element(circuit, network, name)
    own = [n for n, element in enumerate(network.elements) if owner_of(element) == name]
    straight = [n for n in own if network.elements[n].law in (Law.CONTACT, Law.FUSE)]
    return next(iter(straight or own), None)


class Reasoner:
    """Finds the reason for a reading, vehicle by vehicle.

    Parameters
    ----------
    circuit : Circuit
    action : Action
    sound : Lane
        The sound vehicle under the action.
    """

    def __init__(self, circuit: Circuit, action: Action, sound: Lane) -> None:
        self.circuit, self.action, self.sound = circuit, action, sound
        self.probe = probe_of(circuit, sound.network, action)
        self.way = self.way_on(sound)

    def way_on(self, lane: Lane) -> Way:
        """Return the way of the current that the action looks at, on one vehicle."""
        probe = self.probe
        if probe.element is not None:
            return way_of(lane, probe.element)
        if not probe.points:
            return Way(lane.network, 0, ())
        if probe.own_source:
            return way_between(lane, *probe.points)
        return way_through(lane, self.hot_point())

    def hot_point(self) -> str:
        """Return the point of the two leads that is looked at: the one not on the body."""
        red, black = self.probe.points
        return black if red == BODY else red

    def is_fed(self, way: Way) -> bool:
        """Tell whether a way brings current to what the action looks at."""
        if self.probe.element is not None or self.probe.own_source:
            return bool(way.legs)
        if not self.probe.points:
            return False
        position = way.position(self.hot_point())
        return bool(way.legs) and position is not None and position > 0

    def why(self, lane: Lane) -> Because:
        """Return why a vehicle shows what it shows."""
        if self.action.verb in SEEN:
            return Because("seen")
        if self.probe.element is None and not self.probe.points:
            return Because("plain")
        if not self.is_fed(self.way):
            own = self.way_on(lane)
            return Because("fed", way=self._up_to(own)) if self.is_fed(own) else Because("unfed")
        if self.probe.own_source and self._live(lane):
            return Because("live", flows=True)
        worst = culprit(self.way, self.sound, lane)
        return self._whole(lane) if worst is None else self._held_back(lane, worst)

    def _held_back(self, lane: Lane, worst: int) -> Because:
        """Return the reason where one leg of the way takes more of the voltage than it should."""
        element = self.way.legs[worst].element
        kind, via = self._kind(worst), self.via(lane, element)
        amps = abs(float(lane.current[self.probe.element or element]))
        if kind in ("before", "beyond", "flow") and amps > FLOWS and self._reads_alike(lane):
            kind, via = "same", ""
        if kind == "flow" and self._strays(amps):
            return Because("stray", "", flows=True, amps=amps)
        if kind == "flow" and self._heats(lane, element):
            kind = "heat"
        return Because(kind, via, amps > FLOWS, amps, self._up_to(self.way))

    def _strays(self, amps: float) -> bool:
        """Tell whether more current runs than on the sound vehicle: it has found another way."""
        sound = abs(float(self.sound.current[self.probe.element or 0]))
        return amps > (1.0 + ALIKE) * sound + FLOWS

    def _heats(self, lane: Lane, element: int) -> bool:
        """Tell whether a hand or thermometer is on the very part in which the voltage is lost."""
        owner = owner_of(lane.network.elements[element])
        part = self.circuit.parts.get(owner)
        on_it = self.action.verb in ("feel", "temperature") and owner == self.action.target
        return on_it and part is not None and not is_load(part)

    def _live(self, lane: Lane) -> bool:
        """Tell whether the vehicle's own current runs where an ohmmeter sends its own."""
        return any(abs(float(lane.current[leg.element])) > FLOWS for leg in self.way.legs)

    def _reads_alike(self, lane: Lane) -> bool:
        """Tell whether a pair of points, or a current, stands as on the sound vehicle."""
        if self.probe.element is not None:
            amps, sound = (abs(float(s.current[self.probe.element])) for s in (lane, self.sound))
            return abs(amps - sound) < ALIKE * sound
        if self.probe.own_source:
            return False
        return abs(self._volts(lane) - self._volts(self.sound)) < EXCESS

    def _volts(self, lane: Lane) -> float:
        red, black = (lane.volts[lane.network.node(point)] for point in self.probe.points)
        return float(red - black)

    def _whole(self, lane: Lane) -> Because:
        """Return the reason where the way is as on the sound vehicle, or goes another way."""
        if self.probe.own_source:
            own = self.way_on(lane)
            if own.owners() != self.way.owners():
                return Because("fed", way=own.owners())
        amps = 0.0
        if self.probe.element is not None:
            amps = abs(float(lane.current[self.probe.element]))
            if self._strays(amps):
                return Because("stray", "", flows=True, amps=amps)
        return Because("same", flows=amps > FLOWS, amps=amps, way=self._up_to(self.way))

    def _up_to(self, way: Way) -> tuple[str, ...]:
        """Return the parts on a way up to the point looked at; all of it for a current."""
        if self.probe.element is not None or self.probe.own_source:
            return way.owners()
        return way.owners(0, way.position(self.hot_point()))

    def _kind(self, worst: int) -> str:
        if self.probe.element is not None:
            return "flow"
        if self.probe.own_source:
            return "open"
        spots = [self.way.position(point) for point in self.probe.points if point != BODY]
        marks = sorted(spot for spot in spots if spot is not None)
        if len(spots) == 1:
            end = body_position(self.way, marks[0])
            if worst < marks[0]:
                return "before"
            return "behind" if worst < end else "beyond"
        if len(marks) != len(spots):
            return "plain"
        return "between" if marks[0] <= worst < marks[1] else "outside"

    def via(self, lane: Lane, element: int) -> str:
        """Return what a fault elsewhere makes of an element: it has blown, or does not close."""
        item = lane.network.elements[element]
        if item.law is Law.FUSE and owner_of(item) in lane.blown:
            return say("{name} has blown", name=owner_of(item))
        if item.law is not Law.CONTACT or not item.relay:
            return ""
        coil = lane.network.element(f"{item.relay} coil")
        least = item_pull_in(lane.network, coil)
        meant = abs(float(self.sound.current[coil])) > CARRIES
        if meant and abs(float(lane.current[coil])) < least:
            return say("{relay} does not pull in", relay=item.relay)
        return ""


def item_pull_in(network: Network, coil: int) -> float:
    """Return the current in A at which a relay's coil pulls in."""
    return network.elements[coil].shape[0]
