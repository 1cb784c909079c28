"""Section `modules` of a circuit file: what each control unit does, and the rules parts bring."""

from __future__ import annotations

from collections.abc import Iterator

from sim.circuit import Part
from sim.circuitpad import Pad, wire_pins
from sim.mistakes import perhaps
from sim.modules.behaviour import Behaviour, Received
from sim.modules.entries import read_rules
from sim.modules.pins import BUS, OUTPUTS
from sim.parts import FAMILIES
from sim.parts.controlunit import FAMILY, pins_of
from sim.yamltext import Entry, Where


def read_modules(pad: Pad, parts: dict[str, Part]) -> dict[str, Behaviour]:
    """Return the behaviour of every part that has one: by the file, or by its kind."""
    found = {}
    for name, part in parts.items():
        ruled = FAMILIES[part.kind].ruled
        if ruled is not None and ruled.behaviour is not None and name not in pad.broken:
            found[name] = ruled.behaviour(part)
    for name, entry in pad.entry.modules.items():
        where = ("modules", name)
        units = tuple(n for n, part in parts.items() if part.kind == FAMILY.kind)
        if name not in units:
            if name not in pad.broken:
                text = (
                    f"modules: {name!r} is no control unit; there are {', '.join(units) or 'none'}"
                )
                pad.note(where, text + perhaps(name, units))
            continue
        if name in pad.vague:
            continue
        behaviour, wrong = read_rules(name, entry, wire_pins(parts[name]))
        texts = [*wrong, *_wrong_pins(parts[name], behaviour), *_wrong_bus(parts, behaviour)]
        for text in texts:
            pad.note(_where(pad, where, text), f"{name}: {text}")
        if not texts:
            found[name] = behaviour
    _check_senders(pad, parts, found)
    return found


def _check_senders(pad: Pad, parts: dict[str, Part], modules: dict[str, Behaviour]) -> None:
    """Refuse orders by one wire from where none come."""
    talk = [
        f"{name}.{output.pin}"
        for name, one in modules.items()
        for output in one.outputs
        if parts[name].kind == FAMILY.kind and pins_of(parts[name])[output.pin].role == BUS
    ]
    for name, one in modules.items():
        for item in one.inputs:
            if not isinstance(item, Received):
                continue
            sender = f"{item.sender}.{item.sender_pin}" if item.sender else "nothing"
            if sender not in talk and item.sender not in pad.broken:
                known = ", ".join(talk) or "none: give a control unit a pin that is `LIN master`"
                text = f"{name}: commanded by {sender}, which sends no orders; there are {known}"
                where = ("parts", name, "commanded by") if item.sender else ("parts", name)
                pad.note(where, text)


def _wrong_pins(part: Part, behaviour: Behaviour) -> Iterator[str]:
    """Complain of outputs on pins that switch nothing, levels on pins that are not pulsed."""
    pins, levels = pins_of(part), {level.name for level in behaviour.levels}
    for pin, role in ((behaviour.supply, "supply"), (behaviour.ground, "ground")):
        if pin in pins and pins[pin].role != role:
            yield f"power: pin {pin} is {pins[pin].role!r}, not the {role}"
    for output in behaviour.outputs:
        words, where = pins.get(output.pin), f"outputs: {output.pin}"
        if words is None:
            continue
        if words.role not in (*OUTPUTS, BUS):
            yield f"{where}: pin {output.pin} is {words.role!r}, it switches nothing"
        elif output.follows in levels and not words.frequency:
            yield f"{where}: a level needs a pin that is pulsed; say `pulsed at 100 Hz` of it"


def _wrong_bus(parts: dict[str, Part], behaviour: Behaviour) -> Iterator[str]:
    """Complain of a carrier of frames that is on no bus."""
    units = [name for name, part in parts.items() if part.kind == "bus unit"]
    if behaviour.bus and behaviour.bus not in units:
        yield f"bus: {behaviour.bus!r} is on no bus; units that are: {', '.join(units) or 'none'}"


def _where(pad: Pad, where: tuple[str, str], text: str) -> Where:
    """Return the deepest entry that the words at the beginning of a complaint name."""
    data: Entry = pad.document.data["modules"][where[1]]
    found: Where = where
    for word in text.split(": "):
        if not isinstance(data, dict) or word not in data:
            break
        data, found = data[word], (*found, word)
    return found
