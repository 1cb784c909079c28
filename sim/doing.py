"""One thing done at the bench, as data: which verb, to what, with which leads and settings.

`sim.action.Action` is the same with its JSON; instruments take this one, so that the list of all
verbs may know the instruments and no instrument need know the list.
"""

from __future__ import annotations

from dataclasses import dataclass


@dataclass(frozen=True, slots=True)
class Doing:
    """One thing done at the bench.

    Attributes
    ----------
    verb : str
        One of `sim.action.VERBS`.
    target : str
        Part, place, effect or wire the verb needs; the meter's function for `measure`, the size of
        a load, the rating a battery is tested against.
    red, black : str
        Points of the leads, or the two ends of a jumper, or two parts to swap.
    settings : tuple of (control, position)
        For set and listen; for a reading taken `while` controls are operated, those controls.
    seconds : float
        For wait.
    options : tuple of (name, text)
        What an instrument can be set to beyond that: the jumper's fuse, the oscilloscope's knobs.
    """

    verb: str
    target: str = ""
    red: str = ""
    black: str = ""
    settings: tuple[tuple[str, str], ...] = ()
    seconds: float = 0.0
    options: tuple[tuple[str, str], ...] = ()

    def option(self, name: str, otherwise: str = "") -> str:
        """Return the text of an option, `otherwise` where it is not given."""
        return dict(self.options).get(name, otherwise)
