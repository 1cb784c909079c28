"""The driver's seat: controls, the clock, and what the vehicle visibly and audibly does."""

from __future__ import annotations

from collections.abc import Iterable
from typing import Any

from lessons.workbench.desk import Desk
from lessons.workbench.panels.handling import cautions_before, on_the_whole
from lessons.workbench.panels.offers import cautions_of, offer
from lessons.workbench.panels.sight import DOING
from sim.network import EVERYTHING

WAITS = ("10 s", "1 min", "5 min", "10 min", "30 min")


def vehicle_view(desk: Desk) -> dict[str, Any]:
    """Return controls with their positions, what can be watched, and how long can be waited."""
    circuit, situation = desk.circuit, desk.situation
    whole = on_the_whole(desk)
    return {
        "controls": [
            {
                "name": control.name,
                "positions": list(control.positions),
                "now": situation.position(circuit, control.name),
                "cautions": _cautions(desk, control.name, control.positions),
            }
            for control in circuit.controls.values()
        ],
        "watch": [
            {
                **offer(circuit, situation, effect.name, {"watch": effect.name}),
                "place": effect.place or "driver's seat",
            }
            for effect in circuit.effects.values()
            if effect.quantity != "state"
        ],
        "waits": [offer(circuit, situation, time, {"wait": time}) for time in WAITS],
        "whole": whole,
        "stressed": [
            f"{'the whole vehicle' if name == EVERYTHING else name} is {DOING[trigger]}"
            for name, trigger in situation.stressed
        ],
        "cautions": cautions_before(whole),
        "elapsed": f"{situation.clock / 60:.0f}",
        "rested": f"{(situation.clock - situation.changed) / 60:.0f}",
    }


def _cautions(desk: Desk, control: str, positions: Iterable[str]) -> list[list[str]]:
    """Return what to mind before a control is moved: position and caution."""
    now = desk.situation.position(desk.circuit, control)
    return [
        [position, caution.text]
        for position in positions
        if position != now
        for caution in cautions_of(desk.circuit, desk.situation, {"set": {control: position}})
    ]
