"""One action's solutions on every variant: the network as it stands, an instrument put into it.

A view begins with the vehicles as they stand after the action. Instruments put a row of numbers
between the leads and read the solution; what they blow stays blown.
"""

from __future__ import annotations

from dataclasses import replace

import numpy as np

from sim import care, harm, slowbreakers, stillness
from sim.bus import live
from sim.circuit import Circuit
from sim.diagnosis import carried
from sim.diagnosis.ruled import imposed
from sim.doing import Doing
from sim.errors import RulesError
from sim.fleet import Fleet
from sim.leads import nodes_of, put_jumper, put_leads
from sim.modules.held import Held
from sim.modules.loop import Settled
from sim.modules.pulses import show_pulses
from sim.network import Floats, Ints, Network, configured
from sim.passing import carry, stood
from sim.shared import Shared, Stage, Still, felt, keep
from sim.situation import Memory, Situation
from sim.slowtime import after_solution, let_pass
from sim.solver.laws import SOLVED
from sim.solver.steady import Lanes, Solution, Solver

LOOKED_AT = 60.0  # s of a wait that control units judge; all of their times are shorter


class View:
    """One action on every variant, solved as often as the instrument needs.

    Attributes
    ----------
    fitted : Memory
        What the vehicles remember once the hands are done and before the current flows.
    memory : Memory
        The same after it; replaced, never changed in place.
    solution : Solution
        The latest: without an instrument, until one is put on.
    failed : bool array (V,)
        Variants that had no steady state on the way here.
    pairs : tuple of (red, black)
        Where the leads are; more than one on a wide view.
    row_of, clocks : arrays (L,)
        Which of `rows` is each lane's; on a wide view (`sim.wide`) also its clock, in s.
    """

    def __init__(
        self,
        fleet: Fleet,
        start: Situation,
        situation: Situation,
        before: Memory,
        doing: Doing,
        *,
        leads: bool,
        shared: Shared | None = None,
    ) -> None:
        self.fleet, self.situation, self.doing = fleet, situation, doing
        self.start, self.seconds = start, situation.clock - start.clock
        self.clock = start.clock  # until the work is done
        self.standing = situation
        self.count = len(fleet.circuits)
        self.row_of, self.clocks = np.arange(self.count), np.zeros(0)
        self.pairs: tuple[tuple[str, ...], ...] = ((situation.red, situation.black),)
        self.failed = np.zeros(self.count, dtype=bool)
        self.restless: tuple[RulesError | None, ...] = (None,) * self.count
        self.settled: Still | None = None
        self.shared = shared or Shared()
        self.felt = felt(start, situation, doing, leads=leads)
        known = self.shared.begun.get(self.felt)
        if known is not None:
            self._go_on_from(known)
            return
        self._begin(before, leads=leads)
        keep(self.shared.begun, self.felt, Stage.of(self))

    def _begin(self, before: Memory, *, leads: bool) -> None:
        """Let the hands do their work; without leads, solve the vehicles as they stand then."""
        self.before = self._worked_on(before, leads=leads)
        situation = self.situation
        self.base = self.base_of(situation)
        self.rows = self.now(situation, self.before)
        self.fitted = self._fit(self.before)
        if self._turned_on():
            self.fitted = replace(self.fitted, units=carried.begun(self.fitted.units))
        self.memory = self.fitted
        self.solution: Solution
        if not leads:  # leads change nothing until they are on
            self._settle()

    def _go_on_from(self, stage: Stage) -> None:
        """Stand as an earlier view did; with leads there was no solution before they were on."""
        for name in Stage.__slots__:
            if getattr(stage, name) is not None:
                setattr(self, name, getattr(stage, name))

    def _worked_on(self, before: Memory, *, leads: bool) -> Memory:
        """Return the memory after the minutes of work that lead up to a change or a reading.

        The vehicle stands as it stood until the hands are done; what follows takes no time.
        """
        start, after = self.start, self.situation
        changes = (start.configuration, start.bridge) != (after.configuration, after.bridge)
        if self.doing.verb == "wait" or self.seconds == 0.0 or not (changes or leads):
            return before
        self.situation, self.before = start, before
        self.base = self.base_of(start)
        self.rows = self.now(start, before)
        solution = stillness.while_hands_begin(self, before)
        memory = after_solution(before, solution)
        worked = self._passed(memory, solution)
        self.situation, self.seconds, self.clock = after, 0.0, after.clock
        return worked

    def _turned_on(self) -> bool:
        """Tell whether the key has just been turned on."""
        circuit = self.circuit
        if not self.fitted.units:
            return False
        before = care.key_is_on(circuit, self.start)
        return not before and care.key_is_on(circuit, self.standing)

    def _settle(self) -> None:
        """Solve as the bench stands now; where time is only let pass, hour by hour to its end."""
        slow = self.fleet.slow
        if self.doing.verb == "wait":
            if self.fitted.units:  # judged as they are while still awake, and at the end again
                still = self.solve(self.fitted)
                self.fitted = self._judged(self.fitted, still, min(self.seconds, LOOKED_AT))
            self.memory, self.solution = let_pass(
                slow, self.start, self.fitted, self._solve_at, self._carried, self.seconds
            )
            self.clock = self.situation.clock
            self.memory = self._judged(self.memory, self.solution, min(self.seconds, LOOKED_AT))
            return
        self.solution = self.solve(self.fitted)
        self.settled = Still(self.rows, self.clock, self.fitted, self.solution)
        self.memory = self._after(self.fitted)
        woken = slow.woken(self.circuit, self.start, self.situation, self.memory, self.solution)
        if (woken.woken != self.memory.woken).any():
            self.rows = self.now(self.situation, woken)
            self.solution = self.solve(woken)
        self.memory = self._after(woken)
        if slow.fuses.automatic and self.seconds and self.doing.verb != "scan":  # lets its own pass
            self.pass_before_reading()

    def _solve_at(self, situation: Situation, memory: Memory, seconds: float) -> Solution:
        self.rows = self.fleet.slow.present(self.circuit, self.base, situation, memory, seconds)
        self.clock = situation.clock
        return self.solve(memory)

    def _after(self, memory: Memory) -> Memory:
        return after_solution(memory, self.solution)

    def _carried(self, memory: Memory, solution: Solution, clock: float, seconds: float) -> Memory:
        """Return the memory after a while, what control modules do by the clock included."""
        standing = replace(self.situation, clock=clock)
        rows = self.base, self.rows
        after, then = carry(self.fleet, rows, standing, memory, solution, seconds)
        self.restless = self.restless_rules(then)

        def solve(before: Memory, lanes: Ints) -> Solution:
            return self.solve(before, variants=lanes)

        slow, both = self.fleet.slow, (memory, after)
        return slowbreakers.followed(slow, self.base, both, solution, seconds, solve)

    def restless_rules(self, now: Solution | None = None) -> tuple[RulesError | None, ...]:
        """Return for every variant what of its rules never rested on the way here, or does now."""
        last = now or self.solution
        if not isinstance(last, Settled):
            return self.restless
        return tuple(old or new for old, new in zip(self.restless, last.cycles, strict=True))

    def pass_before_reading(self, seconds: float = np.inf) -> None:
        """Let the action's own time, or so much of it, pass before a reading and not after it."""
        left = self.seconds
        self.seconds = min(seconds, left)
        self.let_time_pass()
        self.clock += self.seconds
        self.seconds = left - self.seconds
        self.rows = self.now(self.standing, self.memory)
        self.solution = self.solve(self.memory)
        self.settled = Still(self.rows, self.clock, self.memory, self.solution)
        self.memory = self._after(self.memory)

    def hold_controls(self, controls: dict[str, str]) -> None:
        """Put controls into these positions and go on from there, other than for a moment."""
        self.operate(controls)
        self.solution = self.solve(self.memory)
        self.memory = self._after(self.memory)

    def let_time_pass(self) -> None:
        """Let batteries give, and fuses take up, what the action's own time makes of it."""
        if self.doing.verb == "wait":
            return
        shares = self.shares_end()
        ended = self.shared.ended.get(self.felt) if shares else None
        if ended is not None:
            self.rows, self.memory, self.restless = ended.rows, ended.memory, ended.restless
            return
        solution = stillness.afterwards(self) if self.fleet.modules.units else self.solution
        self.memory = self._passed(self.memory, solution)
        if shares:
            keep(self.shared.ended, self.felt, Stage.of(self))

    def shares_end(self) -> bool:
        """Tell whether what comes now is the same after every reading that was begun like this."""
        begun = self.shared.begun.get(self.felt)
        if begun is None or not (self.fleet.modules.units or self.solution is begun.solution):
            return False
        return self.standing is self.situation and Stage.of(self).same(begun)

    def _passed(self, memory: Memory, solution: Solution) -> Memory:
        """Return the memory after the action's time, begun as solved; units judge how it ends."""
        memory = self._carried(memory, solution, self.clock, self.seconds)
        if not memory.units:
            return memory
        began, self.clock = self.clock, self.clock + self.seconds
        if self.fleet.modules.units and self.seconds:
            solution = self.solve(memory)
        memory = self._judged(memory, solution, self.seconds)
        self.clock = began
        return memory

    def solved(self, solution: Solution) -> carried.Solved:
        """Return all variants as solved with the rows as they are."""
        fleet = self.fleet
        shared = (self.network, self.rows)
        return carried.solved_at(fleet.circuits, fleet.modules, shared, solution, self.clock)

    def _judged(self, memory: Memory, solution: Solution, seconds: float) -> Memory:
        """Let control units judge a while in which the vehicles stood as solved."""
        if not memory.units:
            return memory
        if seconds <= 0.0:
            return self.commanded(memory)
        solved = self.solved(solution)
        units = carried.passed(memory.units, solved, seconds, self.clock)
        return self.commanded(replace(memory, units=units))

    def commanded(self, memory: Memory) -> Memory:
        """Return the memory with what testers hold imposed on the modules' contacts."""
        if memory.modules is None or not memory.units:
            return memory
        shape = memory.modules.imposed.shape
        told, until = imposed(memory.units, self.fleet.modules, self.circuit, shape, self.clock)
        return replace(memory, modules=replace(memory.modules, imposed=told, until=until))

    def warmed(self) -> Memory:
        """Return what is remembered once the action's own time has warmed and cooled the parts."""
        return self.fleet.slow.warmth.after(self.memory, self.solution, self.seconds)

    def now(self, situation: Situation, memory: Memory) -> Floats:
        """Return the rows as they are at this hour of a situation."""
        slow = self.fleet.slow
        rows = slow.present(self.circuit, self.base, situation, memory, self.seconds)
        return show_pulses(self.fleet.modules, rows, memory.modules)

    @property
    def circuit(self) -> Circuit:
        """The first variant; controls, places and points are the same on all."""
        return self.fleet.circuits[0]

    @property
    def network(self) -> Network:
        """What all variants share."""
        return self.fleet.solver.network

    def rows_with(self, controls: dict[str, str]) -> Floats:
        """Return the rows at this hour, with controls in these positions."""
        self.standing = replace(self.situation, controls=tuple(sorted(controls.items())))
        self.base = self.base_of(self.standing)
        return self.now(self.standing, self.memory)

    def base_of(self, standing: Situation) -> Floats:
        """Return the rows of a situation as at hand-over, lasting damage in them."""
        rows = configured(self.circuit, self.network, self.fleet.rows, standing.configuration)
        whole = {*standing.renewed, *standing.tried}
        return harm.damaged_rows(self.network, rows, harm.lasting(self.before.damaged, whole))

    def _fit(self, memory: Memory) -> Memory:
        """Put the new fuse in, if the action does: a whole one, whatever was there before."""
        if self.doing.verb != "renew":
            return memory
        blown = memory.blown.copy()
        blown[:, self.network.fuse_names.index(self.doing.target)] = 0
        return replace(memory, blown=blown)

    def solve(
        self,
        memory: Memory,
        element: str = "",
        row: Floats | None = None,
        variants: Ints | None = None,
        solver: Solver | None = None,
        fuse: float | None = None,
    ) -> Solution:
        """Solve, with a row of numbers for an instrument's element between the leads if given.

        Parameters
        ----------
        row : array (k,) or (L, k)
            Conductance in S, EMF in V and the constants of the element's law.
        variants : int array or None
            Which variants; all of them if not given.
        solver : Solver or None
            Another one for the same network, for leads of another thickness.
        fuse : float or None
            What opens the jumper, in A, instead of its fuse; at 0 it is not there.
        """
        using = solver or self.fleet.solver
        lanes = self.lanes(memory, variants)
        if fuse != 0.0:
            self.put_jumper(lanes, using.lead, fuse)
        if row is not None:
            put_leads(lanes, element, row, self.ends(variants))
        modules = self.fleet.modules
        held = memory.modules or Held.fresh(modules, self.count)
        if variants is not None:
            held = held.take(variants)
        clock: float | Floats = self.clock
        if len(self.clocks):
            clock = self.clocks if variants is None else self.clocks[variants]
        found, rows, lanes = stood(self.fleet, using, held, clock, self.rows, lanes)
        if not modules.units:
            return found
        if row is None and variants is None and len(self.pairs) == 1:
            stillness.show_rules(self, found, memory)
        more = rows[len(self.rows) :]
        rows = np.concatenate((self.rows, more)) if len(more) else self.rows
        return live.on_bus(using, rows, lanes, found)

    def lanes(self, memory: Memory, variants: Ints | None = None) -> Lanes:
        """Return lanes with nothing on them, in the states remembered."""
        which = np.arange(self.count) if variants is None else variants
        lanes = self.fleet.solver.lanes(self.row_of[which])
        return replace(lanes, closed=memory.closed[which], blown=memory.blown[which])

    def ends(self, variants: Ints | None = None) -> Ints:
        """Return the nodes (L, 2) that the red and the black lead are on."""
        which = np.arange(self.count) if variants is None else variants
        return nodes_of(self.network, self.pairs)[which // len(self.fleet.circuits)]

    def put_jumper(self, lanes: Lanes, lead: float, fuse: float | None = None) -> None:
        """Put the jumper into lanes if it is on; `lead` is what the solver takes a lead for."""
        thinner = 2.0 * (self.fleet.solver.lead - lead)
        put_jumper(lanes, self.network, self.situation, thinner, fuse)

    def put(self, element: str, row: Floats, solver: Solver | None = None) -> Solution:
        """Solve with an instrument between the leads; what it blows stays blown."""
        self.solution = self.solve(self.memory, element, row, solver=solver)
        self.memory = replace(self.memory, blown=self.solution.blown)
        return self.solution

    def operate(self, controls: dict[str, str]) -> None:
        """Put controls into these positions and let the vehicle follow, the instrument off.

        What blows now the fault has blown, or the driver: it is no harm of the instrument.
        """
        stood = self.standing
        self.rows = self.rows_with(controls)
        solution = self.solve(self.memory)
        self._wake(stood, solution)
        new = solution.blown & ~self.memory.blown
        self.fitted = replace(self.fitted, blown=self.fitted.blown | new)
        self.memory = after_solution(self.memory, solution)
        self.failed = self.failed | (solution.status != SOLVED)

    def wake_with(self, element: str, row: Floats) -> None:
        """Wake what has supply again through an instrument between the leads: an ammeter feeds.

        Once awake it falls asleep by the clock, the meter left where it is meanwhile.
        """
        if self.fleet.slow.units:
            self._wake(self.standing, self.solve(self.memory, element, row))

    def _wake(self, stood: Situation, solution: Solution) -> None:
        slow = self.fleet.slow
        self.memory = slow.woken(self.circuit, stood, self.standing, self.memory, solution)
        self.rows = self.now(self.standing, self.memory)

    def between(self, solution: Solution) -> Floats:
        """Return the volts between the points the leads are on, not counting the leads."""
        ends = np.take_along_axis(solution.volts, self.ends(), axis=1)
        return ends[:, 0] - ends[:, 1]
