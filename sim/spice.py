"""One operating point as a netlist for ngspice, which then solves it by its own devices.

One SPICE node for each point, the body being 0, and 1 Tohm from every point to the body; the ends
of leads that are put on have no such leak. What each element becomes:

- anything of constant resistance: a current-controlled voltage source that is controlled by its
  own current (`H1 a b H1 0.003`), which is a resistor with its current as an unknown. A plain R
  adds some 300 S to the leak of 1 pS on the matrix diagonal, where 1 pS drowns: with the
  battery's ground off, ngspice 39 then has all points wrong by half a volt. For the same reason a
  pivot may not be small beside the rest of its column (pivrel);
- an EMF with its resistance: V and H in series. This adds one node, which carries no leak;
- a lamp: a behavioural source, `I = V / (c + k |V| ^ beta)`. The 1e-30 in the base keeps ngspice's
  derivative of a power finite at no voltage;
- a motor, a limiter: behavioural sources with the equations of `sim.solver.laws`; a limiter's EMF
  is a source of its own, because ngspice, finding no way at once, steps up only such sources, and
  its voltage follows its current, so that its conductance drowns no leak either;
- a diode: D with saturation current and emission coefficient, no series resistance, and a
  behavioural source beside it. Below -3 n Vt ngspice takes ``-Is (1 + (3 n Vt / (e V))^3)`` in
  place of Shockley's ``-Is (1 - exp(V / n Vt))`` (its manual on diodes, from memory; measured in
  ngspice 39), as much as Is / 250 too little: an island that hangs on diodes alone is then off by
  a millivolt. What the source carries is the difference. All diodes start as blocking (off):
  ngspice chooses its pivots at the first step and keeps them, and chosen for diodes that conduct,
  as it starts otherwise, they drown the leaks of an island behind blocking ones, or leave its
  last steps of gmin without an end;
- a diode beyond an EMF (a clamp): D between a node outside the circuit, at the voltage across it
  less the EMF, and 0; a controlled source (F) carries its current between its ends. A source of
  40 V inside an island that hangs on leaks would round them away: 1e-15 of 40 V over 2 ohm is as
  much as they carry at a millivolt;
- a relay contact: a switch with hysteresis (S) whose model holds pull-in and drop-out in amperes,
  controlled by a node outside the circuit at 1 V for each ampere of coil current, whichever way
  it flows. The W switch, controlled by a current directly, forgets in ngspice 39 that it started
  as ON.

Opens are left out. What the netlist takes from outside is history alone: which fuses have blown,
and whether a relay between drop-out and pull-in is in or out (ON or OFF behind the switch).
"""

from __future__ import annotations

import math
import re
from collections.abc import Iterable, Sequence
from dataclasses import dataclass

from sim.network import COLUMNS, CONDUCTANCE, EMF, LEADS, SHAPE, Floats, Ints, Network
from sim.parts.family import Law
from sim.parts.relay import STUCK_CLOSED, STUCK_OPEN
from sim.solver.steady import LEAD_RESISTANCE, LEAK

TEMPERATURE = 27.0  # degC of the simulated silicon; a diode's n Vt does not depend on it here
THERMAL_VOLTAGE = 1.380649e-23 * (TEMPERATURE + 273.15) / 1.602176634e-19  # V, SI Brochure 2.3.1
OPEN = 1e30  # ohm, an open switch; ngspice's own 1 Tohm would be another leak
OPTIONS = (
    f".options reltol=1e-9 vntol=1e-9 abstol=1e-12 gmin=1e-12 pivrel=0.9 itl1=500 "
    f"temp={TEMPERATURE!r} tnom={TEMPERATURE!r}"
)


@dataclass(frozen=True, slots=True)
class Held:
    """What the circuit remembers, and where leads are: one lane of `sim.solver.steady.Lanes`.

    Attributes
    ----------
    closed : int array (R,), blown : int array (F,)
        1 for a relay pulled in, 1 for a fuse blown, in the steady state that is exported.
    attached : sequence of 4 int
        Node of red, black, jumper from, jumper to; -1 for nowhere.
    """

    closed: Ints
    blown: Ints
    attached: Sequence[int] = (-1, -1, -1, -1)


def spice_names(names: Iterable[str]) -> list[str]:
    """Return names that SPICE reads as one word, each different from the others."""
    taken: dict[str, None] = {}
    for name in names:
        plain = name.lower().replace("+", "plus").replace("-", "minus")
        plain = re.sub(r"[^a-z0-9]", "_", plain)
        base = plain if plain[:1].isalpha() else f"n{plain}"
        word, number = base, 2
        while word in taken or word == "gnd":  # ngspice takes gnd for 0
            word, number = f"{base}_{number}", number + 1
        taken[word] = None
    return list(taken)


def node_names(network: Network) -> list[str]:
    """Return the SPICE node of every point; the body is node 0."""
    return ["0", *spice_names(network.nodes[1:])]


def write_netlist(network: Network, row: Floats, held: Held, title: str) -> str:
    """Return the netlist of one variant in one state.

    Parameters
    ----------
    network : Network
    row : float array (E, 5)
        Of the variant as configured, the instrument's four rows last.
    held : Held
    title : str
        One line; what the netlist shows.
    """
    writer = _Writer(network, row, held)
    used = [node for node in range(1, len(network.nodes)) if writer.in_circuit(node)]
    points = [f"* {writer.nodes[node]} = {network.nodes[node]}" for node in used]
    leaks = [
        f"Rleak{node} {writer.nodes[node]} 0 {1 / LEAK!r}"
        for node in used
        if node < writer.first_lead
    ]
    prints = [f"print v({writer.nodes[node]})" for node in used]
    lines = [
        f"* {' '.join(title.split())}",
        "* nodes and the points they are; the body is 0",
        *points,
        *(line for number in range(len(network.elements)) for line in writer.element(number)),
        *writer.leads(),
        "* 1 Tohm from every point to the body",
        *leaks,
        OPTIONS,
        ".control",
        "set numdgt=15",
        "op",
        *prints,
        ".endc",
        ".end",
    ]
    return "\n".join(lines) + "\n"


class _Writer:
    """Writes the elements of one variant."""

    def __init__(self, network: Network, row: Floats, held: Held) -> None:
        self.network, self.row, self.held = network, row, held
        self.names = spice_names(element.name for element in network.elements)
        inner = [f"{element.name} inner" for element in network.elements]
        words = ["0", *spice_names([*network.nodes[1:], *inner])]
        self.nodes, self.inner = words[: len(network.nodes)], words[len(network.nodes) :]
        self.first_lead = len(network.nodes) - len(LEADS)

    def in_circuit(self, node: int) -> bool:
        """Tell whether a node is a point, or the end of a lead that is put on."""
        return node < self.first_lead or self.held.attached[node - self.first_lead] >= 0

    def element(self, number: int) -> list[str]:
        """Return the lines of one element; none for an open one."""
        a, b = self.network.ends[number].tolist()
        if self.row[number, CONDUCTANCE] == 0.0 or not self.in_circuit(a) or not self.in_circuit(b):
            return []
        law = Law(int(self.network.laws[number]))
        if law is Law.FUSE and self.held.blown[self.network.fuses[number]]:
            return []
        written = {
            Law.LAMP: self.lamp,
            Law.DIODE: self.diode,
            Law.MOTOR: self.motor,
            Law.LIMITER: self.limiter,
            Law.CONTACT: self.contact,
        }
        return written.get(law, self.straight)(number)

    def ends(self, number: int) -> str:
        a, b = self.network.ends[number].tolist()
        return f"{self.nodes[a]} {self.nodes[b]}"

    def straight(self, number: int) -> list[str]:
        name, emf = self.names[number], float(self.row[number, EMF])
        ohms = float(1 / self.row[number, CONDUCTANCE])
        if emf == 0.0:
            return [f"H{name} {self.ends(number)} H{name} {ohms!r}"]
        a, b = self.ends(number).split()
        inner = self.inner[number]
        return [f"V{name} {a} {inner} {emf!r}", f"H{name} {inner} {b} H{name} {ohms!r}"]

    def lamp(self, number: int) -> list[str]:
        cold, k, beta = self.row[number, SHAPE:COLUMNS].tolist()
        volts = self.across(number)
        resistance = f"({cold!r}+{k!r}*(abs({volts})+1e-30)^{beta!r})"
        return [f"B{self.names[number]} {self.ends(number)} I={volts}/{resistance}"]

    def diode(self, number: int) -> list[str]:
        name, emf = self.names[number], float(self.row[number, EMF])
        a, b = self.ends(number).split()
        device = [f"D{name} {a} {b} {name} off"]
        if emf != 0.0:
            shown, across = f"{self.inner[number]}_shown", self.inner[number]
            device = [
                f"E{name} {shown} 0 {a} {b} 1",
                f"V{name} {shown} {across} {emf!r}",
                f"D{name} {across} 0 {name} off",
                f"F{name} {a} {b} V{name} 1",
            ]
        return [*device, self.model(number), self.backward(number)]

    def model(self, number: int) -> str:
        """Return the model of a diode."""
        saturation, slope = self.row[number, SHAPE : SHAPE + 2].tolist()
        emission = slope / THERMAL_VOLTAGE
        return f".model {self.names[number]} D(is={saturation!r} n={emission!r})"

    def backward(self, number: int) -> str:
        """Return what Shockley's diode carries beyond ngspice's, far enough backwards."""
        saturation, slope = self.row[number, SHAPE : SHAPE + 2].tolist()
        volts = f"min({self.across(number)},{-3.0 * slope!r})"
        cubic = f"({3.0 * slope / math.e!r}/{volts})"
        amps = f"{saturation!r}*(exp({volts}/{slope!r})+{cubic}*{cubic}*{cubic})"
        return f"B{self.names[number]}_backward {self.ends(number)} I={amps}"

    def across(self, number: int) -> str:
        """Return the voltage across an element, beyond its EMF, in ngspice's words."""
        emf = float(self.row[number, EMF])
        volts = f"v({self.ends(number).replace(' ', ',')})"
        return volts if emf == 0.0 else f"({volts}-({emf!r}))"

    def motor(self, number: int) -> list[str]:
        g, _emf, start, b, q = self.row[number, :COLUMNS].tolist()
        volts, linear = self.across(number), 1.0 + b / g
        beyond = f"max(abs({volts})-{start / g!r},0)"
        back = f"(2*{beyond}/({linear!r}+sqrt({linear * linear!r}+{4 * q / g!r}*{beyond})))"
        turning = f"sgn({volts})*({start!r}+({b!r}+{q!r}*{back})*{back})"
        amps = f"abs({volts})<={start / g!r} ? {g!r}*{volts} : {turning}"
        return [f"B{self.names[number]} {self.ends(number)} I={amps}"]

    def limiter(self, number: int) -> list[str]:
        g, emf, low, high, beyond = self.row[number, :COLUMNS].tolist()
        name, ends, source = self.names[number], self.ends(number), []
        if emf != 0.0:
            a, b = ends.split()
            ends = f"{self.inner[number]} {b}"
            source = [f"V{name} {a} {self.inner[number]} {emf!r}"]
        a, b = ends.split()
        sense, amps, slope = f"{self.inner[number]}_amps", f"i(Vs{name})", g + beyond
        steep = 1.0 / beyond - 1.0 / slope
        volts = (
            f"{1.0 / slope!r}*{amps}+{steep!r}*max({amps}-{high * slope / g!r},0)"
            f"+{steep!r}*min({amps}+{low * slope / g!r},0)"
        )
        return [*source, f"Vs{name} {a} {sense} 0", f"B{name} {sense} {b} V={volts}"]

    def contact(self, number: int) -> list[str]:
        closed_at_rest, stuck = self.row[number, SHAPE : SHAPE + 2].tolist()
        relay = int(self.network.relays[number])
        if self.coilless(relay):  # rules hold it: its state is history
            on = (bool(self.held.closed[relay]) or stuck == STUCK_CLOSED) and stuck != STUCK_OPEN
            return self.straight(number) if on else []
        coil = self.coil(int(self.network.relays[number]))
        moves = self.row[coil, CONDUCTANCE] > 0.0
        if stuck == STUCK_OPEN or (stuck == 0.0 and not moves and not closed_at_rest):
            return []
        if stuck == STUCK_CLOSED or not moves:
            return self.straight(number)
        return self.switch(number, coil, closed_at_rest=bool(closed_at_rest))

    def coilless(self, relay: int) -> bool:
        """Tell whether a relay is a contact that a module's rules hold, without a coil."""
        pairs = zip(self.network.relays, self.network.laws, strict=True)
        return not any(r == relay and law == Law.COIL for r, law in pairs)

    def coil(self, relay: int) -> int:
        """Return the element that is a relay's coil."""
        pairs = zip(self.network.relays, self.network.laws, strict=True)
        return next(n for n, (r, law) in enumerate(pairs) if r == relay and law == Law.COIL)

    def switch(self, number: int, coil: int, *, closed_at_rest: bool) -> list[str]:
        name, relay = self.names[number], int(self.network.relays[number])
        pull_in, drop_out = self.row[coil, SHAPE : SHAPE + 2].tolist()
        middle, half = (pull_in + drop_out) / 2, (pull_in - drop_out) / 2
        ohms = float(1 / self.row[number, CONDUCTANCE])
        on, off = (OPEN, ohms) if closed_at_rest else (ohms, OPEN)
        volts, siemens = self.ends(coil).replace(" ", ","), float(self.row[coil, CONDUCTANCE])
        amps = self.inner[number]
        state = "ON" if self.held.closed[relay] else "OFF"
        return [
            f"B{name} {amps} 0 V=abs(v({volts}))*{siemens!r}",
            f"S{name} {self.ends(number)} {amps} 0 {name} {state}",
            f".model {name} sw(vt={middle!r} vh={half!r} ron={on!r} roff={off!r})",
        ]

    def leads(self) -> list[str]:
        """Return the leads that are put on, each with its resistance."""
        return [
            f"Hlead{which} {self.nodes[self.first_lead + which]} {self.nodes[node]} "
            f"Hlead{which} {LEAD_RESISTANCE!r}"
            for which, node in enumerate(self.held.attached)
            if node >= 0
        ]
