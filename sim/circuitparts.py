"""Sections `places`, `parts` and `controls` of a circuit file."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import replace

from sim.circuit import BODY, Control, Part, Place
from sim.circuitentries import PlaceEntry
from sim.circuitpad import Pad, Value
from sim.errors import QuantityError
from sim.mistakes import nearest, perhaps, with_article
from sim.parts import FAMILIES
from sim.parts.family import FreeKeys, Parameter, settings
from sim.parts.values import check_values, read_value
from sim.yamltext import Where

#: Kinds that other sections make: wires, and the links of rails.
MADE_ELSEWHERE = {"wire": "section `wires`", "fusible link": "section `rails`"}
#: What stands where there is no value; tools that rewrite YAML put the words.
NOTHING = ("", "null", "~")
#: Keys of every part, whatever its kind.
OF_EVERY_PART = ("kind", "at", "felt at")


def kinds() -> tuple[str, ...]:
    """Return the kinds that section `parts` takes."""
    return tuple(kind for kind in FAMILIES if kind not in MADE_ELSEWHERE)


def read_places(pad: Pad) -> dict[str, Place]:
    """Return the places."""
    found = {name: _place(pad, name, entry) for name, entry in pad.entry.places.items()}
    return {name: place for name, place in found.items() if place is not None}


def _place(pad: Pad, name: str, entry: PlaceEntry) -> Place | None:
    reach = pad.quantity(entry.reach, "time", f"{name}: reach", "places", name, "reach")
    again = pad.quantity(entry.again, "time", f"{name}: again", "places", name, "again")
    if reach is None or again is None:
        return None
    if not 0 <= again <= reach:
        text = f"{name}: again must lie between 0 and reach, got {entry.again} and {entry.reach}"
        pad.note(("places", name), text)
        return None
    return Place(name, reach / 60, again / 60, entry.note)


def read_parts(pad: Pad) -> dict[str, Part]:
    """Return the parts; values that cannot be read are guessed, and the part called broken."""
    found = {}
    for name, values in pad.entry.parts.items():
        part = _part(pad, name, dict(values))
        if part is None:
            pad.broken.add(name)
        else:
            found[name] = part
    return found


def _part(pad: Pad, name: str, values: dict[str, str]) -> Part | None:
    where: Where = ("parts", name)
    if name in {BODY, ""} or "." in name or " " in name:
        pad.note(where, f"part name {name!r}: no dots, no spaces, not {BODY!r}")
        return None
    kind = values.pop("kind", "")
    if kind not in kinds():
        _unknown_kind(pad, name, kind)
        return None
    at, felt_at = values.pop("at", ""), values.pop("felt at", "")
    if not pad.known_place(at, name, *where, "at"):
        pad.broken.add(name)
    if felt_at and not pad.known_place(felt_at, name, *where, "felt at"):
        pad.broken.add(name)
    read, guessed = _values(pad, name, kind, without_ratings(values))
    part = Part(name, kind, at, read, felt_at=felt_at)
    if any(_terminals_vary(part, key) for key in guessed):
        pad.vague.add(name)
    if name not in pad.broken:
        try:
            check_values(part)
        except QuantityError as error:
            pad.note(where, str(error))
            pad.broken.add(name)
    return part


def _unknown_kind(pad: Pad, name: str, kind: str) -> None:
    where, known = ("parts", name, "kind"), kinds()
    if kind in MADE_ELSEWHERE:
        text = f"{name}: kind {kind!r} unknown here; it is made by {MADE_ELSEWHERE[kind]}"
    elif kind:
        text = f"{name}: kind {kind!r} unknown; kinds are {', '.join(known)}{perhaps(kind, known)}"
    else:
        text = f"{name}: no kind; give `kind: KIND`; kinds are {', '.join(known)}"
    pad.note(where, text)


def without_ratings(written: Mapping[str, str]) -> dict[str, str]:
    """Return keys with the trade's "160 W at 12 V" and "12 V 1.2 W" as voltage and power."""
    values = dict(written)
    if " at " in values.get("power", ""):
        values["power"], _, values["voltage"] = values["power"].partition(" at ")
    lamp = values.pop("lamp", None)
    if lamp is not None:
        volts, watts = " ".join(lamp.split()[:2]), " ".join(lamp.split()[2:])
        values["lamp voltage"], values["lamp power"] = volts, watts
    return values


def _values(
    pad: Pad, name: str, kind: str, written: dict[str, str]
) -> tuple[dict[str, Value], list[str]]:
    """Return a part's values, and the keys of those that are guesses."""
    parameters, free = FAMILIES[kind].parameters, FAMILIES[kind].free
    found: dict[str, Value] = _free_values(pad, name, free, written)
    strangers = [key for key in written if key not in parameters and not _is_free(free, key)]
    guessed: list[str] = []
    for key, parameter in parameters.items():
        value = (
            _value(pad, parameter, written[key], name, key)
            if key in written
            else (parameter.default)
        )
        if key not in written and value is None:
            misspelt = nearest(key, strangers)
            meant = f", got {misspelt!r}; check its spelling" if misspelt else ""
            pad.note(("parts", name), f"{name}: {with_article(kind)} needs {key!r}{meant}")
            strangers = [stranger for stranger in strangers if stranger != misspelt]
        if value is None:
            pad.broken.add(name)
            guessed.append(key)
            value = _guess(parameter)
        found[key] = value
    for key in strangers:
        allowed = (*OF_EVERY_PART, *parameters, *([f"{free.prefix}N"] if free else []))
        text = f"{name}: {key!r} unknown; {with_article(kind)} has {', '.join(allowed)}"
        text += perhaps(key, allowed)
        pad.note(("parts", name, key), text)
    return found, guessed


def _is_free(free: FreeKeys | None, key: str) -> bool:
    """Tell whether a key is one of those that a kind takes any number of."""
    return free is not None and key.startswith(free.prefix) and key != free.prefix


def _free_values(
    pad: Pad, name: str, free: FreeKeys | None, written: dict[str, str]
) -> dict[str, Value]:
    """Return the values of free keys, those that cannot be read left out."""
    found: dict[str, Value] = {}
    for key, text in written.items():
        if free is None or not _is_free(free, key):
            continue
        try:
            free.read(text)
        except QuantityError as error:
            pad.note(("parts", name, key), f"{name}: {key}: {error}")
            pad.broken.add(name)
            pad.vague.add(name)
            continue
        found[key] = text
    return found


def _value(pad: Pad, parameter: Parameter, text: str, name: str, key: str) -> Value | None:
    where = ("parts", name, key)
    try:
        return read_value(parameter, key, text)
    except QuantityError as error:
        who = name if str(error).startswith(key) else f"{name}: {key}"
        pad.note(where, f"{who}: {error}")
        return None


def _guess(parameter: Parameter) -> Value:
    """Return a value to go on with where the file has none that can be read."""
    if parameter.default is not None:
        return parameter.default
    if parameter.quantity == "text":
        return parameter.words[0] if parameter.words else ""
    return False if parameter.quantity == "flag" else 1.0


def _terminals_vary(part: Part, key: str) -> bool:
    """Tell whether a part's terminals depend on one of its values."""
    family = FAMILIES[part.kind]
    parameter = family.parameters[key]
    others: tuple[Value, ...] = parameter.words or (0.0, 1.0, 5.0)
    if parameter.quantity == "flag":
        others = (False, True)
    try:
        changed = [replace(part, values={**part.values, key: other}) for other in others]
        return any(family.pins(one) != family.pins(part) for one in changed)
    except (ArithmeticError, ValueError, QuantityError):  # then they certainly do
        return True


def read_controls(pad: Pad, parts: dict[str, Part]) -> dict[str, Control]:
    """Return the controls."""
    found = {name: _control(pad, name, keys, parts) for name, keys in pad.entry.controls.items()}
    return {name: control for name, control in found.items() if control is not None}


def _control(pad: Pad, name: str, keys: dict[str, str], parts: dict[str, Part]) -> Control | None:
    where: Where = ("controls", name)
    sets = tuple(part.strip() for part in keys.get("sets", "").split(",") if part.strip())
    positions = tuple(key for key in keys if key != "sets")
    before = len(pad.mistakes)
    for key in positions:
        if keys[key] not in NOTHING:
            text = f"{name}: position {key!r} takes no value, got {keys[key]!r}"
            pad.note((*where, key), text)
    known = pad.written("parts")
    for part in sets:
        if part not in known:
            text = f"{name}: sets unknown part {part!r}; parts are {', '.join(known)}"
            pad.note((*where, "sets"), text + perhaps(part, known))
    if len(positions) < 2 or not sets:  # noqa: PLR2004 -- a control that cannot move is none
        got = f"got {len(positions)} and sets {', '.join(sets) or 'nothing'}"
        pad.note(where, f"{name}: needs at least two positions and `sets: PART`; {got}")
    if len(pad.mistakes) > before:
        return None
    return Control(name, positions, tuple(part for part in sets if part in parts))


def with_settings(
    pad: Pad, parts: dict[str, Part], controls: dict[str, Control]
) -> dict[str, Part]:
    """Tell every part the positions of the control that sets it."""
    found, by = dict(parts), dict[str, str]()
    for control in controls.values():
        for name in control.sets:
            if name in by:
                text = f"{name} is set twice, by {by[name]} too; one control sets a part"
                pad.note(("controls", control.name, "sets"), text)
                continue
            by[name] = control.name
            part = replace(found[name], settings=control.positions)
            if FAMILIES[part.kind].setting and not _positions_read(pad, part, control):
                continue
            found[name] = part
    return found


def _positions_read(pad: Pad, part: Part, control: Control) -> bool:
    """Tell whether the positions carry values of the kind that the part takes."""
    before, kind = len(pad.mistakes), FAMILIES[part.kind].setting
    for position in control.positions:
        try:
            settings(replace(part, settings=(position,)), kind)
        except QuantityError as error:
            where = ("controls", control.name, position)
            pad.note(where, f"{control.name}: position {position!r} sets {part.name}: {error}")
    if len(pad.mistakes) > before:
        return False
    try:
        check_values(part)
    except QuantityError as error:
        if part.name not in pad.broken:
            pad.note(("controls", control.name), str(error))
        return False
    return True
