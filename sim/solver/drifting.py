"""What hardly moves within a round and still drifts: filaments and motors, by their own law.

Over a round the temperature of a filament or the back-EMF of a motor changes by a little, and the
law of the element says what voltage, held, would have changed it by as much: for a filament ``V^2 =
R (C dT/dt + P(T))``, its mean square over the round; for a motor ``v = e + (load(e) + C de/dt) /
g``, its mean. With that voltage held the same law leads on, over many rounds or to its rest
(averaging, as in Sanders, Verhulst & Murdock, Averaging Methods in Nonlinear Dynamical Systems,
2007). Steps are of Alexander's method (`sim.solver.advance`).

Whether the voltage stays while the element drifts is for those to find out who go on so.
"""

from __future__ import annotations

import math

from sim.compiled import compiled
from sim.network import Floats
from sim.solver.advance import MOTOR, moving_motor
from sim.solver.elementary import power
from sim.solver.filament import GROWTH, ROOM, given_off, steady_kelvin, warming_lamp
from sim.solver.stage import CAPACITANCE, D

PARTS = 32  # steps in which an element is led on; ours
RIGID = 1e12  # V per A, or so, of a stage without an end


@compiled
def held_volts(law: int, own: Floats, state: float, change: float, seconds: float) -> float:
    """Return the voltage that, held for so many s, changes a state by as much.

    Parameters
    ----------
    law : int
    own : float array (13,)
        Row of the element.
    state, change : float
        Back-EMF in V or temperature in K after that time, and by how much it has changed.
    seconds : float
    """
    rate = change * own[CAPACITANCE] / seconds  # A or W
    if law == MOTOR:
        turns = abs(state)
        load = own[2] + own[3] * turns + own[4] * turns * turns
        return float(state + (math.copysign(load, state) + rate) / own[0])
    ohms = own[2] * power(max(state, ROOM) / ROOM, GROWTH)
    lost = given_off(ohms, own[2], own[3], own[4])[0]
    return math.sqrt(max(rate + lost, 0.0) * ohms)


@compiled
def returning(law: int, own: Floats, state: float, volts: float, seconds: float) -> float:
    """Return what share of its way to rest a state near it goes in so many s, if it is small."""
    per = seconds / own[CAPACITANCE]
    if law == MOTOR:
        return float(per * (own[0] + own[3] + 2.0 * own[4] * abs(state)))
    hot = max(state, ROOM)
    ohms = own[2] * power(hot / ROOM, GROWTH)
    lost, exponent = given_off(ohms, own[2], own[3], own[4])
    return float(per * GROWTH / hot * (volts * volts / ohms + exponent * lost))


@compiled
def rest(law: int, own: Floats, volts: float) -> float:
    """Return where a voltage that is held leads a state in the end."""
    if law == MOTOR:
        return moving_motor(volts, own[0], RIGID, 0.0, own[2], own[3], own[4])[2]
    return float(steady_kelvin(volts, own[2], own[3], own[4]))


@compiled
def led_on(law: int, own: Floats, state: float, volts: float, seconds: float) -> float:
    """Return where a voltage that is held leads a state in so many s."""
    h = seconds / PARTS
    per = D * h / own[CAPACITANCE]
    for _ in range(PARTS):
        past = state
        for part in range(2):
            if law == MOTOR:
                now = moving_motor(volts, own[0], per, past, own[2], own[3], own[4])[2]
            else:
                now = warming_lamp(volts, own[2], own[3], own[4], per, past, past)[2]
            if part == 0:
                past = state + (1.0 - D) / D * (now - state)
        state = now
    return state
