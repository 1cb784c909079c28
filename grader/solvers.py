"""Simulated students, good and bad, to see whether the score measures skill.

None of them is defined through Q or V but the first. Each plays a `Game` until the right unit has
been repaired:

- best path: what the policy would do
- greedy: most information per minute; repairs when one unit is left
- half-splitting: the volts reading that halves the number of suspects best, whatever it costs
- in order: volts at every point from the battery on, until one is bad; then the cheapest reading
  that still tells something
- forgetful, of skill s in [0, 1]: at every choice each earlier reading is forgotten with chance
  (1 - s) / 2; the next reading is drawn with weights exp(x / (1 - s)), x its information per minute
  in bits/min; a unit is repaired once its posterior reaches a threshold drawn from [s, 1] once a
  case
- random: any reading that still tells something; repairs when one unit is left
- parts-swapper: no reading; the unit with the highest likelihood for its price first
- reader of ghosts: takes supply at a point for proof that everything before it is good, poor joints
  too, although nothing but the meter draws a current through them; otherwise greedy

A person who works carelessly gives no regret away by it, but breaks things: that shows in the safe
work of a real score sheet and is played on the bench, not here.
"""

from __future__ import annotations

import random
from collections.abc import Callable, Sequence
from dataclasses import dataclass, field

import numpy as np
import numpy.typing as npt

from grader.game import Board, Floats, Game

#: Readings after which anybody stops and has the likeliest unit repaired.
PATIENCE = 60
#: Bits below which a reading tells nothing.
TELLS = 1e-9
#: Share of what is possible from which an unloaded reading is worth it to a reader of ghosts.
CLEARS_MUCH = 0.2

Player = Callable[[Game, random.Random], None]


def seeded(seed: str | float) -> random.Random:
    """Return chance that is the same again for the same seed."""
    return random.Random(seed)  # noqa: S311 -- draws of a study, no secret


def information(board: Board, mask: npt.NDArray[np.bool_]) -> Floats:
    """Return the information of every reading on a belief, in bits: the entropy of its outcomes."""
    chances = board.chances[mask] / board.chances[mask].sum()
    member = board.member[:, mask]
    total = np.zeros(len(member))
    for group in range(int(board.member.max()) + 1):
        share = (member == group) @ chances
        total -= share * np.log2(np.where(share > 0.0, share, 1.0))
    return np.asarray(total, dtype=np.float64)


def unit_shares(board: Board, suspects: int) -> Floats:
    """Return every unit's posterior on a belief."""
    shares = np.zeros(len(board.units))
    mask = board.mask(suspects)
    np.add.at(shares, np.array(board.unit_of)[mask], board.chances[mask])
    return np.asarray(shares / shares.sum(), dtype=np.float64)


def finish(game: Game) -> None:
    """Have units repaired, the likeliest first, until the right one has been."""
    while not game.mended:
        game.call(int(np.argmax(unit_shares(game.board, game.possible))))


def play_out(game: Game, choose: Callable[[Game, Floats], int | None]) -> None:
    """Take the readings that `choose` names until it names none or one unit is left."""
    for _step in range(PATIENCE):
        told = information(game.board, game.board.mask(game.possible))
        if unit_shares(game.board, game.possible).max() > 1.0 - TELLS or told.max() < TELLS:
            break
        reading = choose(game, told)
        if reading is None:
            break
        game.take(reading)
    finish(game)


def best_path(game: Game, _random: random.Random) -> None:
    """Do what the policy would."""
    while not game.mended:
        policy = game.board.policy
        choice = policy.best(game.possible, game.opened, game.here, slack=0.0)
        if choice.kind == "test" and choice.index is not None:
            game.take(choice.index)
        elif choice.name is not None:
            game.call(game.board.units.index(choice.name))
        else:
            finish(game)


def greedy(game: Game, _random: random.Random) -> None:
    """Take what tells most per minute."""
    play_out(game, lambda now, told: int(np.argmax(told / _prices(now))))


def _prices(game: Game) -> Floats:
    return game.prices(game.board.mask(game.possible))


def half_splitting(game: Game, _random: random.Random) -> None:
    """Take the volts reading that leaves the fewest suspects at worst, whatever it costs."""
    plain = _plain_volts(game.board)

    def choose(now: Game, told: Floats) -> int:
        left = now.board.member[:, now.board.mask(now.possible)]
        most = np.array([np.bincount(row).max() for row in left])
        useful = plain & (told > TELLS) if (plain & (told > TELLS)).any() else told > TELLS
        return int(np.argmin(np.where(useful, most, len(now.board.chances) + 1)))

    play_out(game, choose)


def _plain_volts(board: Board) -> npt.NDArray[np.bool_]:
    """Return which readings are volts against the body on the vehicle as it stands, switched on."""
    live = board.readings[-1].choice.prepare if board.readings else ()
    return np.array(
        [r.choice.prepare == live and r.choice.name.startswith("volts at") for r in board.readings]
    )


@dataclass(frozen=True, slots=True)
class InOrder:
    """Measure at every point from the battery on; `order` are numbers of readings."""

    order: tuple[int, ...]

    def __call__(self, game: Game, _random: random.Random) -> None:
        """Play."""
        for reading in self.order:
            if unit_shares(game.board, game.possible).max() > 1.0 - TELLS:
                break
            group = game.take(reading)
            if "supply" not in _label(game, reading, group):
                break
        play_out(game, _cheapest)


def _label(game: Game, reading: int, group: int) -> str:
    taken = game.board.readings[reading]
    return taken.labels[taken.groups.index(group)]


def _cheapest(game: Game, told: Floats) -> int:
    return int(np.argmin(np.where(told > TELLS, _prices(game), np.inf)))


@dataclass(frozen=True, slots=True)
class Forgetful:
    """A student of skill s, 0 to 1; see the head of this file."""

    skill: float

    def __call__(self, game: Game, chance: random.Random) -> None:
        """Play."""
        threshold = chance.uniform(self.skill, 1.0)
        evidence: list[int] = []
        in_vain = 0  # units that did not help: nobody forgets those
        for _step in range(PATIENCE):
            belief = self._remembered(game, evidence, in_vain, chance)
            shares = unit_shares(game.board, belief)
            reading = self._next(game, belief, chance)
            if shares.max() >= threshold or reading is None:
                unit = int(np.argmax(shares))
                if game.call(unit):
                    return
                in_vain |= game.board.unit_bits(unit)
            else:
                evidence.append(game.take(reading))
        finish(game)

    def _remembered(
        self, game: Game, evidence: Sequence[int], in_vain: int, chance: random.Random
    ) -> int:
        belief = game.board.policy.everything & ~in_vain
        for group in evidence:
            if chance.random() >= (1.0 - self.skill) / 2.0:
                belief &= group
        return belief or game.possible

    def _next(self, game: Game, belief: int, chance: random.Random) -> int | None:
        mask = game.board.mask(belief)
        told = information(game.board, mask)
        useful = np.flatnonzero(told > TELLS)
        if len(useful) == 0:
            return None
        rate = told[useful] / game.prices(mask)[useful]
        if self.skill >= 1.0:
            return int(useful[np.argmax(rate)])
        weights = np.exp((rate - rate.max()) / (1.0 - self.skill))
        return int(chance.choices(useful.tolist(), weights.tolist())[0])


def at_random(game: Game, chance: random.Random) -> None:
    """Take any reading that still tells something."""
    play_out(game, lambda _now, told: chance.choice(np.flatnonzero(told > TELLS).tolist()))


def parts_swapper(game: Game, _random: random.Random) -> None:
    """Have units repaired, the highest likelihood for its price first, without a reading."""
    board = game.board
    shares = unit_shares(board, board.policy.everything)
    worth = [shares[unit] / board.price_of_wrong(unit) for unit in range(len(board.units))]
    for unit in np.argsort(-np.array(worth), kind="stable"):
        if game.call(int(unit)):
            return


@dataclass(frozen=True, slots=True)
class GhostReader:
    """Takes an unloaded supply for proof of everything before it.

    `clears` holds, for every reading that shows an unloaded supply, its label and the suspects that
    he takes to be cleared by it, as bits.
    """

    clears: dict[int, tuple[str, int]] = field(default_factory=dict)

    def __call__(self, game: Game, _random: random.Random) -> None:
        """Play."""
        belief, taken = game.possible, set[int]()
        for _step in range(PATIENCE):
            if unit_shares(game.board, belief).max() > 1.0 - TELLS:
                break
            reading = self._next(game, belief, taken)
            if reading is None:
                break
            taken.add(reading)
            group = game.take(reading)
            label, cleared = self.clears.get(reading, ("", 0))
            if label and _label(game, reading, group) == label:
                group &= ~cleared
            belief = belief & group or game.possible
        while not game.mended:
            unit = int(np.argmax(unit_shares(game.board, belief)))
            if not game.call(unit):
                belief = belief & ~game.board.unit_bits(unit) or game.possible

    def _next(self, game: Game, belief: int, taken: set[int]) -> int | None:
        """Take the unloaded reading that clears most, if it clears much; else be greedy."""
        board, mask = game.board, game.board.mask(belief)
        whole = board.weight(belief)
        worth = {
            reading: board.weight(cleared & belief) / whole
            for reading, (_label, cleared) in self.clears.items()
            if reading not in taken
        }
        most = max(worth, key=lambda r: (worth[r], -r), default=None)
        if most is not None and worth[most] >= CLEARS_MUCH:
            return most
        told = information(board, mask)
        return int(np.argmax(told / game.prices(mask))) if told.max() > TELLS else None
