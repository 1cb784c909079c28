"""How a part that takes orders hears them: by a level, by pulses or over one wire.

Electrically its command pin ends at the part's own resistors, and what it makes of an open wire
follows from them:

- level: beyond 70 % of its own supply or below 30 % it is told on or off, in between it goes on as
  it was. A resistor holds an open pin where `open command` says: at the level for off or for full;
  for last, two equal ones hold it at half the supply.
- PWM: the order is the mean of the pin over its supply, turned round where it is active low: 10 %
  is off, 90 % is full, straight between. Under 5 % or over 95 % is no order: that is what an open
  wire gives, held by a resistor at the level of no pulses.
- LIN: an order comes through or it does not (see `sim.modules.bus`); the pin has a pull-up of 30
  kohm (ISO 17987-4).

Without an order for `TIMEOUT` the part is off, full, or goes on as last told. A pulsed order's
limits are common practice, no source; resistors and times are ours.
"""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass
from types import MappingProxyType

from sim.circuit import Part
from sim.modules.behaviour import Decision, Level, Measured, Received, Switched
from sim.modules.conditions import Always, Is
from sim.parts.family import Element, Parameter, conductance

ORDER = "order"  # last word of the point that the rules look at
PULL, BUS_PULL = 10e3, 30e3  # ohm
LEVEL, PWM, LIN = "level", "PWM", "LIN"
OFF, FULL, LAST = "off", "full", "last"
ON_ABOVE, OFF_BELOW = 0.7, 0.3  # of the supply
NO_ORDER, LEAST, MOST = 0.05, 0.1, 0.9
TIMEOUT = 0.5  # s
WITHOUT: Mapping[str, float] = MappingProxyType({OFF: 0.0, FULL: 1.0, LAST: 0.0})

PARAMETERS: Mapping[str, Parameter] = MappingProxyType(
    {
        "command": Parameter("text", LEVEL, (LEVEL, PWM, LIN)),
        "active": Parameter("text", "high", ("high", "low")),
        "open command": Parameter("text", OFF, (OFF, FULL, LAST)),
        "commanded by": Parameter("text", ""),
    }
)


@dataclass(frozen=True, slots=True)
class Order:
    """What a part's rules make of its command: one input, and `run` or `speed` that follows it."""

    item: Measured | Switched | Received
    decisions: tuple[Decision, ...]
    levels: tuple[Level, ...]
    follows: str


def command_pulls(part: Part, pin: str, plus: str, minus: str) -> tuple[Element, ...]:
    """Return the resistors of the command pin, of its own side `pin`, to the part's supply.

    A part that "ignores the command" has its input open inside; what it then sees are the
    resistors alone.
    """
    name, seen = part.name, f"{part.name} {ORDER}"
    inside = 0.0 if part.has("ignores the command") else conductance(1.0)
    up, down = _pulls(part)
    return (
        Element(f"{name} input", pin, seen, inside),
        Element(f"{name} pull-up", plus, seen, conductance(up) if up else 0.0),
        Element(f"{name} pull-down", seen, minus, conductance(down) if down else 0.0),
    )


def _pulls(part: Part) -> tuple[float, float]:
    """Return (pull-up, pull-down) in ohm; 0 for none."""
    how, reaction = part.values["command"], part.values["open command"]
    high = part.values["active"] == "high"
    if how == LIN:
        return BUS_PULL, 0.0
    if how == LEVEL and reaction == LAST:
        return PULL, PULL
    to_full = how == LEVEL and reaction == FULL
    return (PULL, 0.0) if high == to_full else (0.0, PULL)


def order_of(part: Part, pin: str, without: float | None = None) -> Order:
    """Return the rules of a part's command pin.

    Parameters
    ----------
    pin : str
        Its name in the behaviour.
    without : float or None
        The level without an order; by `open command` if None.
    """
    how, high = part.values["command"], part.values["active"] == "high"
    last = part.values["open command"] == LAST
    substitute = WITHOUT[str(part.values["open command"])] if without is None else without
    if how == LEVEL:
        on, off = (ON_ABOVE, OFF_BELOW) if high else (1.0 - ON_ABOVE, 1.0 - OFF_BELOW)
        told = Switched("command", pin, on, off, relative=True)
        return Order(told, (Decision("run", Is("command", "on"), _off()),), (), "run")
    item: Measured | Received
    if how == LIN:
        sender, _, sender_pin = str(part.values["commanded by"]).partition(".")
        item = Received("command", pin, sender, sender_pin, TIMEOUT, substitute, last)
    else:
        shares = (0.0, 1.0) if high else (1.0, 0.0)
        limits = (NO_ORDER, 1.0 - NO_ORDER)
        table = (LEAST, MOST) if high else (1.0 - MOST, 1.0 - LEAST)
        item = Measured(
            "command", pin, "fraction", table, shares, *limits,
            after_seconds=TIMEOUT, substitute=substitute, last=last, relative=True,
        )  # fmt: skip
    speed = Level("speed", "command", (0.0, 1.0), (0.0, 1.0), Always(answer=True))
    return Order(item, (), (speed,), "speed")


def _off() -> Is:
    return Is("command", "off")
