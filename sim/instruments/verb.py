"""What an instrument is: its verbs, and for each of them all that anybody needs to know.

`sim.action` asks a verb for its JSON, `sim.access` for its price, `sim.handling` whether it can be
done and how the bench stands afterwards, `sim.observe` for what it shows of a solved circuit,
`sim.display` for the digits, `sim.cautions` for what to mind. Nobody else lists instruments.
"""

from __future__ import annotations

from collections.abc import Callable, Mapping
from dataclasses import dataclass, field

import numpy as np

from sim.care import Caution
from sim.circuit import Circuit
from sim.doing import Doing
from sim.errors import RulesError
from sim.instruments.counts import Scale
from sim.instruments.form import Form
from sim.network import Floats, Ints
from sim.reading import Reading
from sim.situation import Situation
from sim.view import View


@dataclass(frozen=True, slots=True)
class Scene:
    """An action about to be done at the bench as it stands."""

    circuit: Circuit
    situation: Situation
    doing: Doing

    @property
    def ends(self) -> set[str]:
        """The points the action names as leads or ends."""
        return {self.circuit.point(end) for end in (self.doing.red, self.doing.black) if end}


@dataclass(frozen=True, slots=True)
class Labour:
    """Where hands have to be for an action, and the minutes of handling there."""

    places: tuple[str, ...] = ()
    minutes: float = 0.0


@dataclass(frozen=True, slots=True)
class Shown:
    """What an instrument makes of the solutions; all empty for mere handling.

    Attributes
    ----------
    numbers : float array (V,) or None
        In SI, inf for over range.
    words : tuple of str, one a variant, or None
    floating : bool array (V,) or None
        Where a lead touches a wire that nothing holds at any voltage.
    also : tuple of (name, float array (V,))
        Further figures.
    damage : tuple of tuples of str
        What each variant lost for good; empty for nothing.
    """

    numbers: Floats | None = None
    words: tuple[str, ...] | None = None
    floating: np.ndarray | None = None
    also: tuple[tuple[str, Floats], ...] = ()
    damage: tuple[tuple[str, ...], ...] = ()

    def only(self, which: slice) -> Shown:
        """Return what some of the variants show."""
        return Shown(
            None if self.numbers is None else self.numbers[which],
            None if self.words is None else self.words[which],
            None if self.floating is None else self.floating[which],
            tuple((name, figures[which]) for name, figures in self.also),
            self.damage[which],
        )


@dataclass(frozen=True, slots=True)
class Outcome:
    """What every variant shows: `numbers` in SI (inf for OL) or `words`; neither for mere handling.

    Attributes
    ----------
    numbers : float array (V,) or None
    floating : bool array (V,)
        Where a lead touches a wire that nothing holds at any voltage.
    words : tuple of str, one a variant, or None
    harm : tuple of tuples of str
        What each variant lost by this action.
    unsolved : int array
        Variants that have no steady state now.
    also : tuple of (name, float array (V,))
        Further figures of the same display.
    restless : tuple of (RulesError or None)
        What of each variant's rules never rests; nothing where nobody looked.
    """

    numbers: Floats | None
    floating: np.ndarray
    words: tuple[str, ...] | None
    harm: tuple[tuple[str, ...], ...]
    unsolved: Ints
    also: tuple[tuple[str, Floats], ...] = ()
    restless: tuple[RulesError | None, ...] = ()

    def only(self, which: slice) -> Outcome:
        """Return what some of the variants show, numbered anew."""
        count = len(self.harm)
        lanes = np.arange(count)[which]
        return Outcome(
            None if self.numbers is None else self.numbers[which],
            self.floating[which],
            None if self.words is None else self.words[which],
            self.harm[which],
            np.flatnonzero(np.isin(lanes, self.unsolved)),
            tuple((name, figures[which]) for name, figures in self.also),
            self.restless[which],
        )

    def figure(self, name: str, lane: int) -> float:
        """Return a further figure of one variant."""
        return float(dict(self.also)[name][lane])


def _nothing_refused(_scene: Scene) -> None:
    """Let it pass."""


def _as_it_was(scene: Scene) -> Situation:
    return scene.situation


def _shows_nothing(_view: View) -> Shown:
    return Shown()


def _plain_words(
    _doing: Doing, _situation: Situation, outcome: Outcome, lane: int
) -> Reading | None:
    return None if outcome.words is None else Reading(words=outcome.words[lane])


def _no_scale(_doing: Doing) -> Scale | None:
    return None


def _no_cautions(_scene: Scene) -> tuple[Caution, ...]:
    return ()


@dataclass(frozen=True, slots=True)
class Verb:
    """One thing that can be done with an instrument, or by hand.

    Attributes
    ----------
    form : Form
        Its JSON, read and written.
    says : function of a `Doing`
        The same in plain words, as done.
    labour : function of a `Scene`
        Places and minutes of handling; raises ActionError where a lead cannot go.
    check : function of a `Scene`
        Raises ActionError, in one clear line, for what cannot be done.
    change : function of a `Scene`
        How the bench stands afterwards; the scene has places and clock already in it.
    read : function of a `View`
        What it makes of the solved circuit, with whatever it puts between the leads.
    show : function of doing, situation, outcome and lane
        One variant's numbers as the display shows them.
    scale : function of a `Doing`
        Unit, ranges and accuracy of its numbers; None where it shows words.
    cautions : function of a `Scene`
    leads : bool
        It changes nothing on the vehicle until its leads are on: contacts stay as they were.
    disturbs : bool
        It changes something electrical for longer than the reading lasts.
    """

    form: Form
    says: Callable[[Doing], str]
    labour: Callable[[Scene], Labour]
    check: Callable[[Scene], None] = _nothing_refused
    change: Callable[[Scene], Situation] = _as_it_was
    read: Callable[[View], Shown] = _shows_nothing
    show: Callable[[Doing, Situation, Outcome, int], Reading | None] = _plain_words
    scale: Callable[[Doing], Scale | None] = _no_scale
    cautions: Callable[[Scene], tuple[Caution, ...]] = _no_cautions
    leads: bool = False
    disturbs: bool = True


@dataclass(frozen=True, slots=True)
class Instrument:
    """An instrument, or a sense, or a pair of hands: its name and its verbs."""

    name: str
    verbs: Mapping[str, Verb] = field(default_factory=dict)
