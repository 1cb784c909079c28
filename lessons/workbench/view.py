"""Desk -> everything the browser draws, as plain data.

A pure function of the desk: of papers, situation, record and choices, never of the hidden cause.
"""

from __future__ import annotations

from typing import Any

from lessons.workbench.desk import CaseDesk, Desk
from lessons.workbench.panels.call import call_view
from lessons.workbench.panels.diagram import diagram_view
from lessons.workbench.panels.evidence import evidence_view, latest
from lessons.workbench.panels.lookup import connectors_view, map_view
from lessons.workbench.panels.meter import meter_view
from lessons.workbench.panels.order import order_view
from lessons.workbench.panels.places import places_view
from lessons.workbench.panels.sight import sight_view
from lessons.workbench.panels.suspects import suspects_view
from lessons.workbench.panels.vehicle import vehicle_view
from lessons.workbench.showing import ShowDesk


def view_of(desk: Desk) -> dict[str, Any]:
    """Return the view of a desk; a bench to try at has no order, suspects and call."""
    if isinstance(desk, ShowDesk):
        return desk.view()
    view: dict[str, Any] = {
        "mode": "trial",
        "vehicle": vehicle_view(desk),
        "places": places_view(desk),
        "sight": sight_view(desk),
        "diagram": diagram_view(desk),
        "meter": meter_view(desk),
        "readout": latest(desk),
        "evidence": evidence_view(desk),
        "notice": desk.notice,
    }
    if desk.hands.view == "vehicle":
        view["map"] = map_view(desk)
    if desk.hands.view == "connectors":
        view["connectors"] = connectors_view(desk)
    if isinstance(desk, CaseDesk):
        view |= {
            "mode": "case",
            "order": order_view(desk),
            "suspects": suspects_view(desk),
            "call": call_view(desk),
        }
    return view


def message_view(title: str, text: str) -> dict[str, Any]:
    """Return the view of a bench that cannot be opened: why, and what to do next."""
    return {"mode": "message", "title": title, "text": text}
