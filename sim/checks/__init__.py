"""A circuit file looked at as a whole: what its entries, each sound by itself, make together.

Some checks need only names; they run on whatever could be read. Those that follow wires run if
every wire and rail could be read, the others if every entry could. The circuit is drawn only if it
is sound so far.
"""

from __future__ import annotations

from collections.abc import Iterable, Iterator
from dataclasses import dataclass
from pathlib import Path

from sim.checks import healthy, names, picture, protection, supply, terminals
from sim.checks.finding import Finding
from sim.checks.trials import run_trials
from sim.circuit import Circuit
from sim.circuitfile import Reading, read_through
from sim.mistakes import Mistake, in_order
from sim.solver.steady import Solver


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
    mistakes = [reading.document.mistake(f.where, f.text, warning=f.warning) for f in found]
    return Checked(reading.circuit, in_order([*reading.mistakes, *mistakes]))


def _findings(reading: Reading, circuit: Circuit) -> list[Finding]:
    found = [*names.alike(circuit), *names.idle_controls(circuit)]
    if _wires_read(reading):
        found += terminals.loose_terminals(circuit, reading.broken)
        found += terminals.unreachable(circuit)
        found += supply.islands(circuit)
    elif circuit.parts:
        found += terminals.loose_terminals(circuit, reading.broken | _mentioned(reading))
    if reading.mistakes:
        return found
    found += [*names.rail_names(circuit), *names.idle_places(circuit)]
    found += [*names.unset_switches(circuit), *names.idle_effects(circuit, Solver.of(circuit))]
    found += supply.source_loops(circuit)
    found += protection.thin_wires(circuit)
    wrong = any(not one.warning for one in found)
    found += picture.diagram(circuit, drawn=not wrong)
    found += _solved(circuit)
    return found


def _solved(circuit: Circuit) -> Iterator[Finding]:
    trials = run_trials(circuit)
    yield from healthy.unsolved(trials)
    yield from healthy.small_fuses(trials)
    yield from healthy.drained_sources(trials)
    yield from healthy.dead_loads(trials)
    yield from healthy.idle_moves(trials)
    yield from healthy.constant_effects(trials)


def _wires_read(reading: Reading) -> bool:
    """Tell whether every wire and rail of the file is in the circuit, between parts that are."""
    circuit = reading.circuit
    written: Iterable[str] = reading.document.data.get("wires") or ()
    rails: Iterable[str] = reading.document.data.get("rails") or ()
    return circuit is not None and (
        all(f"wire {name}" in circuit.parts for name in written)
        and all(name in circuit.rails for name in rails)
    )


def _mentioned(reading: Reading) -> frozenset[str]:
    """Return the parts that broken wires and rails may mean: those they name, and rails' links."""
    document, circuit = reading.document.data, reading.circuit
    found = set() if circuit is None else set(circuit.parts)
    texts = [str(w) for n, w in document["wires"].items() if f"wire {n}" not in found]
    texts += [str(text) for text in document["rails"].values()]
    links = {f"link{rail}" for rail in document["rails"]}
    return frozenset(links | {name for name in found if any(name in text for text in texts)})
