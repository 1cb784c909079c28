"""What a reading shows, in a mechanic's words: the bands of `grader.bands`, everywhere the same."""

from __future__ import annotations

from grader.reasonwords import listed
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
OHM_SOME = msg("some resistance")


def band_words(label: str, *, ohms: bool) -> str:
    """Return a label of outcomes in a mechanic's words; `ohms` are read on another scale."""
    bands = {**BANDS, "some": OHM_SOME} if ohms else BANDS
    words = [say(bands[n]) if n in bands else retold(n) for n in label.split(" or ")]
    return listed(words, "or", most=99)
