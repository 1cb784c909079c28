"""The button at the end of a lesson: the page is saved, then packed into the zip to hand in."""

from __future__ import annotations

import time
from collections.abc import Mapping
from pathlib import Path
from typing import Any

import anywidget
import traitlets

from grader.errors import GraderError
from lessons.course import read_seal
from lessons.errors import LessonError
from lessons.handin import make_handin

FRONT = Path(__file__).parent / "front"
PATIENCE = 8.0  # s, for the page to be written; ours
NOT_SAVED = "The page could not be saved from here. Press Ctrl-S, then this button again."


class HandInButton(anywidget.AnyWidget):
    """A button; `said` holds the lines under it, `noted` counts how often it was pressed.

    Parameters
    ----------
    lesson : Path
        The lesson's folder.
    """

    _esm = FRONT / "handin.js"
    _css = FRONT / "handin.css"
    said = traitlets.Dict().tag(sync=True)
    noted = traitlets.Int(0).tag(sync=True)

    def __init__(self, lesson: Path) -> None:
        super().__init__()
        self.lesson = lesson
        self._stamp = 0
        self.on_msg(self._heard)

    def _heard(self, _widget: object, content: Mapping[str, Any], _buffers: object) -> None:
        try:
            if content.get("note"):
                self._stamp = self._changed()
                self.said = {"lines": ["Saving the page …"], "busy": True}
                self.noted += 1
            elif content.get("pack"):
                saved = bool(content.get("saved")) and self._wait_for_the_page()
                self.said = {"lines": self.pack() if saved else [NOT_SAVED]}
        except (LessonError, GraderError, OSError) as error:
            self.said = {"lines": [str(error)]}

    def _changed(self) -> int:
        """Return when the notebook was last written, in ns."""
        name, _key = read_seal(self.lesson)
        return (self.lesson / f"{name}.ipynb").stat().st_mtime_ns

    def _wait_for_the_page(self) -> bool:
        end = time.monotonic() + PATIENCE
        while self._changed() == self._stamp:
            if time.monotonic() > end:
                return False
            time.sleep(0.05)
        return True

    def pack(self) -> list[str]:
        """Make the zip; return the lines to show."""
        made = make_handin(self.lesson)
        lines = [f"Packed: {made.path}. Hand in this one file."]
        if made.missing:
            lines = [*(f"Not finished: {line}" for line in made.missing), *lines]
        return lines


def hand_in(folder: Path | None = None) -> HandInButton:
    """Return the button for the lesson in a folder; the notebook's own if none is given."""
    return HandInButton(Path.cwd() if folder is None else folder)
