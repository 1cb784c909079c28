"""What can be done from here as buttons: label, action, price, cautions."""

from __future__ import annotations

from collections.abc import Mapping
from typing import Any

from lessons.workbench.words import minutes_text
from sim.access import price
from sim.action import action_from_json
from sim.cautions import Caution, cautions
from sim.circuit import Circuit
from sim.situation import Situation


def offer(
    circuit: Circuit, situation: Situation, label: str, do: Mapping[str, Any]
) -> dict[str, Any]:
    """Return a button: what it says, what it does, minutes from here.

    Raises
    ------
    ActionError
        It cannot be done as the bench stands.
    """
    cost = price(circuit, situation, action_from_json(do))
    return {"label": label, "do": dict(do), "minutes": minutes_text(cost.minutes)}


def cautions_of(
    circuit: Circuit, situation: Situation, do: Mapping[str, Any]
) -> tuple[Caution, ...]:
    """Return the cautions that go with an action, before it is done."""
    return cautions(circuit, situation, action_from_json(do))
