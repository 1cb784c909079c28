"""What moves: whether anything in the circuit changes with time, and readings of its curve.

A steady state does not see a switched or alternating element; an instrument that does needs the
circuit's curve in time. `traced` is the one place where a curve is asked for.
"""

from __future__ import annotations

from sim.errors import ActionError
from sim.network import CONDUCTANCE, WAVE, Floats
from sim.view import View


def moves(view: View) -> bool:
    """Tell whether any element in circuit, on any variant, changes with time."""
    on = view.rows[..., CONDUCTANCE] > 0.0
    return bool((on & (view.rows[..., WAVE] != 0.0)).any())


def measured(view: View, figure: str) -> Floats:
    """Return rms (V), frequency (Hz) or duty (%) of the meter's own curve, for every variant."""
    return traced(view, figure)


def traced(_view: View, what: str) -> Floats:
    """Return figures of the circuit's curve in time.

    Raises
    ------
    ActionError
        Always, as long as the bench solves steady states only.
    """
    raise ActionError(f"the oscilloscope is not on this bench yet; {what} needs a curve in time")
