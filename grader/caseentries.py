"""The shape of a case file: which keys, all of them text, nothing unknown."""

from __future__ import annotations

from pydantic import BaseModel, ConfigDict, Field


class _Strict(BaseModel):
    model_config = ConfigDict(extra="forbid")


class SightEntry(_Strict):
    """Conditions and what is seen."""

    set: dict[str, str] = Field(default_factory=dict)
    wait: str = ""
    sees: dict[str, str] = Field(default_factory=dict)


class CheckEntry(_Strict):
    """One check after the repair."""

    set: dict[str, str] = Field(default_factory=dict)
    wait: str = ""
    do: dict[str, str]
    expect: str = ""
    between: list[str] = Field(default_factory=list)


class QuestionEntry(_Strict):
    """One question to the customer, or a page of the history."""

    ask: str
    minutes: str
    answer: str
    makes_likelier: dict[str, str] = Field(default_factory=dict, alias="makes likelier")


class OptionEntry(_Strict):
    """One way of carrying out a repair."""

    price: str
    days: str = "0"


class CauseEntry(_Strict):
    """One cause that is no failed part."""

    kind: str
    likelihood: str
    sets: dict[str, str] = Field(default_factory=dict)
    shows: list[SightEntry] = Field(default_factory=list)


class UnitEntry(_Strict):
    """One repair unit."""

    mends: list[str]
    labour: str
    options: dict[str, OptionEntry]
    at: list[str] = Field(default_factory=list)


class CaseEntry(_Strict):
    """The whole file."""

    format: str
    version: str
    id: str
    order: str
    circuit: str
    complaint: str
    shows: list[SightEntry]
    questions: list[QuestionEntry] = Field(default_factory=list)
    start: dict[str, str]
    confirm: SightEntry
    verify: list[CheckEntry]
    varies: dict[str, list[str]] = Field(default_factory=dict)
    causes: dict[str, CauseEntry] = Field(default_factory=dict)
    units: dict[str, UnitEntry]
    assignable: list[str] = Field(default_factory=list)
    rate: str = "1"
    dear: str = "60"
    weights: dict[str, str] = Field(default_factory=dict)
    hints: str = "free"
    likelihoods: dict[str, dict[str, str]] = Field(default_factory=dict)
