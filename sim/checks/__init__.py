"""A circuit file looked at as a whole: what its entries, each sound by itself, make together.

An author sees as much as can be said at once: where entries are broken, the rest is checked without
them. Warnings that may only follow from a mistake wait until it is mended, and so does the drawing.
"""

from __future__ import annotations

from collections.abc import Iterable, Iterator
from dataclasses import dataclass, replace
from pathlib import Path

from sim.checks import healthy, names, picture, protection, supply, tables, terminals
from sim.checks.finding import Finding
from sim.checks.trials import run_trials
from sim.circuit import Circuit
from sim.circuitfile import Reading, read_through
from sim.errors import QuantityError
from sim.mistakes import Mistake, in_order
from sim.parts.values import check_values
from sim.solver.steady import Solver

#: What the files of circuits end with.
ENDING = ".circuit.yaml"


@dataclass(frozen=True, slots=True)
class Checked:
    """A circuit file with everything that is wrong with it, in the order of the file."""

    circuit: Circuit | None
    mistakes: tuple[Mistake, ...]

    @property
    def sound(self) -> bool:
        """Tell whether there is nothing but warnings."""
        return self.circuit is not None and all(one.warning for one in self.mistakes)


def check_circuit_file(path: Path) -> Checked:
    """Read a circuit file and look at it as a whole.

    Raises
    ------
    CircuitFileError
        It cannot be read at all, is not YAML, or is of another format or version.
    """
    reading = read_through(path)
    found = [] if reading.circuit is None else _findings(reading, reading.circuit)
    if reading.circuit is not None:
        found += names.misnamed(path.name, reading.circuit.name, ENDING)
    mistakes = [reading.document.mistake(f.where, f.text, warning=f.warning) for f in found]
    return Checked(reading.circuit, in_order([*reading.mistakes, *mistakes]))


def _findings(reading: Reading, circuit: Circuit) -> list[Finding]:
    whole = not reading.mistakes
    found = [*names.alike(circuit), *names.idle_controls(circuit, reading.broken)]
    found += _about_wires(reading, circuit)
    rest = circuit if whole else without(circuit, reading.broken)
    found += names.idle_effects(rest, Solver.of(rest))
    loops = list(supply.source_loops(rest))
    found += [*loops, *protection.thin_wires(rest)]
    if whole:
        found += [*names.rail_names(circuit), *names.idle_places(circuit)]
        found += [*names.unset_switches(circuit), *names.unheard_wakers(circuit)]
        found += names.unheard_warmers(circuit)
    found += [*tables.turning_back(circuit), *picture.diagram(circuit, reading.broken)]
    found += _solved(rest, shorted=bool(loops))
    wrong = any(not one.warning for one in found)
    if whole and not wrong:
        return [*found, *picture.drawn(circuit)]
    return [one for one in found if not (one.warning and one.follows)]


def _about_wires(reading: Reading, circuit: Circuit) -> Iterator[Finding]:
    """Follow the wires: all of them, or, where some are broken, only those of parts unheard of."""
    if reading.document.mistakes:
        return  # what was written twice may be just the wire that is missing
    if not (_wires_read(reading, circuit) and _expands(circuit, reading.broken)):
        yield from terminals.untied_parts(circuit, reading.broken | _mentioned(reading, circuit))
        return
    yield from terminals.untied_parts(circuit, reading.broken)
    yield from terminals.loose_terminals(circuit)
    yield from terminals.unreachable(circuit)
    yield from supply.islands(circuit)


def _solved(circuit: Circuit, *, shorted: bool) -> Iterator[Finding]:
    trials = run_trials(circuit)
    yield from healthy.unsolved(trials)
    yield from healthy.small_fuses(trials)
    if not shorted:
        yield from healthy.drained_sources(trials)
    yield from healthy.swallowing_batteries(trials)
    yield from healthy.dead_loads(trials)
    yield from healthy.idle_moves(trials)
    yield from healthy.constant_effects(trials)


def without(circuit: Circuit, broken: frozenset[str]) -> Circuit:
    """Return a circuit without its broken parts, what is wired to them, and what is said of them.

    What is left out draws no current, so that nothing that is left is called overloaded for it.
    """
    gone = {name for name in broken if name in circuit.parts}
    gone |= {f"link{r}" for r, p in circuit.rails.items() if p.partition(".")[0] in gone}
    rails = {r: p for r, p in circuit.rails.items() if p.partition(".")[0] not in gone}
    parts = {}
    for name, part in circuit.parts.items():
        ends = [str(part.values[key]) for key in ("from", "to")] if part.kind == "wire" else []
        owners = [circuit.point(end).partition(".")[0] for end in ends]
        if name not in gone and not gone & set(owners):
            parts[name] = part
    controls = {
        name: replace(control, sets=tuple(part for part in control.sets if part in parts))
        for name, control in circuit.controls.items()
    }
    effects = {name: one for name, one in circuit.effects.items() if one.part in parts}
    return replace(
        circuit, parts=parts, rails=rails, controls=controls, effects=effects, notes=(), diagram={}
    )


def _wires_read(reading: Reading, circuit: Circuit) -> bool:
    """Tell whether every wire and rail of the file is in the circuit."""
    wires: Iterable[str] = reading.document.data["wires"]
    rails: Iterable[str] = reading.document.data["rails"]
    return all(f"wire {name}" in circuit.parts for name in wires) and all(
        name in circuit.rails for name in rails
    )


def _expands(circuit: Circuit, broken: frozenset[str]) -> bool:
    """Tell whether broken parts, with guesses for what is wrong, are still parts."""
    try:
        for name in broken & circuit.parts.keys():
            check_values(circuit.parts[name])
    except QuantityError:
        return False
    return True


def _mentioned(reading: Reading, circuit: Circuit) -> frozenset[str]:
    """Return the parts that broken wires and rails may mean: those they name, and rails' links."""
    data = reading.document.data
    texts = [
        str(wire) for name, wire in data["wires"].items() if f"wire {name}" not in circuit.parts
    ]
    texts += [str(text) for text in data["rails"].values()]
    links = {f"link{rail}" for rail in data["rails"]}
    return frozenset(links | {n for n in circuit.parts if any(n in text for text in texts)})
