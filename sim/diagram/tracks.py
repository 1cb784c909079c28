"""The diagram section of a circuit -> tracks of items, every part the right way up.

A track lists what current passes from supply to ground: a rail, parts, a rail. The two halves of a
relay are the items `K3 coil` and `K3 contact`; a connector of several pins may stand in several
tracks, each time for the pin that is wired there (or the pin named, as in `C5.2`). Batteries, their
links or main fuses, the ground studs at their negative terminal and key switches are put on the
left by themselves, in tracks without a number, unless the diagram places them.
"""

from __future__ import annotations

from collections.abc import Iterable
from dataclasses import dataclass

from sim.circuit import BODY, Circuit, Part
from sim.diagram.symbols import TURNABLE, UPRIGHT, on_axis_first
from sim.errors import DiagramError
from sim.parts import FAMILIES

RELAY_PINS = {"coil": ("86", "85"), "contact": ("30", "87")}


@dataclass(frozen=True, slots=True)
class Item:
    """A part, a half of a relay or some pins of a connector, in a track.

    `names` are its terminals (wire ends): the upper, the lower, then further ones; for a connector
    the upper and the lower half of each pin.
    """

    key: str
    part: Part
    names: tuple[str, ...]

    def point(self, name: str) -> str:
        """Return the point at which a wire ends."""
        return f"{self.part.name}.{name}"

    @property
    def points(self) -> tuple[str, ...]:
        """The points at which wires end."""
        return tuple(self.point(name) for name in self.names)


@dataclass(frozen=True, slots=True)
class Track:
    """Items from supply to ground; `number` is empty for what stands on the left by itself."""

    number: str
    items: tuple[Item, ...]


def wire_ends(circuit: Circuit, wire: Part) -> tuple[str, str]:
    """Return the two points between which a wire lies."""
    return circuit.point(str(wire.values["from"])), circuit.point(str(wire.values["to"]))


def wires_of(circuit: Circuit) -> tuple[Part, ...]:
    """Return the wires of a circuit."""
    return tuple(part for part in circuit.parts.values() if part.kind == "wire")


def lay_tracks(circuit: Circuit) -> tuple[Track, ...]:
    """Return all tracks from left to right.

    Raises
    ------
    DiagramError
        The diagram names what is not there or names it twice, or a part is in no track.
    """
    return _Tracks(circuit).all()


class _Tracks:
    """Reads the diagram section against the wires."""

    def __init__(self, circuit: Circuit) -> None:
        self.circuit = circuit
        self.meets: dict[str, set[str]] = {}
        for wire in wires_of(circuit):
            first, last = wire_ends(circuit, wire)
            self.meets.setdefault(first, set()).add(last)
            self.meets.setdefault(last, set()).add(first)
        self.written = {
            number: [name for name in names if name not in circuit.rails]
            for number, names in circuit.diagram.items()
        }
        self.parts: dict[str, Part] = {}
        self.pins: dict[tuple[str, str], tuple[str, ...]] = {}

    def fail(self, number: str, name: str, text: str) -> DiagramError:
        return DiagramError(self.circuit.name, number, (name,), text)

    def all(self) -> tuple[Track, ...]:
        for number, names in self.written.items():
            for name in names:
                self.parts[name] = self.part(number, name)
        self.check_once()
        self.share_pins()
        tracks = [
            Track(number, tuple(self.item(number, name) for name in names))
            for number, names in self.written.items()
        ]
        found = (*self.supply(), *tracks)
        self.check_all(found)
        return found

    def part(self, number: str, name: str) -> Part:
        """Return the part that an item belongs to."""
        owner, _, half = name.partition(" ")
        part = self.circuit.parts.get(owner)
        if part is None and "." in owner:
            part, pin = self.circuit.parts.get(owner.partition(".")[0]), owner.partition(".")[2]
            if (
                part is None
                or part.kind != "connector"
                or pin not in FAMILIES[part.kind].pins(part)
            ):
                raise self.fail(
                    number, name, f"{name!r}: only a connector's pin is written PART.PIN"
                )
        if part is None or part.kind == "wire":
            known = ", ".join(n for n, p in self.circuit.parts.items() if p.kind != "wire")
            raise self.fail(number, name, f"{name!r} unknown; there are {known} and rails")
        if part.kind == "key switch":
            raise self.fail(number, name, f"{name}: a key switch is placed by itself; leave it out")
        if (part.kind == "relay") != (half in RELAY_PINS) or (half and part.kind != "relay"):
            text = (
                f"{name!r}: a relay is written `{owner} coil` and `{owner} contact`, others plain"
            )
            raise self.fail(number, name, text)
        return part

    def check_once(self) -> None:
        seen: set[str] = set()
        for number, names in self.written.items():
            for name in names:
                if name in seen and self.parts[name].kind != "connector":
                    raise self.fail(number, name, f"{name} stands in the diagram twice; keep one")
                if names.count(name) > 1:
                    raise self.fail(
                        number, name, f"{name} stands in this track twice; name its pins"
                    )
                seen.add(name)

    def neighbours(self, number: str, name: str) -> tuple[set[str], set[str]]:
        """Return the points above and below an item in its track, rails included."""
        names = self.written[number]
        place = names.index(name)
        above = {point for other in names[:place] for point in self.points(other)}
        below = {point for other in names[place + 1 :] for point in self.points(other)}
        rails = {point for point in self.circuit.rails.values() if point != BODY}
        return above | rails, below | {BODY}

    def points(self, name: str) -> list[str]:
        part = self.parts[name]
        return [f"{part.name}.{pin}" for pin in self.all_pins(part, name)]

    def all_pins(self, part: Part, name: str) -> tuple[str, ...]:
        pins = FAMILIES[part.kind].pins(part)
        if part.kind == "relay":
            coil, contact = RELAY_PINS["coil"], RELAY_PINS["contact"]
            if name.endswith(" coil"):
                return coil
            return (*contact, *(pin for pin in pins if pin not in {*coil, *contact}))
        if part.kind == "connector":
            return tuple(f"{pin}{half}" for pin in pins for half in "ab")
        return on_axis_first(part, pins)

    def leaning(self, point: str, number: str, name: str) -> int:
        """Return above 0 if a terminal is wired to what stands above, below 0 if below."""
        above, below = self.neighbours(number, name)
        meets = self.meets.get(point, set())
        return len(meets & above) - len(meets & below)

    def share_pins(self) -> None:
        """Give every pin of a connector to one of the tracks in which the connector stands."""
        for part in dict.fromkeys(
            self.parts[n].name for names in self.written.values() for n in names
        ):
            if self.circuit.parts[part].kind == "connector":
                self.share(self.circuit.parts[part])

    def share(self, part: Part) -> None:
        stands = [
            (number, name)
            for number, names in self.written.items()
            for name in names
            if self.parts[name] is part
        ]
        left = list(FAMILIES[part.kind].pins(part))
        for number, name in sorted(stands, key=lambda stand: "." not in stand[1]):
            pin = name.partition(".")[2] or self.wired_pin(part, left, number, name)
            if pin not in left:
                raise self.fail(number, name, f"{name}: no pin of it is left for this track")
            left.remove(pin)
            self.pins[number, name] = (pin,)
        self.pins[stands[0]] = (*self.pins[stands[0]], *left)

    def wired_pin(self, part: Part, left: list[str], number: str, name: str) -> str:
        """Return the pin that is wired most to what stands in this track."""

        def tied(pin: str) -> int:
            halves = (f"{part.name}.{pin}{half}" for half in "ab")
            return sum(abs(self.leaning(point, number, name)) for point in halves)

        return max(left, key=tied) if left else ""

    def item(self, number: str, name: str) -> Item:
        """Return an item with its terminals the right way up."""
        part = self.parts[name]
        if part.kind == "connector":
            return self.connector(part, number, name)
        return Item(name, part, self.turned(part, number, name))

    def turned(self, part: Part, number: str, name: str) -> tuple[str, ...]:
        """Return the terminals of a part: the upper one, the lower one, further ones."""
        names = self.all_pins(part, name)
        turns = len(names) == 2 or part.kind in TURNABLE  # noqa: PLR2004 -- both ends
        if part.kind in UPRIGHT or not turns or len(names) == 1:
            return names
        lean = {pin: self.leaning(f"{part.name}.{pin}", number, name) for pin in names}
        if part.kind == "splice":
            upper = max(names, key=lambda pin: lean[pin])
            lower = min((pin for pin in names if pin != upper), key=lambda pin: lean[pin])
            return (upper, lower, *(pin for pin in names if pin not in {upper, lower}))
        return names if lean[names[0]] >= lean[names[1]] else (names[1], names[0], *names[2:])

    def connector(self, part: Part, number: str, name: str) -> Item:
        names: tuple[str, ...] = ()
        for pin in self.pins[number, name]:
            first, last = (self.leaning(f"{part.name}.{pin}{half}", number, name) for half in "ab")
            names += (f"{pin}a", f"{pin}b") if first >= last else (f"{pin}b", f"{pin}a")
        several = sum(found is part for found in self.parts.values()) > 1 or (
            sum(name in names for names in self.written.values()) > 1
        )
        key = f"{part.name}.{self.pins[number, name][0]}" if several else part.name
        return Item(key, part, names)

    def supply(self) -> list[Track]:
        """Return the tracks of what the diagram need not place: batteries and key switches."""
        placed = {part.name for part in self.parts.values()}
        tracks = []
        for battery in self.of_kind("battery", placed):
            studs = self.tied(battery, "-", self.of_kind("ground stud", placed))
            fuses = [*self.of_kind("fusible link", placed), *self.of_kind("blade fuse", placed)]
            links = self.tied(battery, "+", fuses)
            chain = [*(Item(p.name, p, ("2", "1")) for p in links[:1]), self.whole(battery)]
            tracks.append(Track("", (*chain, *(self.whole(p) for p in studs[:1]))))
            tracks += [Track("", (Item(p.name, p, ("2", "1")),)) for p in links[1:]]
            tracks += [Track("", (self.whole(p),)) for p in studs[1:]]
        return tracks + [Track("", (self.whole(p),)) for p in self.of_kind("key switch", placed)]

    def of_kind(self, kind: str, placed: Iterable[str]) -> list[Part]:
        return [p for p in self.circuit.parts.values() if p.kind == kind and p.name not in placed]

    def tied(self, battery: Part, pin: str, parts: list[Part]) -> list[Part]:
        meets = self.meets.get(f"{battery.name}.{pin}", set())
        return [
            part for part in parts if {point.partition(".")[0] for point in meets} & {part.name}
        ]

    def whole(self, part: Part) -> Item:
        return Item(part.name, part, FAMILIES[part.kind].pins(part))

    def check_all(self, tracks: tuple[Track, ...]) -> None:
        """Refuse a diagram that leaves out a part, or half of a relay."""
        placed = {item.key for track in tracks for item in track.items}
        placed |= {item.part.name for track in tracks for item in track.items}
        wanted: list[str] = []
        for part in self.circuit.parts.values():
            if part.kind == "relay":
                wanted += [f"{part.name} {half}" for half in RELAY_PINS]
            elif part.kind != "wire":
                wanted.append(part.name)
        missing = [name for name in wanted if name not in placed]
        if missing:
            text = "list every part in one track, from supply to ground"
            text = f"{', '.join(missing)} in no track; {text}"
            raise DiagramError(self.circuit.name, "", tuple(missing), text)
