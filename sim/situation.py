"""The bench as the student has set it up, and what the vehicle remembers: both frozen.

The situation is the same for every suspect (controls, what is unplugged, where the leads are, the
clock); the memory differs from suspect to suspect (which relay has pulled in, which fuse has
blown), so it is an array with a row for every variant.
"""

from __future__ import annotations

import math
from dataclasses import dataclass, replace

from sim.circuit import Circuit
from sim.diagnosis.unit import UnitState
from sim.modules.held import Held
from sim.network import Configuration, Floats, Ints
from sim.parts.family import Trigger

WIPED_SECONDS = 2 * 3600.0  # s that a poor contact stays good after plugging; ours


@dataclass(frozen=True, slots=True)
class Situation:
    """How the bench stands.

    Attributes
    ----------
    controls : tuple of (control, position)
    apart : tuple of str
        Parts unplugged or pulled, in order of name.
    swapped : tuple of pairs
        Like parts that sit in each other's socket.
    renewed : tuple of str
        Fuses replaced by new ones.
    bridge : tuple of two points, or empty
        Where the fused jumper is.
    red, black : str
        Points the leads rest on; empty if in the air.
    reached, here : tuple of str
        Places reached so far; places the last action touched.
    minutes : float
        Labour so far (waiting counts a tenth).
    clock : float
        Seconds since hand-over, waiting included.
    changed : float
        Clock at the end of the last action that changed anything electrical.
    leads_zeroed : bool
        Whether the ohmmeter takes its leads' own resistance off.
    clamp_zeroed : float
        Clock when the clamp was zeroed last; infinite while it is zeroed with every use.
    jack : str
        Meter jack the red lead has been left in; empty while it goes with the function.
    jumper_fuse : float
        Rating in A of the fuse in the jumper.
    tried : tuple of str
        Parts beside which a known-good one is plugged to the harness.
    stressed : tuple of (part, what is done to it)
        Parts that are shaken, warmed or wetted now (see `sim.instruments.stress`).
    disturbed : tuple of (part, clock)
        Parts that have been plugged or put back, and when: it wipes a poor contact for a while.
    """

    controls: tuple[tuple[str, str], ...] = ()
    apart: tuple[str, ...] = ()
    swapped: tuple[tuple[str, str], ...] = ()
    renewed: tuple[str, ...] = ()
    bridge: tuple[str, ...] = ()
    red: str = ""
    black: str = ""
    reached: tuple[str, ...] = ()
    here: tuple[str, ...] = ()
    minutes: float = 0.0
    clock: float = 0.0
    changed: float = 0.0
    leads_zeroed: bool = True
    clamp_zeroed: float = math.inf
    jack: str = ""
    jumper_fuse: float = 15.0
    tried: tuple[str, ...] = ()
    stressed: tuple[tuple[str, Trigger], ...] = ()
    disturbed: tuple[tuple[str, float], ...] = ()

    @property
    def configuration(self) -> Configuration:
        """What matters to the network."""
        whole = (*self.renewed, *self.tried)
        wiped = tuple(part for part, when in self.disturbed if self.clock - when < WIPED_SECONDS)
        return Configuration(self.controls, self.apart, self.swapped, whole, self.stressed, wiped)

    def plugged(self, part: str) -> Situation:
        """Return the bench with a part's terminals wiped by plugging it just now."""
        others = tuple(pair for pair in self.disturbed if pair[0] != part)
        return replace(self, disturbed=(*others, (part, self.clock)))

    @property
    def rested(self) -> float:
        """Seconds since anything electrical changed; to the microsecond, as clocks are sums."""
        return round(self.clock - self.changed, 6)

    def position(self, circuit: Circuit, control: str) -> str:
        """Return the position a control is in; the first one if it was never touched."""
        return dict(self.controls).get(control, circuit.controls[control].positions[0])


@dataclass(frozen=True, slots=True)
class Memory:
    """What each variant of the vehicle remembers; a row for every variant.

    Attributes
    ----------
    closed, blown : int arrays (V, R), (V, F)
        1 for a relay that has pulled in, 1 for a fuse that has blown.
    heat : float array (V, F)
        Share of the heat that opens it, which each fuse's strip has taken up.
    drawn : float array (V, B)
        Charge in C that each battery has given since hand-over.
    woken : float array (V, U), powered : int array (V, U)
        Clock at which each unit that falls asleep was last woken, and 1 where it has supply.
    risen : float array (V, N)
        How far parts are above ambient, in K (see `sim.slowheat`).
    hottest : float array (V, P)
        The highest that each part's contacts have risen, in K: what has browned stays so.
    celsius : float array (V, T)
        Temperature of each thermistor that something warms (see `sim.slowtemperature`).
    damaged : tuple of tuples of str
        What else each variant has lost for good; empty while nothing is.
    units : tuple of tuples of UnitState
        What the control units of each variant carry; empty where there are none.
    modules : Held or None
        What control modules remember; None where there are none.
    """

    closed: Ints
    blown: Ints
    heat: Floats
    drawn: Floats
    woken: Floats
    powered: Ints
    risen: Floats
    hottest: Floats
    celsius: Floats
    damaged: tuple[tuple[str, ...], ...] = ()
    units: tuple[tuple[UnitState, ...], ...] = ()
    modules: Held | None = None
