"""What good and poor workers keep of a case's efficiency: how much it asks for.

Every worker plays every cause of the complaint, and the shares are weighed by the causes'
likelihoods. Off the best path each step asks for values nobody has searched for yet, so with many
suspects that is far more work than the best path itself. The work is counted in states looked at,
never by a clock, so that every machine says the same:

- a value that takes more than `LOOKS_A_VALUE` is left as bounds; the worker gets the benefit of the
  gap, so the share is then one at most
- causes are drawn by likelihood, with replacement, `DRAWS` of them by one seed, and played in this
  order, each once; then the others. Where a worker has cost `LOOKS` before all are played, what is
  kept is the mean over the draws played until then, each as often as it was drawn
"""

from __future__ import annotations

from collections.abc import Callable, Iterator, Mapping, Sequence
from dataclasses import dataclass
from math import ceil, inf, isfinite, sqrt
from statistics import fmean, stdev

from grader.game import Board, Game
from grader.prepared import Prepared
from grader.solvers import Forgetful, Player, greedy, parts_swapper, seeded

#: Workers whose share of the efficiency shows how much a case asks for.
WORKERS: Mapping[str, Player] = {
    "greedy, forgets nothing": greedy,
    "forgetful (skill 0.7)": Forgetful(0.7),
    "forgetful (skill 0.4)": Forgetful(0.4),
    "swaps parts": parts_swapper,
}
SEED = 1
DRAWS = 64  # causes drawn; a mean of shares then has a standard error of 6 % at most; ours
ALIKE = 1e-9  # of an efficiency: shares this close differ by the rounding of sums; ours
LOOKS, LOOKS_A_VALUE = 40_000, 10_000  # states, of a worker and of one value; ours

#: Is told causes played, and of how many.
Tell = Callable[[str, int, int], None]


@dataclass(frozen=True, slots=True)
class Kept:
    """What a worker keeps.

    Attributes
    ----------
    worker : str
    share : float
        Expected share of the efficiency, 0 to 1.
    played, causes : int
        How many causes were played, of how many; all, or those drawn.
    proven : bool
        Whether every value behind it is exact; if not the share is one at most.
    error : float
        Standard error of the share, 0 where all causes were played; infinite if it is not known.
    """

    worker: str
    share: float
    played: int
    causes: int
    proven: bool
    error: float = 0.0

    def words(self) -> str:
        """Return what has to be said of how the share was found; empty where it is exact."""
        said = []
        if self.played < self.causes:
            about = self._give_or_take()
            said.append(f"{self.played} of {self.causes} causes played, drawn by likelihood{about}")
        if not self.proven:
            said.append("at most: not every step could be searched to its end")
        return "; ".join(said)

    def _give_or_take(self) -> str:
        """Return how far the mean may be off, rounded up: 0 % would say that it is exact.

        Where all causes played keep the same the standard error is 0 and tells nothing of the
        others; what was seen is said then. Of a single cause there is nothing to say.
        """
        if self.played == 1 or not isfinite(self.error):
            return ""
        if self.error < ALIKE:
            return ": all of these keep the same"
        return f": give or take {ceil(100.0 * self.error - ALIKE)} %"


def workers_keep(
    prepared: Prepared,
    tell: Tell | None = None,
    *,
    looks: int = LOOKS,
    looks_a_value: int = LOOKS_A_VALUE,
) -> Iterator[Kept]:
    """Give what each kind of worker keeps, each as soon as it is known.

    Parameters
    ----------
    prepared : Prepared
    tell : callable, optional
        Is told the worker, how many causes have been played, and of how many, before each.
    looks, looks_a_value : int, optional
        Work that a worker, and a single value, may cost; states looked at.
    """
    board = Board(prepared)
    board.policy = board.policy.bounded(looks_a_value)
    for name, player in WORKERS.items():
        yield _kept(board, name, player, looks, tell or _to_nobody)


def drawn_causes(board: Board) -> list[int]:
    """Return numbers of causes drawn by likelihood, with replacement, the same every time."""
    numbers = range(len(board.chances))
    return seeded(SEED).choices(numbers, board.chances.tolist(), k=DRAWS)


def _kept(board: Board, name: str, player: Player, looks: int, tell: Tell) -> Kept:
    drawn, count = drawn_causes(board), len(board.chances)
    given_up, limit = board.policy.given_up, board.policy.looks + looks
    shares: dict[int, float] = {}
    for truth in dict.fromkeys([*drawn, *range(count)]):
        if shares and board.policy.looks >= limit:
            break
        tell(name, len(shares), count)
        game = Game(board, truth)
        player(game, seeded(SEED + truth))  # of one seed for all, the mean would be luck
        shares[truth] = game.share
    proven = board.policy.given_up == given_up
    if len(shares) == count:
        exact = sum(float(chance) * shares[k] for k, chance in enumerate(board.chances))
        return Kept(name, exact, count, count, proven)
    until = next((k for k, truth in enumerate(drawn) if truth not in shares), len(drawn))
    mean, error = mean_of([shares[truth] for truth in drawn[:until]])
    return Kept(name, mean, len(set(drawn[:until])), count, proven, error)


def mean_of(shares: Sequence[float]) -> tuple[float, float]:
    """Return the mean of drawn shares and its standard error, s / sqrt(n); infinite for one."""
    if len(shares) == 1:
        return shares[0], inf
    return fmean(shares), stdev(shares) / sqrt(len(shares))


def _to_nobody(_worker: str, _played: int, _causes: int) -> None:
    """Tell nobody."""
