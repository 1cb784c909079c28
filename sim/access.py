"""What an action takes: minutes from where the hands are now, and the places it touches.

An action pays, for every place it touches where the hands are not already, the labour to reach it
(the first time) or to come back; then the handling, which its instrument knows. Where points are,
and what the way there takes, is `sim.reach`.
"""

from __future__ import annotations

from dataclasses import dataclass

from sim.action import Action
from sim.circuit import Circuit
from sim.instruments.registry import VERBS
from sim.instruments.verb import Scene
from sim.reach import (
    BACK_PROBE,
    HANDLING,
    MOVE_LEAD,
    WAITING_SHARE,
    ProbePoint,
    lead_minutes,
    place_of,
    probe_points,
    travel_minutes,
    wire_places,
)
from sim.situation import Situation

__all__ = [
    "BACK_PROBE",
    "HANDLING",
    "MOVE_LEAD",
    "WAITING_SHARE",
    "Price",
    "ProbePoint",
    "lead_minutes",
    "place_of",
    "price",
    "probe_points",
    "travel_minutes",
    "wire_places",
]


@dataclass(frozen=True, slots=True)
class Price:
    """Minutes an action takes from here, and the places it touches."""

    minutes: float
    places: tuple[str, ...]


def price(circuit: Circuit, situation: Situation, action: Action) -> Price:
    """Return what an action would take from here.

    Raises
    ------
    ActionError
        It names something that is not there, or a point no lead can be put on now.
    """
    labour = VERBS[action.verb].labour(Scene(circuit, situation, action))
    named = tuple(dict.fromkeys(place for place in labour.places if place))
    return Price(travel_minutes(circuit, situation, named) + labour.minutes, named)
