"""The driver's seat: controls, the clock, and what the vehicle visibly and audibly does."""

from __future__ import annotations

from typing import Any

from lessons.workbench.desk import Desk
from lessons.workbench.panels.offers import offer

WAITS = ("1 min", "5 min", "10 min", "30 min")


def vehicle_view(desk: Desk) -> dict[str, Any]:
    """Return controls with their positions, what can be watched, and how long can be waited."""
    circuit, situation = desk.circuit, desk.situation
    return {
        "controls": [
            {
                "name": control.name,
                "positions": list(control.positions),
                "now": situation.position(circuit, control.name),
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
        "elapsed": f"{situation.clock / 60:.0f}",
        "rested": f"{(situation.clock - situation.changed) / 60:.0f}",
    }
