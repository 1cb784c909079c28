"""A made-up lorry with ten working lamps, each with relay, horn and pilot lamp: 120 parts and more.

Every branch has the same twelve parts: two fuses, switch, two plugs, relay, two lamps, horn, pilot
lamp, two ground studs. Nothing is to be learned from it; it is there to be large.
"""

BRANCHES = 10
COLOURS = ("red", "blue", "green", "yellow", "white", "grey", "violet", "brown", "black", "orange")
PARTS = """\
  F{n}1: {{kind: blade fuse, rating: 5 A, at: fuse panel}}
  F{n}2: {{kind: blade fuse, rating: 15 A, at: fuse panel}}
  S{n}1: {{kind: switch, latching: yes, at: dash}}
  C{n}1: {{kind: connector, pins: 1, at: bulkhead}}
  K{n}1: {{kind: relay, contact: normally open, coil: 85 ohm, at: relay box, serves: lamps {n}}}
  C{n}2: {{kind: connector, pins: 1, at: bay {n}}}
  E{n}1: {{kind: lamp, power: 21 W at 12 V, at: bay {n}}}
  E{n}2: {{kind: lamp, power: 21 W at 12 V, at: bay {n}}}
  E{n}3: {{kind: lamp, power: 1.2 W at 12 V, at: dash}}
  H{n}1: {{kind: horn, power: 42 W at 12 V, at: bay {n}}}
  X{n}1: {{kind: ground stud, at: bay {n}}}
  X{n}2: {{kind: ground stud, at: relay box}}
"""
WIRES = """\
  {n}01: [30,      F{n}1.1,   red/{c},   1 mm2,    0.4 m]
  {n}02: [F{n}1.2, S{n}1.in,  red/{c},   0.75 mm2, 1.5 m]
  {n}03: [S{n}1.out, C{n}1.1a, {c}/white, 0.75 mm2, 1.2 m]
  {n}04: [C{n}1.1b, K{n}1.86, {c}/white, 0.75 mm2, 0.8 m]
  {n}05: [K{n}1.85, X{n}2.ring, brown,   0.75 mm2, 0.4 m]
  {n}06: [S{n}1.out, E{n}3.1, {c}/grey,  0.5 mm2,  0.3 m]
  {n}07: [E{n}3.2, 31,        brown,     0.5 mm2,  0.5 m]
  {n}11: [30,      F{n}2.1,   red,       2.5 mm2,  0.4 m]
  {n}12: [F{n}2.2, K{n}1.30,  red/{c},   2.5 mm2,  0.3 m]
  {n}13: [K{n}1.87, C{n}2.1a, {c}/black, 2.5 mm2,  3 m]
  {n}14: [C{n}2.1b, E{n}1.1,  {c}/black, 2.5 mm2,  0.5 m]
  {n}15: [E{n}1.1, E{n}2.1,   {c}/black, 1.5 mm2,  0.6 m]
  {n}16: [E{n}2.1, H{n}1.1,   {c}/black, 1.5 mm2,  0.6 m]
  {n}17: [E{n}1.2, X{n}1.ring, brown,    1.5 mm2,  0.4 m]
  {n}18: [E{n}2.2, X{n}1.ring, brown,    1.5 mm2,  0.4 m]
  {n}19: [H{n}1.2, X{n}1.ring, brown,    1.5 mm2,  0.4 m]
"""
TRACKS = """\
  {a}: [30, F{n}1, S{n}1, C{n}1.1, K{n}1 coil, X{n}2, 31]
  {b}: [E{n}3, 31]
  {d}: [30, F{n}2, K{n}1 contact, C{n}2, E{n}1, X{n}1, 31]
  {e}: [E{n}2]
  {f}: [H{n}1]
"""
EFFECTS = """\
  working lamp {n} lights: E{n}1 power >= 60 % of nominal, at bay {n}
  horn {n} sounds: H{n}1 power >= 55 % of nominal, at bay {n}
"""


def large_vehicle(branches: int = BRANCHES) -> str:
    """Return the circuit file of a vehicle with so many branches of twelve parts."""
    numbers = range(1, branches + 1)

    def each(text: str) -> str:
        lines = []
        for n in numbers:
            first = 5 * n - 4
            tracks = dict(zip("abdef", range(first, first + 5), strict=True))
            lines.append(text.format(n=n, c=COLOURS[(n - 1) % len(COLOURS)], **tracks))
        return "".join(lines)

    return (
        "format: circuit\nversion: 1\nid: large\n"
        "title: Working lamps all round\nvehicle: Tarrow Heft, lorry\n"
        "places:\n  engine bay: {reach: 1 min, again: 0.5 min}\n"
        "  fuse panel: {reach: 1 min, again: 0.5 min}\n"
        "  relay box: {reach: 2 min, again: 0.5 min}\n"
        "  dash: {reach: 3 min, again: 0.5 min}\n  bulkhead: {reach: 3 min, again: 0.5 min}\n"
        + each("  bay {n}: {{reach: {n} min, again: 0.5 min}}\n")
        + "parts:\n  B1: {kind: battery, capacity: 180 Ah, cold cranking: 1000 A, charge: 90 %,"
        " at: engine bay}\n  X1: {kind: ground stud, at: engine bay}\n"
        + each(PARTS)
        + 'rails:\n  "30": B1.+ through a 150 A link\n  "31": body\n'
        + "controls:\n"
        + each("  lamps {n}: {{off, on, sets: S{n}1}}\n")
        + "wires:\n  1: [B1.-, X1.ring, black, 50 mm2, 0.5 m]\n"
        + each(WIRES)
        + "effects:\n"
        + each(EFFECTS)
        + "diagram:\n"
        + each(TRACKS)
    )
