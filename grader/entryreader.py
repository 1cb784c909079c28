"""What reading any entry of a case file needs: messages that name the line, quantities, values."""

from __future__ import annotations

from collections.abc import Callable, Mapping
from typing import Any, TypeVar

from grader.case import Sight
from grader.caseentries import CaseEntry, SightEntry
from grader.errors import CaseFileError
from grader.possible import set_values
from sim.access import price
from sim.action import Action, action_from_json
from sim.circuit import Circuit
from sim.errors import SimError
from sim.handling import check
from sim.mistakes import Mistake, perhaps
from sim.network import circuit_elements
from sim.parts import FAMILIES
from sim.parts.values import read_value
from sim.quantity import parse
from sim.situation import Situation
from sim.yamltext import Document, Where

Read = TypeVar("Read")


class WrongError(CaseFileError):
    """One mistake, on its way to where the next entry is read."""

    def __init__(self, mistake: Mistake) -> None:
        super().__init__(str(mistake))
        self.mistake = mistake


class EntryReader:
    """Reads entries of a validated case file and keeps the mistakes found, with their lines."""

    def __init__(self, document: Document, entry: CaseEntry, circuit: Circuit) -> None:
        self.document, self.entry, self.circuit = document, entry, circuit
        self.mistakes: list[Mistake] = []

    def fail(self, where: Where, text: str) -> WrongError:
        """Return a mistake with its line, to be raised."""
        return WrongError(self.document.mistake(where, text))

    def read(self, one: Callable[..., Read], *arguments: Any) -> list[Read]:  # noqa: ANN401 -- anything
        """Read one entry; keep its mistake if it has one, so that the next are read too."""
        try:
            return [one(*arguments)]
        except WrongError as error:
            self.mistakes.append(error.mistake)
            return []

    def quantity(self, text: str, kind: str, *where: str | int) -> float:
        """Return a quantity of one kind in SI."""
        try:
            return parse(text, kind)
        except SimError as error:
            raise self.fail(where, f"{where[-1]}: {error}") from error

    def amount(self, text: str, kind: str, *where: str | int, least: float = 0.0) -> float:
        """Return a quantity that is not below the least allowed."""
        value = self.quantity(text, kind, *where)
        if value < least:
            raise self.fail(where, f"{where[-1]}: got {text!r}, allowed from {least:g}")
        return value

    def value(self, name: str, text: str, where: Where) -> float:
        """Return a value, SI, of what can differ: ``temperature`` or ``PART.parameter``."""
        if name == "temperature":
            return self.quantity(text, name, *where)
        part, _, key = name.partition(".")
        known = self.circuit.parts.get(part)
        parameter = FAMILIES[known.kind].parameters.get(key) if known else None
        if parameter is None or parameter.quantity in {"text", "flag"}:
            near = perhaps(name, self.variable())
            raise self.fail(where, f"{name!r}: expected `temperature` or PART.parameter{near}")
        try:
            return float(read_value(parameter, name, text))
        except SimError as error:
            raise self.fail(where, str(error)) from error

    def check_vehicle(self, values: Mapping[str, float], where: Where) -> None:
        """Refuse values that make no vehicle, or one with another network than the drawing's."""
        try:
            ours, drawn = (
                [(e.name, e.a, e.b, e.law) for e in circuit_elements(circuit)]
                for circuit in (set_values(self.circuit, values), self.circuit)
            )
        except SimError as error:
            raise self.fail(where, str(error)) from error
        if ours != drawn:
            text = f"{', '.join(values)}: this gives the vehicle other points than the drawing has"
            raise self.fail(where, f"{text}; change the circuit file instead")

    def variable(self) -> list[str]:
        """Return the names of everything that may vary between students."""
        return ["temperature"] + [
            f"{part.name}.{key}"
            for part in self.circuit.parts.values()
            for key, parameter in FAMILIES[part.kind].parameters.items()
            if parameter.quantity not in {"text", "flag"}
        ]

    def settings(self, written: dict[str, str], *where: str | int) -> dict[str, str]:
        """Return positions of controls, all of which there are."""
        for control, position in written.items():
            known = self.circuit.controls.get(control)
            if known is None:
                controls = ", ".join(self.circuit.controls)
                text = f"control {control!r} unknown; there are {controls}"
                raise self.fail((*where, control), text)
            if position not in known.positions:
                text = f"{control}: got {position!r}, positions are {', '.join(known.positions)}"
                raise self.fail((*where, control), text)
        return written

    def doing(self, settings: dict[str, str], wait: str, *where: str | int) -> tuple[Action, ...]:
        """Return the actions that bring conditions about."""
        actions = []
        if settings:
            checked = self.settings(settings, *where, "set")
            actions.append(Action("set", settings=tuple(checked.items())))
        if wait:
            actions.append(self.action({"wait": wait}, *where, "wait"))
        return tuple(actions)

    def action(self, do: dict[str, str], *where: str | int) -> Action:
        """Return an action that can be done at this vehicle."""
        try:
            action = action_from_json(do)
            check(self.circuit, Situation(), action)
            price(self.circuit, Situation(), action)
        except SimError as error:
            raise self.fail(where, str(error)) from error
        return action

    def sight(self, entry: SightEntry, *where: str | int) -> Sight:
        """Return conditions and what is seen under them."""
        for effect, answer in entry.sees.items():
            self.action({"watch": effect}, *where, "sees", effect)
            if answer not in {"yes", "no"}:
                raise self.fail((*where, "sees"), f"{effect}: must be yes or no, got {answer!r}")
        return Sight(self.doing(entry.set, entry.wait, *where), tuple(entry.sees.items()))
