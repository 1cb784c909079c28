"""A small circuit file, written and read: what tests of circuit files share."""

from collections.abc import Callable
from pathlib import Path

import pytest

from sim.circuitfile import read_circuit
from sim.errors import CircuitFileError

Write = Callable[[str], Path]

TEXT = """\
format: circuit
version: 1
id: bench
title: A lamp on a switch
vehicle: none
places:
  here: {reach: 1 min, again: 30 s, note: on the bench}
parts:
  B1: {kind: battery, at: here}
  F1: {kind: blade fuse, rating: 10 A, at: here}
  S1: {kind: switch, at: here, lamp: 12 V 1.2 W}
  K1: {kind: relay, suppression: diode, at: here}
  C1: {kind: connector, pins: 2, at: here}
  L1: {kind: lamp, power: 21 W at 12 V, at: here}
rails:
  "30": B1.+ through a 40 A link
  "31": body
controls:
  light: {off, on, sets: S1}
effects:
  lamp lights: L1 power >= 50 % of nominal
  fuse holds: F1 carries current
wires:
  1: [30, F1.1, red, 1.5 mm2, 1 m]
  2: [F1.2, S1.in, red, 1.5 mm2, 1 m]
  3: [S1.out, C1.1a, blue, 1.5 mm2, 1 m]
  4: [C1.1b, L1.1, blue, 1.5 mm2, 1 m]
  5: [L1.2, 31, brown, 1.5 mm2, 1 m]
  6: [B1.-, 31, black, 16 mm2, 0.3 m]
diagram:
  1: [30, F1, S1, L1, 31]
faults:
  C1.1=high resistance: {likelihood: 3, severity: [1 ohm, 2 ohm], cause: green}
"""


def fails(path: Path) -> str:
    with pytest.raises(CircuitFileError) as caught:
        read_circuit(path)
    message = str(caught.value)
    assert "\n" not in message
    assert "bench" in message
    return message
