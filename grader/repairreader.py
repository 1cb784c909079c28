"""Repair units and causes of a case file: what is called, what mends it, what it costs."""

from __future__ import annotations

from grader.case import CAUSE_KINDS, NOT_TODAY, Cause, Option, RepairUnit
from grader.entryreader import EntryReader
from sim.access import wire_places
from sim.errors import SimError
from sim.faults import parse_fault, part_and_pin
from sim.mistakes import perhaps
from sim.parts import FAMILIES
from sim.yamltext import Where


class RepairReader(EntryReader):
    """Reads the sections `causes` and `units`."""

    def cause(self, name: str) -> Cause:
        """Return a cause that is no failed part."""
        entry, where = self.entry.causes[name], ("causes", name)
        begins = name.partition(".")[0]
        if "=" in name or {name, begins} & {"", "temperature", *self.circuit.parts}:
            raise self.fail(where, f"{name!r}: reads as a fault or a part; say it in words")
        if entry.kind not in CAUSE_KINDS:
            known = ", ".join(CAUSE_KINDS)
            near = perhaps(entry.kind, list(CAUSE_KINDS))
            raise self.fail(
                (*where, "kind"), f"{name}: kind is {entry.kind!r}, allowed are {known}{near}"
            )
        if CAUSE_KINDS[entry.kind] and not entry.sets:
            text = f"{name}: {entry.kind} needs `sets`: what is otherwise on this vehicle"
            raise self.fail(where, text)
        if entry.sets and not CAUSE_KINDS[entry.kind]:
            text = f"{name}: nothing is otherwise on a vehicle that {entry.kind}; leave out `sets`"
            raise self.fail((*where, "sets"), text)
        if entry.shows and entry.kind == NOT_TODAY:
            text = f"{name}: what {entry.kind} shows nothing today; leave out `shows`"
            raise self.fail((*where, "shows"), text)
        likelihood = self.amount(entry.likelihood, "number", *where, "likelihood")
        if likelihood == 0:
            raise self.fail((*where, "likelihood"), f"{name}: likelihood must be above 0")
        if not any(name in unit.mends for unit in self.entry.units.values()):
            raise self.fail(where, f"{name}: no unit mends it; name it in one unit's `mends`")
        sets = tuple(
            (key, self.value(key, text, (*where, "sets", key))) for key, text in entry.sets.items()
        )
        self.check_vehicle(dict(sets), (*where, "sets"))
        shows = tuple(self.sight(one, *where, "shows", n) for n, one in enumerate(entry.shows))
        return Cause(name, entry.kind, likelihood, sets, shows)

    def unit(self, name: str) -> RepairUnit:
        """Return a repair unit."""
        entry, where = self.entry.units[name], ("units", name)
        faults = [pattern for pattern in entry.mends if pattern not in self.entry.causes]
        for pattern in faults:
            self.check_pattern(pattern, (*where, "mends"))
        if not entry.mends:
            raise self.fail((*where, "mends"), f"{name}: mends nothing; name a fault it mends")
        options = tuple(
            Option(
                key,
                self.amount(option.price, "number", *where, "options", key, "price"),
                self.amount(option.days, "number", *where, "options", key, "days"),
            )
            for key, option in entry.options.items()
        )
        if not options:
            raise self.fail(where, f"{name}: needs at least one option with a price")
        labour = self.amount(entry.labour, "time", *where, "labour") / 60
        for place in entry.at:
            if place not in self.circuit.places:
                known = ", ".join(self.circuit.places)
                raise self.fail((*where, "at"), f"place {place!r} unknown; there are {known}")
        places = tuple(entry.at) or self.usual_places((faults or entry.mends)[0])
        is_word = not faults and not any(self.entry.causes[one].sets for one in entry.mends)
        return RepairUnit(name, tuple(entry.mends), labour, options, places, is_word)

    def usual_places(self, pattern: str) -> tuple[str, ...]:
        """Return where a fault is repaired: at its part, or at both ends of its wire.

        A cause is put right at the first part whose values it sets, or nowhere on the vehicle.
        """
        point = pattern.partition("=")[0].strip()
        if pattern in self.entry.causes:
            names = (name.partition(".")[0] for name in self.entry.causes[pattern].sets)
            point = next((name for name in names if name in self.circuit.parts), "")
            if not point:
                return ()
        part, _pin = part_and_pin(self.circuit, point)
        return wire_places(self.circuit, part.name) if part.kind == "wire" else (part.at,)

    def check_pattern(self, pattern: str, where: Where) -> None:
        """Refuse a fault pattern of which the circuit has none."""
        point, sign, way = pattern.partition("=")
        near = perhaps(pattern, list(self.entry.causes))
        if not sign and near:
            raise self.fail(where, f"{pattern!r}: neither a fault nor a cause of this case{near}")
        try:
            part, pin = part_and_pin(self.circuit, point.strip())
            if ":" in way:
                parse_fault(self.circuit, pattern)
        except SimError as error:
            raise self.fail(where, str(error)) from error
        names = [w.name for w in FAMILIES[part.kind].ways(part) if w.pin == pin]
        if not names:
            raise self.fail(where, f"{pattern!r}: {point} does not fail by itself; name a terminal")
        if way != "*" and way.partition(":")[0].strip() not in names:
            text = f"{pattern!r}: {point} fails by {', '.join(names)}, or * for all"
            raise self.fail(where, text)
