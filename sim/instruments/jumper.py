"""Fused jumper: two tips, a lead, a 15 A fuse between them.

It proves a load side without the switch in the way. Its fuse opens above 1.35 times the rating, as
ISO 8820-3 fuses do. Caution: always fused; never feed a module's output, never an airbag circuit.
"""

from __future__ import annotations

RESISTANCE = 0.02  # ohm, lead and fuse; ours
FUSE = 15.0 * 1.35  # A
