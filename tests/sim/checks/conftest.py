"""A circuit as a stranger would write it, and what the checks say of it after a change."""

from collections.abc import Callable
from pathlib import Path

import pytest

from sim.checks import check_circuit_file

WASHER = """\
# A washer pump, as somebody writes it who has the wiring diagram beside the keyboard.
format: circuit
version: 1
id: washer
title: Windscreen washer
vehicle: Ostler Quill, estate car

places:
  bonnet:   {reach: 1 min, again: 0.5 min}
  fuse box: {reach: 2 min, again: 0.5 min, note: under the dash}
  column:   {reach: 8 min, again: 2 min, note: lower cowl off}
  wing:     {reach: 12 min, again: 3 min, note: wheel-arch liner out}

parts:
  B1: {kind: battery, capacity: 60 Ah, cold cranking: 540 A, at: bonnet}
  X1: {kind: ground stud, at: bonnet}
  X3: {kind: ground stud, at: wing}
  S1: {kind: key switch, at: column}
  S6: {kind: switch, latching: no, closed in: pulled, at: column}
  F5: {kind: blade fuse, rating: 10 A, at: fuse box}
  C8: {kind: connector, pins: 2, at: wing}
  M3: {kind: horn, power: 50 W at 12 V, at: wing}     # the pump, as a plain resistance

rails:
  "30": B1.+ through a 80 A link
  "15": S1.run
  "31": body

controls:
  key:          {off, accessory, run, crank, sets: S1}
  washer lever: {released, pulled, sets: S6}

wires:
  1: [30,     S1.in,   red,         4 mm2,   0.8 m]
  2: [15,     F5.1,    black,       1.5 mm2, 0.5 m]
  3: [F5.2,   S6.in,   green,       1 mm2,   1.2 m]
  4: [S6.out, C8.1a,   green/black, 1 mm2,   2.5 m]
  5: {from: C8.1b, to: M3.1, colour: green/black, area: 1 mm2, length: 0.3 m}
  6: [M3.2,   X3.ring, brown,       1 mm2,   0.4 m]
  7: [B1.-,   X1.ring, black,       16 mm2,  0.3 m]

effects:
  washer squirts: M3 power >= 50 % of nominal

diagram:
  1: [15, F5, S6, C8, M3, X3, 31]

looms:
  to the wing: [3, 4]

faults:
  wire 4=short to ground: {cause: chafed behind the liner}
"""

Checker = Callable[..., list[str]]


@pytest.fixture
def washer(tmp_path: Path) -> Checker:
    """Give what is said of the washer after some texts in it have been replaced.

    Each change is (old, new); lines come without the name of the file.
    """

    def say(*changes: tuple[str, str], text: str = WASHER) -> list[str]:
        for old, new in changes:
            assert old in text, old
            text = text.replace(old, new, 1)
        path = tmp_path / "washer.circuit.yaml"
        path.write_text(text, encoding="utf-8")
        mistakes = check_circuit_file(path).mistakes
        return [str(one).removeprefix("washer.circuit.yaml:") for one in mistakes]

    return say
