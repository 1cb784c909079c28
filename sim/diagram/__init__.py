"""A current-flow diagram drawn from a circuit: supply on top, ground below, tracks in between.

The order of things comes from the circuit's `diagram` section (see `tracks`), everything else from
its parts and wires. The same circuit always gives the same drawing; what is wrong with a vehicle
does not show on it.
"""

from __future__ import annotations

from sim.circuit import Circuit
from sim.diagram.drawing import Drawing, Writing, overlaps
from sim.diagram.frame import frame_of
from sim.diagram.layout import lay_out
from sim.diagram.routes import NoRoomError
from sim.diagram.sheet import Sheet, draw_up
from sim.diagram.svg import write_svg
from sim.diagram.tracks import lay_tracks
from sim.errors import CircuitFileError

__all__ = ["Drawing", "draw", "overlaps"]

SPREADS = 6  # attempts with wider and wider gaps


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
        texts=_texts(sheet),
    )


def _texts(sheet: Sheet) -> tuple[Writing, ...]:
    beside = [(key, text) for key, placed in sheet.plan.placed.items() for text in placed.texts]
    codes = list(sheet.codes.items())
    free = [("", text) for text in (*sheet.notes, *(rail.text for rail in sheet.rails))]
    return tuple(
        Writing(owner, " ".join(word.strip() for word, _ in text.words), text.box)
        for owner, text in (*beside, *codes, *free)
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
