"""What a reading shows, in a mechanic's words: the bands of `grader.bands`, everywhere the same."""

from __future__ import annotations

from grader.curves import OTHERWISE
from grader.reasonwords import listed
from grader.usual import ABSENT, LESS, MOMENT, MORE, PRESENT, USUAL
from sim.instruments.oscilloscope import CHANNELS
from sim.language import msg, say
from sim.retold import retold

#: What a band is called at the vehicle.
BANDS = {
    "supply": msg("full supply"),
    "part": msg("some of the supply"),
    "nothing": msg("nothing"),
    "normal": msg("the usual current"),
    "some": msg("some, but not the usual"),
    "none": msg("no current"),
    "short": msg("next to nothing"),
    "open": msg("no way through"),
    "conducts": msg("conducts"),
    "blocks": msg("blocks"),
}
HELD_AGAINST = (LESS, OTHERWISE, USUAL, MORE, ABSENT, PRESENT)  # one ends like another
OHM_SOME = msg("some resistance")


def band_words(label: str, *, ohms: bool) -> str:
    """Return a label of outcomes in a mechanic's words; `ohms` are read on another scale."""
    bands = {**BANDS, "some": OHM_SOME} if ohms else BANDS
    words = [say(bands[n]) if n in bands else _told(n) for n in label.split(" or ")]
    return listed(words, "or", most=99)


def _told(label: str) -> str:
    """Return words, or figures held against a sound vehicle's, in the reader's language."""
    return "; ".join(_held(piece) for piece in label.split("; "))


def _held(piece: str) -> str:
    for band in HELD_AGAINST:
        if piece.endswith(band):
            owner, _, figure = piece.removesuffix(band).rstrip().rpartition(": ")
            lead = f"{owner}: " if owner else ""
            return f"{lead}{_figure(figure)} {say(band)}".strip()
    return retold(piece)


def _figure(name: str) -> str:
    """Return a figure's name: of a channel of the oscilloscope, or one of several alike."""
    channel, _, figure = name.partition(" ")
    if channel in CHANNELS and figure:
        return f"{channel} {retold(figure)}"
    what, _, number = name.rpartition(" ")
    if number.isdigit():
        return f"{say(MOMENT) if what == MOMENT else retold(what)} {number}"
    return retold(name)
