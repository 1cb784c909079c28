"""The button at the end of a lesson: the page is saved, then packed into the zip to hand in."""

from __future__ import annotations

import json
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
from sim.language import msg, say, speaking, spoken, wanted

HERE = Path(__file__).parent  # not `front`: all of that becomes the workbench's one module
PATIENCE = 8.0  # s, for the page to be written; ours
NOT_SAVED = msg("The page could not be saved from here. Press Ctrl-S, then this button again.")


class HandInButton(anywidget.AnyWidget):
    """A button; `said` holds the lines under it, `noted` counts how often it was pressed.

    `label` is what stands on it, in the language spoken when it was made.

    Parameters
    ----------
    lesson : Path
        The lesson's folder.
    """

    _esm = HERE / "handinbutton.js"
    _css = HERE / "handinbutton.css"
    said = traitlets.Dict().tag(sync=True)
    noted = traitlets.Int(0).tag(sync=True)
    label = traitlets.Unicode().tag(sync=True)

    def __init__(self, lesson: Path) -> None:
        super().__init__()
        self.lesson = lesson
        self._stamp = 0
        self.language = spoken()
        self.label = say("Save this page and pack it to hand in")
        self.on_msg(self._heard)

    def _heard(self, _widget: object, content: Mapping[str, Any], _buffers: object) -> None:
        with speaking(self.language):
            self._do(content)

    def _do(self, content: Mapping[str, Any]) -> None:
        try:
            if content.get("note"):
                self._stamp = self._changed()
                self.said = {"lines": [say("Saving the page …")], "busy": True}
                self.noted += 1
            elif content.get("pack"):
                saved = bool(content.get("saved")) and self._wait_for_the_page()
                self.said = {"lines": self.pack() if saved else [say(NOT_SAVED)]}
        except (LessonError, GraderError, OSError) as error:
            self.said = {"lines": [str(error)]}

    def _notebook(self) -> Path:
        name, _key = read_seal(self.lesson)
        return self.lesson / f"{name}.ipynb"

    def _changed(self) -> int:
        """Return when the notebook was last written, in ns."""
        return self._notebook().stat().st_mtime_ns

    def _wait_for_the_page(self) -> bool:
        """Wait until the page has been written anew, and to its end."""
        end = time.monotonic() + PATIENCE
        while time.monotonic() < end:
            if self._changed() != self._stamp and is_whole(self._notebook()):
                return True
            time.sleep(0.05)
        return False

    def pack(self) -> list[str]:
        """Make the zip; return the lines to show."""
        made = make_handin(self.lesson)
        lines = [say("Packed: {file}. Hand in this one file.", file=made.path)]
        if made.missing:
            lines = [*(say("Not finished: {what}", what=line) for line in made.missing), *lines]
        return lines


def is_whole(notebook: Path) -> bool:
    """Tell whether a notebook can be read; one that is just being written cannot."""
    try:
        json.loads(notebook.read_bytes())
    except ValueError:
        return False
    return True


def hand_in(folder: Path | None = None, *, language: str = "") -> HandInButton:
    """Return the button for the lesson in a folder; the notebook's own if none is given.

    Raises
    ------
    LanguageError
        There is no such language; that of HALFSPLIT_LANGUAGE is spoken if none is given.
    """
    with speaking(wanted(language)):
        return HandInButton(Path.cwd() if folder is None else folder)
