"""The shape of the `modules` section of a circuit file.

::

    modules:
      A3:
        power: {supply: "15", ground: "31", works from: 6 V}
        inputs:
          coolant:  {pin: "4", table: {0.3 V: 120 degC, 1.4 V: 100 degC, 4.9 V: -35 degC},
                     low: 0.15 V, high: 4.93 V, low code: P0117, high code: P0118, after: 2 s,
                     substitute: 85 degC}       # or `last`; or none: it believes what it reads
          ignition: {pin: "15", on above: 8 V, off below: 6 V}
          speed:    {pin: "7", edges a turn: 60, rises above: 3.5 V, falls below: 1.5 V,
                     turning while: ignition is on, low code: P0335, after: 1 s, parameter: "0C"}
        decisions:
          fan wanted: {on: coolant >= 97 degC or coolant is implausible, off: coolant <= 92 degC,
                       off after: 30 s}
        levels:
          pump speed: {of: coolant, table: {60 degC: 0 %, 90 degC: 40 %}, when: ignition is on}
        outputs: {"9": fan wanted, "10": not ignition}
        sleep: {awake while: ignition is on, asleep after: 10 min}
        overloads clear while: not ignition is on    # else only by taking the power away
        routines:
          fan test: {takes: 30 s, holds: {fan wanted: on, pump speed: 60 %}}    # by a scan tool

Voltages of an input (table, low, high, thresholds) may be shares of the module's supply: `60 %`.
"""

from __future__ import annotations

from pydantic import BaseModel, ConfigDict, Field


class _Strict(BaseModel):
    model_config = ConfigDict(extra="forbid", populate_by_name=True)


class PowerEntry(_Strict):
    """Pins for power, and the volts between them that the module needs."""

    supply: str
    ground: str
    works_from: str = Field("6 V", alias="works from")


class InputEntry(_Strict):
    """An input: measured by a table, counted by edges, a switch input by thresholds."""

    pin: str
    table: dict[str, str] = Field(default_factory=dict)
    low: str = ""
    high: str = ""
    low_code: str = Field("", alias="low code")
    high_code: str = Field("", alias="high code")
    after: str = "0 s"
    substitute: str = ""  # a value, or `last`
    parameter: str = ""  # id in service 01 of SAE J1979, hexadecimal
    edges: str = Field("", alias="edges a turn")
    rises: str = Field("", alias="rises above")
    falls: str = Field("", alias="falls below")
    turning: str = Field("", alias="turning while")  # no edges meanwhile: the low code
    on_above: str = Field("", alias="on above")
    off_below: str = Field("", alias="off below")
    on_below: str = Field("", alias="on below")
    off_above: str = Field("", alias="off above")


class DecisionEntry(_Strict):
    """A decision: when it turns on and off, and how long each takes."""

    on: str
    off: str = ""
    on_after: str = Field("0 s", alias="on after")
    off_after: str = Field("0 s", alias="off after")


class LevelEntry(_Strict):
    """A share by a table of a measured input."""

    of: str
    table: dict[str, str]
    when: str = "always"


class SleepEntry(_Strict):
    """What keeps the module awake, and how long after it falls asleep."""

    awake_while: str = Field(alias="awake while")
    asleep_after: str = Field(alias="asleep after")


class RoutineEntry(_Strict):
    """A test that a scan tool starts: how long it runs, what its decisions and levels want then."""

    takes: str
    holds: dict[str, str]


class ModuleEntry(_Strict):
    """One module."""

    power: PowerEntry
    inputs: dict[str, InputEntry]
    decisions: dict[str, DecisionEntry]
    levels: dict[str, LevelEntry] = Field(default_factory=dict)
    outputs: dict[str, str] = Field(default_factory=dict)
    sleep: SleepEntry | None = None
    overloads: str = Field("", alias="overloads clear while")
    routines: dict[str, RoutineEntry] = Field(default_factory=dict)
    bus: str = ""  # the unit on a bus that carries its diagnostic frames
