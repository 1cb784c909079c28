"""What is left over: a solution put back into Kirchhoff's law and into the elements' own laws.

Written a second time, in whole arrays and without the kernel, so that a slip there shows here.
"""

from __future__ import annotations

import numpy as np

from sim.network import CONDUCTANCE, EMF, LEADS, SHAPE, Floats, Ints, Network
from sim.parts.family import CURVED, Law
from sim.parts.relay import STUCK_CLOSED
from sim.solver.laws import GMIN

RELATIVE = 1e-9  # of each element's own voltage, allowed before anything counts


def current_residual(
    network: Network, leak: float, attached: Ints, volts: Floats, current: Floats
) -> tuple[Floats, Floats]:
    """Return what currents leave over, in A, and what flows out of the leads.

    Parameters
    ----------
    leak : float
        Conductance in S from every point to the body.
    attached : int array (L, 4)
        Node each lead is on, -1 for nowhere.
    volts, current : float arrays (L, N), (L, E)

    Returns
    -------
    worst : float array (L,)
        The largest sum of currents out of any node but the body, A.
    carried : float array (L, 4)
        Current from each lead's end into the instrument, A; 0 for a loose lead.
    """
    nodes, elements = len(network.nodes), len(network.elements)
    first_lead = nodes - len(LEADS)
    leaves = np.zeros((elements, nodes))
    leaves[np.arange(elements), network.ends[:, 0]] += 1.0
    leaves[np.arange(elements), network.ends[:, 1]] -= 1.0
    balance = current @ leaves
    balance[:, :first_lead] += leak * volts[:, :first_lead]
    carried = np.where(attached >= 0, balance[:, first_lead:], 0.0)
    for which in range(len(LEADS)):
        on = np.flatnonzero(attached[:, which] >= 0)
        balance[on, first_lead + which] = 0.0
        balance[on, attached[on, which]] += carried[on, which]
    return np.abs(balance[:, 1:]).max(axis=1), carried


def live_conductances(network: Network, rows: Floats, closed: Ints, blown: Ints) -> Floats:
    """Return the conductance (L, E) in S that each straight element has in its state."""
    siemens = rows[..., CONDUCTANCE].copy()
    contacts = network.laws == Law.CONTACT
    stuck = rows[:, contacts, SHAPE + 1]
    at_rest = rows[:, contacts, SHAPE] == 1.0
    shut = (closed[:, network.relays[contacts]] == 1) != at_rest
    siemens[:, contacts] *= (stuck == STUCK_CLOSED) | (shut & (stuck == 0.0))
    fuses = network.laws == Law.FUSE
    siemens[:, fuses] *= blown[:, network.fuses[fuses]] == 0
    return siemens


def law_residual(
    network: Network, rows: Floats, live: Floats, drop: Floats, current: Floats
) -> Floats:
    """Return by how many V each lane's worst element misses its law, beyond 1e-9 of its own drop.

    Parameters
    ----------
    rows : float array (L, E, 5); live : float array (L, E), of `live_conductances`
    drop, current : float arrays (L, E)
    """
    curved = np.isin(network.laws, CURVED)
    miss = np.zeros(drop.shape)
    off = live == 0.0
    straight = ~curved & ~off
    miss[straight] = (drop - rows[..., EMF])[straight] - current[straight] / live[straight]
    miss[:, curved] = _curved_miss(network, rows, drop, current)[:, curved]
    miss[off] = np.where(current[off] == 0.0, 0.0, np.inf)
    return _worst(np.abs(miss) - RELATIVE * np.abs(drop))


def _curved_miss(network: Network, rows: Floats, drop: Floats, current: Floats) -> Floats:
    """Return the voltage by which curved elements miss, to first order; 0 elsewhere."""
    miss = np.zeros(drop.shape)
    across = drop - rows[..., EMF]
    laws = {
        Law.LAMP: _lamp_miss,
        Law.DIODE: _diode_miss,
        Law.MOTOR: _motor_miss,
        Law.LIMITER: _limiter_miss,
    }
    for law, missed in laws.items():
        mine = network.laws == law
        miss[:, mine] = missed(rows[:, mine], across[:, mine], current[:, mine])
    miss[rows[..., CONDUCTANCE] == 0.0] = 0.0
    return miss


def _lamp_miss(rows: Floats, volts: Floats, current: Floats) -> Floats:
    cold, k, beta = np.moveaxis(rows[..., SHAPE:], -1, 0)
    miss: Floats = volts - (cold + k * np.abs(volts) ** beta) * current
    return miss


def _diode_miss(rows: Floats, volts: Floats, current: Floats) -> Floats:
    saturation, slope = np.moveaxis(rows[..., SHAPE : SHAPE + 2], -1, 0)
    grown = np.exp(np.minimum(volts / slope, 200.0))
    lawful = saturation * (grown - 1.0) + GMIN * volts
    miss: Floats = (lawful - current) / (saturation * grown / slope + GMIN)
    return miss


def _motor_miss(rows: Floats, volts: Floats, current: Floats) -> Floats:
    """Return the voltage missing between the terminals: turning, V = R I + E with I(E)."""
    g, _emf, start, b, q = np.moveaxis(rows, -1, 0)
    amps = np.abs(current)
    with np.errstate(divide="ignore", invalid="ignore"):
        back = np.abs(volts) - amps / g  # what is left over for the back-EMF
        load = start + b * back + q * back * back
        turning = (load - amps) / (b + 2 * q * back + g)
        stalled = np.abs(volts) - amps / g
    miss: Floats = np.where(amps > start, turning, stalled)
    return miss


def _limiter_miss(rows: Floats, volts: Floats, current: Floats) -> Floats:
    g, _emf, low, high, beyond = np.moveaxis(rows, -1, 0)
    lawful = np.clip(g * volts, -low, high) + beyond * volts
    with np.errstate(divide="ignore", invalid="ignore"):
        miss: Floats = (lawful - current) / (g + beyond)
    return miss


def node_residual(network: Network, attached: Ints, volts: Floats, drop: Floats) -> Floats:
    """Return by how many V the drops fail to be differences of node voltages, beyond 1e-9 of each.

    Drops between leads of which one is loose are not looked at: that end is at no voltage.
    """
    a, b = network.ends[:, 0], network.ends[:, 1]
    points = len(network.nodes) - len(LEADS)
    on = np.concatenate([np.ones((len(volts), points), dtype=bool), attached >= 0], axis=1)
    miss = np.abs(volts[:, a] - volts[:, b] - drop) - RELATIVE * np.abs(drop)
    return _worst(np.where(on[:, a] & on[:, b], miss, 0.0))


def _worst(miss: Floats) -> Floats:
    worst: Floats = np.maximum(miss.max(axis=1), 0.0)
    return worst
