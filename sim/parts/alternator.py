r"""Alternator with rectifier and regulator: stud B+, lamp terminal L, case on ring 31.

Two models share one topology; each is in circuit in one kind of solution.

Steady state. The regulator holds Vset: B+ is fed by ``i = (Vset - V) / 5 mohm``, kept from 0 to
what the speed n makes available. At full field the EMF goes with n and so does the stator's
reactance; with diodes the current is in phase with the voltage, so ``E^2 = V^2 + (w L I)^2`` and

    I(n) = I_rated sqrt(1 - (n0 / n)^2),   n0 where it begins to charge        (derived here)

Nothing flows back. The winding's EMFs are SINE, so the rectifier sees none of them; it is in
circuit all the same and carries what leaks back through a shorted diode.

Waveform. The element of the steady state (`regulated`) and the one that lifts L (`exciter`) are
SWITCHED for a share of 0: out of circuit as soon as there is time. Three windings of EMF ``e = A
sin 2 pi (p n / 60 t + k / 3)``, R and L in star feed six diodes to B+ and 31, and three small ones
to L. The regulator is an averaged field: a curve sets A for the current that the steady state
takes (`sim.instruments.charging`). Elements by themselves have ``A = Vset / sqrt(3)``, with which
the voltage between two windings just comes up to Vset and nothing flows (derived here).

L follows from the rated current. Far above n0 the reactance alone limits it, and it goes with n as
the EMF at full field ``V n / n0`` does:

    I_rated = V / (0.74 w0 L),  V = 0.45 (Vset + 2 Vd)

(0.45 = sqrt(2) / pi and 0.74 = pi / sqrt(18): fundamental of six-step voltage and current, textbook
power electronics, from memory.)

L: standing, or turning without charge, the field winding sinks the lamp's current: the lamp is
lit. Charging, L lies at B+ and the lamp is dark. With the field or the regulator open neither
happens: no charge and no lamp. It excites itself here whether or not the lamp has fed it.

A position's value is the speed of the *engine*; "off" or any position without a number is 0.
"""

from __future__ import annotations

import math
from dataclasses import dataclass

from sim.circuit import Part
from sim.parts.family import (
    Element,
    Family,
    Law,
    Motion,
    Parameter,
    Trigger,
    Wave,
    Way,
    conductance,
    joint,
    joint_ways,
)
from sim.parts.positions import Stand, stands
from sim.parts.ring import ring, ring_ways

REGULATION = 5e-3  # ohm by which the voltage sags with the current; ours
EXCITER = 0.05  # ohm between B+ and L while charging; ours
BESIDE = 1e-3  # S, what the regulator's own electronics take beside its limits; ours
RECTIFIER = (1e-8, 0.045, 0.0)  # A and n Vt of a 50 A press-fit diode: 1 V at 50 A; from memory
SMALL_DIODE = (1e-9, 0.045, 0.0)
DIODE_DROP = 0.95  # V of one rectifier diode at half load, by RECTIFIER
SHORTED_DIODE = 0.01  # ohm; at 80 A less is lost in it than in a whole one, 0.8 for 1 V; ours
SUPPRESSION = 2.2e-6  # F from B+ to the case, with 1 Gohm; common practice, no source
IRON = 100.0  # ohm across a winding: iron losses, which damp it while no diode conducts; ours
INSULATION = 1e6  # ohm from the windings to the case; common practice, no source
SIX_STEP_VOLTS = math.sqrt(2) / math.pi  # phase rms over direct voltage
SIX_STEP_AMPS = math.pi / math.sqrt(18)  # phase rms over direct current
LEFT_WITH_DIODE_OPEN = 0.65  # share of the current; common practice, no source
LEFT_WITH_DIODE_SHORTED = 0.4
#: Only in a steady state: as soon as there is time it is open.
STEADY_ONLY = Motion(wave=Wave.SWITCHED, amplitude=0.0, frequency=1.0)


@dataclass(frozen=True, slots=True)
class Turning:
    """The alternator at one speed.

    Attributes
    ----------
    available : float
        Most current in A; 0 where it does not charge.
    setting : float
        Voltage in V that the regulator holds.
    amplitude, frequency : float
        EMF of one winding by itself, V (peak) and Hz.
    """

    available: float
    setting: float
    amplitude: float
    frequency: float


def available_current(rated: float, speed: float, begins: float) -> float:
    """Return the most current in A at a speed; any unit of speed, the same for both."""
    return rated * math.sqrt(1.0 - (begins / speed) ** 2) if speed > begins else 0.0


def electrical_frequency(part: Part, speed: float) -> float:
    """Return the frequency of the windings in Hz at an engine speed in rad/s."""
    ratio = part.number("speed at 1000 rpm") / (1000.0 * 2 * math.pi / 60)
    return part.number("pole pairs") * ratio * speed / (2 * math.pi)


def stator_inductance(part: Part) -> float:
    """Return the inductance of one winding in H, from the rated current."""
    angular = 2 * math.pi * electrical_frequency(part, part.number("cut-in"))
    volts = SIX_STEP_VOLTS * (part.number("voltage") + 2 * DIODE_DROP)
    return volts / (angular * SIX_STEP_AMPS * part.number("current"))


def _turning(part: Part, engine_speed: float, told: float | None) -> Turning:
    speed = engine_speed * (1.0 - (part.severity("belt slipping") or 0.0))
    if part.has("belt off"):
        speed = 0.0
    begins = part.number("cut-in")
    dead = part.has("regulator open") or part.has("field open") or speed <= begins
    frequency = electrical_frequency(part, speed)
    if dead:
        return Turning(0.0, part.number("voltage"), 0.0, frequency)
    setting = part.severity("regulator shorted") or told or part.number("voltage")
    share = LEFT_WITH_DIODE_OPEN if part.has("diode open") else 1.0
    share *= LEFT_WITH_DIODE_SHORTED if part.has("diode shorted") else 1.0
    available = share * available_current(part.number("current"), speed, begins)
    return Turning(available, setting, setting / math.sqrt(3), frequency)


def _rectifier(part: Part) -> list[Element]:
    name, found = part.name, []
    plus, ground, lamp = f"{name}.B+b", f"{name}.31b", f"{name}.Lb"
    for phase in "UVW":
        end = f"{name} {phase}"
        whole = 0.0 if phase == "U" and part.has("diode open") else 1.0
        found += [
            Element(f"{name} {phase} plus", end, plus, whole, law=Law.DIODE, shape=RECTIFIER),
            Element(f"{name} {phase} minus", ground, end, 1.0, law=Law.DIODE, shape=RECTIFIER),
            Element(f"{name} {phase} small", end, lamp, 1.0, law=Law.DIODE, shape=SMALL_DIODE),
        ]
        found.append(Element(f"{name} {phase} iron", end, f"{name} star", conductance(IRON)))
    leak = SHORTED_DIODE if part.has("diode shorted") else part.severity("diode leaks")
    siemens = 0.0 if leak is None else conductance(leak)
    return [
        *found,
        Element(f"{name} U leak", f"{name} U", plus, siemens),
        Element(
            f"{name} capacitor",
            plus,
            ground,
            1e-9,
            motion=Motion(capacitance=SUPPRESSION),
        ),
        Element(f"{name} insulation", f"{name} star", ground, conductance(INSULATION)),
    ]


def _windings(part: Part, stand: Stand, turning: Turning) -> list[Element]:
    name, siemens = part.name, conductance(part.number("winding"))
    inductance = stator_inductance(part)
    wave = Wave.SINE if turning.amplitude > 0.0 else Wave.NONE
    return [
        Element(
            f"{name} {phase} winding{stand.label}",
            f"{name} {phase}",
            f"{name} star",
            siemens,
            positions=stand.gate,
            motion=Motion(
                inductance=inductance,
                wave=wave,
                amplitude=turning.amplitude,
                frequency=turning.frequency,
                phase=-number / 3,
            ),
        )
        for number, phase in enumerate("UVW")
    ]


def _steady(part: Part, stand: Stand, turning: Turning) -> list[Element]:
    """Return what is in circuit in one position: regulated output, exciter, field."""
    name, charging = part.name, turning.available > 0.0
    plus, ground, lamp = f"{name}.B+b", f"{name}.31b", f"{name}.Lb"
    worn = Trigger.VIBRATION if part.has("worn brushes") else Trigger.NEVER
    field_broken = part.has("regulator open") or part.has("field open")
    field = 0.0 if charging or field_broken else conductance(part.number("field"))
    return [
        Element(
            f"{name} regulated{stand.label}",
            plus,
            ground,
            conductance(REGULATION) if charging else 0.0,
            turning.setting,
            Law.LIMITER,
            (turning.available, 0.0, BESIDE),
            positions=stand.gate,
            trigger=worn,
            motion=STEADY_ONLY,
        ),
        Element(
            f"{name} exciter{stand.label}",
            plus,
            lamp,
            conductance(EXCITER) if charging else 0.0,
            positions=stand.gate,
            trigger=worn,
            motion=STEADY_ONLY,
        ),
        Element(
            f"{name} field{stand.label}", lamp, ground, field, positions=stand.gate, trigger=worn
        ),
    ]


def _pins(_part: Part) -> tuple[str, ...]:
    return ("B+", "L", "31")


def alternator_elements(
    part: Part, _temperature: float, setting: float | None = None
) -> tuple[Element, ...]:
    """Return every branch of an alternator that holds `setting` V; its parameter's if None."""
    elements = [ring(part, "B+"), joint(part, "L"), ring(part, "31"), *_rectifier(part)]
    for stand in stands(part, "rotation", part.number("speed")):
        turning = _turning(part, stand.value, setting)
        elements += [*_windings(part, stand, turning), *_steady(part, stand, turning)]
    return tuple(elements)


def alternator_ways(_part: Part) -> tuple[Way, ...]:
    """Return how an alternator fails."""
    return (
        Way("regulator open", None, (), 1.0),
        Way("regulator shorted", None, (16.5, 17.5), 0.6, "voltage"),
        Way("field open", None, (), 0.5),
        Way("worn brushes", None, (), 1.0, seen="brush dust round the slip rings"),
        Way("diode open", None, (), 0.5),
        Way("diode shorted", None, (), 0.3),
        Way("diode leaks", None, (20.0,), 0.3),
        Way("belt slipping", None, (0.4,), 0.6, "fraction", "the belt is slack and shiny", 1.0),
        Way("belt off", None, (), 0.2, seen="the belt is missing"),
        *ring_ways("B+"),
        *ring_ways("31", likelihood=0.3),
        *joint_ways("L"),
    )


FAMILY = Family(
    "alternator",
    {
        "voltage": Parameter("voltage", 14.2),
        "current": Parameter("current", 80.0),
        "cut-in": Parameter("rotation", 550 * 2 * math.pi / 60),
        "speed": Parameter("rotation", 0.0),
        "speed at 1000 rpm": Parameter("rotation", 2700 * 2 * math.pi / 60),
        "pole pairs": Parameter("number", 6.0),
        "winding": Parameter("resistance", 0.03),
        "field": Parameter("resistance", 3.3),
    },
    _pins,
    alternator_elements,
    alternator_ways,
    separable=True,
    probing="open",
    setting="rotation",
)
