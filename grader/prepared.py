"""A case made ready for judging: suspects, test space, policy; kept on disk by content.

Exploring the test space takes seconds, reading it back milliseconds. The key is the content of
case and circuit and of every source file the test space depends on, so a stale file is never used.
Whoever stops the work (Ctrl-C) loses what came after the last report of progress; the next run goes
on from there (`grader.spacefile`). Programs that want the same case at the same time share the
work: one does it, the others wait for it (`grader.turn`).
"""

from __future__ import annotations

from collections.abc import Callable, Sequence
from pathlib import Path

import numpy as np

from grader.casefile import Case
from grader.contentkey import cache_folder, content_key
from grader.linedup import lined_up
from grader.outcomes import Progress, TestSpace, explore, problem_of
from grader.policy import Policy
from grader.seen import Observed
from grader.spacefile import Begun, load_space, save_space
from grader.suspects import Lineup, asked, corner_circuits, start_situation
from grader.turn import turn
from sim.observe import Fleet
from sim.situation import Memory, Situation


class Prepared:
    """A case ready for judging.

    Attributes
    ----------
    lineup : Lineup
    healthy : Fleet
        The healthy vehicle at every corner of what varies.
    space : TestSpace
        The plain readings that tell something.
    """

    def __init__(self, lineup: Lineup, healthy: Fleet, space: TestSpace) -> None:
        self.lineup, self.healthy, self.space = lineup, healthy, space
        self._policies: dict[tuple[str, ...], Policy] = {}
        self._observed: Observed | None = None
        self._healthy_memory: Memory | None = None

    @property
    def case(self) -> Case:
        """The case."""
        return self.lineup.case

    @property
    def start(self) -> Situation:
        """The bench at hand-over."""
        return start_situation(self.case)

    def healthy_memory(self) -> Memory:
        """Return the memory at hand-over of the healthy vehicles."""
        if self._healthy_memory is None:
            self._healthy_memory = self.healthy.fresh_memory(self.start)
        return self._healthy_memory

    @property
    def observed(self) -> Observed:
        """What actions show on all suspects and on the healthy vehicles, and what did lately."""
        if self._observed is None:
            self._observed = Observed(self.lineup.fleet, self.healthy, self.start)
        return self._observed

    def likelihoods(self, questions: Sequence[str] = ()) -> np.ndarray:
        """Return the suspects' likelihoods after these questions, summing to 1."""
        return asked(self.lineup, questions)

    def policy(self, questions: Sequence[str] = ()) -> Policy:
        """Return the policy under the likelihoods after these questions."""
        key = tuple(sorted(set(questions)))
        if key not in self._policies:
            problem = problem_of(self.lineup, self.space, self.likelihoods(key))
            self._policies[key] = Policy(problem)
        return self._policies[key]


def prepare(
    case: Case, folder: Path | None = None, tell: Callable[[Progress], None] | None = None
) -> Prepared:
    """Return a case ready for judging, from the cache if it is there.

    Parameters
    ----------
    folder : Path, optional
        Where test spaces are kept; the user's cache folder if not given.
    tell : callable, optional
        Is told how far the exploring has come, if there is anything to explore.
    """
    key = content_key(case)
    lineup = lined_up(case, folder, key)
    healthy = Fleet.of(corner_circuits(case), lineup.fleet.solver)
    file = cache_folder(folder) / f"{case.name}-{key}.json"
    space = load_space(file)
    if space is None:
        begun, tell = Begun(file), tell or _to_nobody
        with turn(file, _following(begun, tell)):
            space = load_space(file)
            if space is None:
                space = _explored(lineup, healthy, begun, tell)
                save_space(file, space)
                begun.remove()
    return Prepared(lineup, healthy, space)


def _explored(
    lineup: Lineup, healthy: Fleet, begun: Begun, tell: Callable[[Progress], None]
) -> TestSpace:
    """Explore a test space, from where it was left; keep what is found as it comes."""

    def keep(progress: Progress) -> None:
        begun.add(progress)
        tell(progress)

    return explore(lineup, healthy, begun.load(), keep)


def _following(begun: Begun, tell: Callable[[Progress], None]) -> Callable[[], None]:
    """Return what tells how somebody else gets on with a test space."""
    done = 0

    def look() -> None:
        nonlocal done
        progress = begun.latest()
        if progress is not None and progress.done > done:
            done = progress.done
            tell(progress)

    return look


def _to_nobody(_progress: Progress) -> None:
    """Tell nobody."""
