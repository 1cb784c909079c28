"""The oscilloscope's screen, from what stands in the record: figures, and samples as counts.

A curve's count c of 200 stands for ``low + c / 200 * swing``, where low and swing are its minimum
and its peak to peak as displayed; a flat line has its mean.
"""

from __future__ import annotations

from collections.abc import Mapping
from typing import Any

from sim.action import action_from_json
from sim.instruments.oscilloscope import CHANNELS, HEIGHT, sweep
from sim.reading import SAMPLES


def screen_of(shown: Mapping[str, Any], do: Mapping[str, Any]) -> dict[str, Any]:
    """Return time base, trigger and curves, ready to be drawn."""
    asked = sweep(action_from_json(do))
    also = shown.get("also", {})
    curves = [_curve(name, also) for name in CHANNELS if f"{name} {SAMPLES}" in also]
    trigger = None
    if asked.source:
        trigger = {"channel": asked.source, "level": asked.level, "slope": asked.slope}
    return {"seconds": asked.seconds, "curves": curves, "trigger": trigger}


def _curve(name: str, also: Mapping[str, str]) -> dict[str, Any]:
    low, unit = _number(also[f"{name} minimum"])
    high, _ = _number(also[f"{name} maximum"])
    counts = [int(count) for count in also[f"{name} {SAMPLES}"].split()]
    span = (high - low) / HEIGHT
    return {"name": name, "unit": unit, "values": [round(low + c * span, 6) for c in counts]}


def _number(text: str) -> tuple[float, str]:
    """Return a figure in V or A; what is over the range counts as nothing to draw."""
    value, _, unit = text.partition(" ")
    number = 0.0 if value == "OL" else float(value)
    return (number / 1e3, unit[1:]) if unit.startswith("m") else (number, unit)
