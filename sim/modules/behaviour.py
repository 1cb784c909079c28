"""What a control module does, as frozen data: inputs, decisions, outputs, sleep.

A module sees voltages at its pins and nothing else. A *measured* input turns a voltage into a
value by a table; outside what its sensor can give it becomes implausible after a while, and the
module goes on with a substitute, if it has one. A *switch* input has two thresholds. A *decision*
is on or off: its `on` and `off` conditions leave a gap in which it stays as it is (hysteresis), and
each way may take a while (delay, after-run). A *level* is a share from 0 to 1 by a table, for
outputs that are pulsed. An *output* follows a decision or a level.
"""

from __future__ import annotations

from dataclasses import dataclass

from sim.modules.conditions import NEVER, Condition


@dataclass(frozen=True, slots=True)
class Measured:
    """An input that is measured.

    Attributes
    ----------
    name, pin : str
    kind : str
        Quantity of the value (see `sim.quantity`).
    volts, values : tuples of float
        The table: volts rising, the value at each, straight lines between, flat beyond.
    low, high : float
        V, what the sensor can give when all is well; beyond, the input is implausible.
    low_code, high_code : str
        Trouble codes for below `low` and above `high`; empty for none.
    after_seconds : float
        How long the voltage has to be out of bounds.
    substitute : float or None
        Value the module goes on with; None if it believes what it reads.
    last : bool
        Whether it goes on with the last value that lay within bounds instead.
    relative : bool
        Whether voltages (`volts`, `low`, `high`) are shares of the module's own supply.
    parameter : int or None
        Id in service 01 of SAE J1979 under which a scan tool gets its value as measured.
    """

    name: str
    pin: str
    kind: str
    volts: tuple[float, ...]
    values: tuple[float, ...]
    low: float
    high: float
    low_code: str = ""
    high_code: str = ""
    after_seconds: float = 0.0
    substitute: float | None = None
    last: bool = False
    relative: bool = False
    parameter: int | None = None


@dataclass(frozen=True, slots=True)
class Switched:
    """An input that is on beyond `on_volts`, and off beyond `off_volts` on the other side.

    If `relative`, both are shares of the module's own supply.
    """

    name: str
    pin: str
    on_volts: float
    off_volts: float
    relative: bool = False


@dataclass(frozen=True, slots=True)
class Counted:
    """An input that counts edges and makes a speed of them, in rad/s (see `sim.modules.counting`).

    Attributes
    ----------
    edges : float
        In one turn.
    rises, falls : float
        V that an edge has to go above and below; shares of the supply if `relative`.
    turning : Condition
        While it holds there should be edges; without them for `after_seconds` it is implausible.
    low_code : str
        Trouble code for that; empty for none.
    parameter : int or None
        Id in service 01 of SAE J1979.
    """

    name: str
    pin: str
    edges: float
    rises: float
    falls: float
    turning: Condition = NEVER
    low_code: str = ""
    after_seconds: float = 0.0
    parameter: int | None = None
    relative: bool = False
    kind: str = "rotation"
    high_code: str = ""


@dataclass(frozen=True, slots=True)
class Received:
    """A level that comes by one wire from another module, as a share from 0 to 1.

    It comes while the wire carries it (see `sim.modules.bus`). Without it for `after_seconds` the
    input is implausible, and the module goes on with `substitute`, or with the last (`last`).

    Attributes
    ----------
    sender, sender_pin : str
        Module and pin that the wire should come from.
    code : str
        Trouble code for "no message"; empty for none.
    """

    name: str
    pin: str
    sender: str
    sender_pin: str
    after_seconds: float
    substitute: float = 0.0
    last: bool = False
    code: str = ""


@dataclass(frozen=True, slots=True)
class Decision:
    """Something the module makes up its mind about.

    `off` None stands for "as soon as `on` no longer holds". Where both hold, off wins.
    """

    name: str
    on: Condition
    off: Condition | None = None
    on_after_seconds: float = 0.0
    off_after_seconds: float = 0.0


@dataclass(frozen=True, slots=True)
class Level:
    """A share from 0 to 1 by a table of a measured input, 0 while `when` does not hold."""

    name: str
    of: str
    points: tuple[float, ...]
    shares: tuple[float, ...]
    when: Condition


@dataclass(frozen=True, slots=True)
class Output:
    """A pin that follows a decision or a level; `inverted` if it is on while that is off."""

    pin: str
    follows: str
    inverted: bool = False


@dataclass(frozen=True, slots=True)
class Routine:
    """A test that a scan tool may start: for how long, and what decisions and levels want then.

    `holds` are names with shares from 0 to 1, a decision's 0 or 1.
    """

    name: str
    seconds: float
    holds: tuple[tuple[str, float], ...]


@dataclass(frozen=True, slots=True)
class Behaviour:
    """One module: where it gets power, and what it does with what it sees.

    `supply` and `ground` are its pins for power, `works_from` the volts between them that it needs.
    While `awake` does not hold for `asleep_after_seconds` it sleeps; None if it never does. An
    output that has shut down for too much current tries again as `clears` begins or ceases to hold,
    and after a loss of power. `bus` is the unit on a bus that carries its diagnostic frames; empty
    for a wire of its own.
    """

    module: str
    supply: str
    ground: str
    works_from: float
    inputs: tuple[Measured | Switched | Received | Counted, ...]
    decisions: tuple[Decision, ...]
    levels: tuple[Level, ...] = ()
    outputs: tuple[Output, ...] = ()
    awake: Condition | None = None
    asleep_after_seconds: float = 0.0
    clears: Condition = NEVER
    bus: str = ""
    routines: tuple[Routine, ...] = ()
