"""One pen a work order: of several tabs that show it, one writes, and all of them know it.

A page says its name when it is drawn: ``{"tab": NAME, "is": "here"}``, and ``"gone"`` when it goes.
The newest page, or the one that asks for it, has the pen; a page that is still alive without it
says ``"still"``, so that the one that writes learns of it. A page that was merely closed is
forgotten with the next page that takes the pen. Nothing of this is in the record.
"""

from __future__ import annotations

from collections.abc import Mapping
from typing import Any

from sim.language import msg

SAYINGS = ("here", "still", "gone")
NO_PEN = msg(
    "this work order is open in another tab, which writes; choose Work here to go on in this one"
)


class Pen:
    """Which page writes.

    Attributes
    ----------
    holder : str
        Name of the page that has the pen; empty while none has asked.
    others : tuple of str
        Pages that said they are alive since the pen last changed hands.
    """

    def __init__(self) -> None:
        self.holder = ""
        self.others: tuple[str, ...] = ()

    def hear(self, message: Mapping[str, Any]) -> bool:
        """Take in what a page says of itself; tell whether that was all the message says."""
        saying, tab = message.get("is"), str(message.get("tab", ""))
        if saying not in SAYINGS or not tab:
            return False
        if saying == "here" and tab != self.holder:
            self.holder, self.others = tab, ()
        elif saying == "still" and tab != self.holder:
            self.others = tuple(dict.fromkeys((*self.others, tab)))
        elif saying == "gone":
            self.others = tuple(other for other in self.others if other != tab)
            self.holder = "" if tab == self.holder else self.holder
        return True

    def writes(self, message: Mapping[str, Any]) -> bool:
        """Tell whether a message may do something: it comes from the holder, or nobody is."""
        tab = message.get("tab", "")
        return not self.holder or not tab or tab == self.holder

    def view(self) -> dict[str, Any]:
        """Return what the pages are told."""
        return {"holder": self.holder, "others": list(self.others)}
