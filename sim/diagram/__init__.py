"""A current-flow diagram drawn from a circuit: supply on top, ground below, tracks in between.

The order of things comes from the circuit's `diagram` section (see `tracks`), everything else from
its parts and wires. The same circuit always gives the same drawing; what is wrong with a vehicle
does not show on it.
"""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass

from sim.circuit import Circuit
from sim.diagram.frame import frame_of
from sim.diagram.layout import lay_out
from sim.diagram.routes import NoRoomError
from sim.diagram.sheet import Sheet, draw_up
from sim.diagram.svg import write_svg
from sim.diagram.tracks import lay_tracks
from sim.errors import CircuitFileError

SPREADS = 6  # attempts with wider and wider gaps


@dataclass(frozen=True, slots=True)
class Drawing:
    """A diagram, and where things are on it: px from the upper left corner, y down.

    Attributes
    ----------
    svg : str
        One SVG element (`sim.diagram.svg` says which hooks it has).
    width, height : float
        Its size.
    points : mapping
        Every point on which leads can be put in some state of the plugs -> (x, y).
    parts : mapping
        Item (a part's name; `K3 coil`, `K3 contact`; `C5.1` where a connector stands in several
        tracks) -> (x, y, width, height) of its symbol.
    wires : mapping
        Wire -> its line from the first end in the circuit file to the last.
    """

    svg: str
    width: float
    height: float
    points: Mapping[str, tuple[float, float]]
    parts: Mapping[str, tuple[float, float, float, float]]
    wires: Mapping[str, tuple[tuple[float, float], ...]]


def draw(circuit: Circuit) -> Drawing:
    """Draw a circuit.

    Raises
    ------
    CircuitFileError
        The diagram section names what is not there or leaves a part out, a wire's colour has no
        code, or there is no room for a wire however wide the gaps.
    """
    sheet = _sheet(circuit)
    return Drawing(
        svg=write_svg(circuit, sheet),
        width=sheet.width,
        height=sheet.height,
        points=sheet.points,
        parts={key: placed.box for key, placed in sheet.plan.placed.items()},
        wires=sheet.wires,
    )


def _sheet(circuit: Circuit) -> Sheet:
    tracks = lay_tracks(circuit)
    tight = ""
    for spread in range(SPREADS):
        try:
            return draw_up(lay_out(frame_of(circuit, tracks, spread)))
        except NoRoomError as error:
            tight = str(error)
    raise CircuitFileError(
        f"{circuit.name}: diagram: no room for {tight}; move its parts to neighbouring tracks"
    )
