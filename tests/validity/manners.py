"""Ways in which people work any case, found on the circuit; then all go on as well as can be.

So only the manner is judged. The order of points is that of the current of the complaint's load.
"""

from collections.abc import Callable

import numpy as np

from grader.game import Board, Game
from grader.habits import complaint_loads
from grader.solvers import TELLS, best_path, information, seeded, unit_shares

OHMS_TAKEN = 9  # readings, after which even the stubborn do something else
HALVINGS = 2


class Manners:
    """The manners of one case; `order` are the numbers of its readings along the current."""

    def __init__(self, board: Board, order: tuple[int, ...]) -> None:
        self.board, self.order = board, order
        self.circuit = board.prepared.case.circuit

    def paths(self) -> dict[str, Callable[[Game], None]]:
        """Give the manners that this case allows."""
        found: dict[str, Callable[[Game], None]] = {
            "sensible": self.sensible,
            "classic": self.classic,
            "weak spot first": self.weak_spot,
            "linear": self.linear,
            "linear, blind": self.blind,
            "part by habit": self.part_by_habit,
            "ohms everywhere": self.ohms,
        }
        if self._swaps():
            found["swap first"] = self.swap
        return found

    def play(self, manner: Callable[[Game], None], truth: int) -> Game:
        """Work one cause in a manner, and go on as well as can be."""
        game = Game(self.board, truth)
        manner(game)
        if not game.mended:
            best_path(game, seeded(0))
        return game

    def kept(self, manner: Callable[[Game], None]) -> float:
        """Give the expected share of the efficiency."""
        shares = [self.play(manner, k).share for k in range(len(self.board.chances))]
        return float(np.dot(shares, self.board.chances))

    # -- manners

    def sensible(self, game: Game) -> None:
        """Listen, then halve what is left on the vehicle as it stands, nothing apart, twice."""
        self._listen(game)
        for _time in range(HALVINGS):
            mask = self.board.mask(game.possible)
            told, price = information(self.board, mask), game.prices(mask)
            worth = {n: told[n] / price[n] for n in self._as_it_stands() if told[n] > TELLS}
            if not worth or self._sure(game):
                return
            game.take(max(worth, key=lambda n: (worth[n], -n)))

    def classic(self, game: Game) -> None:
        """Listen, then fuse, relay output, connector and load in turn, until one is bad."""
        self._listen(game)
        self._along(game, [n for n in self._doubtful() if self._is_classic(n)])

    def weak_spot(self, game: Game) -> None:
        """Go straight to the likeliest unit, with what tells best whether it is that one."""
        mask = self.board.mask(game.possible)
        unit = int(np.argmax(unit_shares(self.board, game.possible)))
        inside = np.array(self.board.unit_of) == unit
        gain = self._told_of(mask & inside, mask)
        game.take(int(np.argmax(gain / game.prices(mask))))

    def linear(self, game: Game) -> None:
        """Measure in order from the battery, where there is a doubt, until a reading is bad."""
        self._along(game, self._doubtful())

    def blind(self, game: Game) -> None:
        """Do the same at every point, also where the complaint says that all is well."""
        self._along(game, list(self.order))

    def part_by_habit(self, game: Game) -> None:
        """Fit a new relay, or else a new load, because it always is that."""
        game.call(self.habit_unit())

    def ohms(self, game: Game) -> None:
        """Ohms on everything with the key off."""
        taken = [n for n, r in enumerate(self.board.readings) if r.choice.name.startswith("ohms")]
        for number in taken[:OHMS_TAKEN]:
            if self._sure(game):
                return
            game.take(number)

    def swap(self, game: Game) -> None:
        """Exchange the relay with its neighbour before anything else."""
        game.take(self._swaps()[0])

    # -- what they are made of

    def habit_unit(self) -> int:
        """Give the unit that is a relay, or else the complaint's load."""
        units, case = self.board.units, self.board.prepared.case
        mends = {unit: [m.partition("=")[0] for m in case.unit(unit).mends] for unit in units}
        for wanted in ("relay", ""):
            for number, unit in enumerate(units):
                parts = [self.circuit.parts[m] for m in mends[unit] if m in self.circuit.parts]
                kinds = {part.kind for part in parts}
                loads = {part.name for part in parts} & set(complaint_loads(self.board.prepared))
                if (wanted in kinds) if wanted else loads:
                    return number
        return int(np.argmin(unit_shares(self.board, self.board.policy.everything)))

    def _as_it_stands(self) -> list[int]:
        """Give the readings for which nothing is taken apart; switches may be turned."""
        readings = enumerate(self.board.readings)
        return [n for n, r in readings if all(a.verb == "set" for a in r.choice.prepare)]

    def _doubtful(self) -> list[int]:
        """Give the points in order at which a reading tells something after the complaint."""
        told = information(self.board, self.board.mask(self.board.policy.everything))
        return [n for n in self.order if told[n] > TELLS]

    def _listen(self, game: Game) -> None:
        heard = [n for n, r in enumerate(self.board.readings) if r.choice.action.verb == "listen"]
        if heard:
            game.take(heard[0])

    def _along(self, game: Game, numbers: list[int]) -> None:
        for number in numbers:
            if self._sure(game):
                return
            reading = self.board.readings[number]
            label = reading.labels[reading.groups.index(game.take(number))]
            if "supply" not in label:
                return

    def _is_classic(self, number: int) -> bool:
        point = self.board.readings[number].choice.action.red
        name, _, pin = point.partition(".")
        part = self.circuit.parts.get(name)
        if part is None:
            return False
        loads = complaint_loads(self.board.prepared)
        feeds = {"blade fuse": "2b", "relay": "87"}
        if part.kind in feeds:
            return pin == feeds[part.kind]
        return (part.kind == "connector" and pin.endswith("b")) or (
            name in loads and not pin.endswith("b")
        )

    def _told_of(self, inside: np.ndarray, mask: np.ndarray) -> np.ndarray:
        """Give the information of every reading about lying inside a set, in bits."""
        outside = mask & ~inside
        parts = [information(self.board, part) for part in (inside, outside) if part.any()]
        shares = [self.board.chances[part].sum() for part in (inside, outside) if part.any()]
        mean = np.average(parts, axis=0, weights=shares)
        return np.asarray(information(self.board, mask) - mean)

    def _swaps(self) -> list[int]:
        return [
            n
            for n, reading in enumerate(self.board.readings)
            if any(action.verb == "swap" for action in reading.choice.prepare)
        ]

    def _sure(self, game: Game) -> bool:
        return bool(unit_shares(self.board, game.possible).max() > 1.0 - TELLS)
