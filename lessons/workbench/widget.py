"""The widget: a thin wire between the desk in the kernel and the page that draws it.

The browser sends ``{"seq": N, ...}`` messages, the desk does them, and the view goes back with the
same number; so a page knows which of its clicks is done. What takes longer sends signs of life
meanwhile, ``{"working": TEXT, "seq": N, "tab": NAME}``. The diagram goes over once, the score
sheet when it is worked out, the words of a language when it is chosen: ``{"language": CODE}``.
"""

from __future__ import annotations

from collections.abc import Mapping
from concurrent.futures import Future, ThreadPoolExecutor
from contextvars import copy_context
from functools import partial
from typing import Any, ClassVar

import anywidget
import traitlets

from grader.attempt import Attempt
from lessons.workbench.desk import CaseDesk, Desk
from lessons.workbench.front import script, style
from lessons.workbench.panels.diagram import drawing
from lessons.workbench.panels.sheet import failed_sheet, sheet_of, waiting_sheet
from lessons.workbench.papers import paper
from lessons.workbench.pen import NO_PEN, Pen
from lessons.workbench.signs import Signs
from lessons.workbench.view import message_view, view_of
from sim.errors import ActionError
from sim.language import languages, page_words, say, speaking, spoken


def moved() -> dict[str, str]:
    """Return the view of a bench that has been opened again."""
    return message_view(
        say("This bench was opened again"),
        say("Work on in the newer one. This one is at rest; nothing is lost."),
    )


def speech(language: str) -> dict[str, Any]:
    """Return what a page has to know of a language: its words, and the languages there are."""
    return {
        "language": language,
        "choices": [list(choice) for choice in languages().items()],
        "words": dict(page_words(language)),
    }


class Workbench(anywidget.AnyWidget):
    """A bench on the screen.

    Parameters
    ----------
    desk : Desk or None
        What it shows and works on; None for a mere message.
    message : mapping, optional
        The view to show where there is no desk.
    language : str
        Code of the language it speaks first; the one spoken now, if not given.

    Attributes
    ----------
    view : dict
        What is drawn, see `lessons.workbench.view`; `seq` is the last message it answers.
    drawing : dict
        The diagram; goes over once.
    sheet : dict
        The score sheet, empty until the work order is closed.
    speech : dict
        The language, and its words for the page.
    """

    _esm = script()
    _css = style()
    view = traitlets.Dict().tag(sync=True)
    drawing = traitlets.Dict().tag(sync=True)
    sheet = traitlets.Dict().tag(sync=True)
    speech = traitlets.Dict().tag(sync=True)
    #: Benches at work in this kernel, by the record they write; running a cell again takes over.
    at_work: ClassVar[dict[str, Workbench]] = {}

    def __init__(
        self, desk: Desk | None, message: Mapping[str, Any] | None = None, *, language: str = ""
    ) -> None:
        super().__init__()
        self.desk = desk
        self.pen = Pen()
        self.worker: ThreadPoolExecutor | None = None
        self.language = language or spoken()
        self.speech = speech(self.language)
        if desk is None:
            self.view = {**(message or {}), "seq": 0}
            return
        with speaking(self.language):
            self.drawing = drawing(desk.circuit)
            self._show(desk, 0)
        self.on_msg(self.receive)
        if isinstance(desk, CaseDesk):
            self.at_work[str(desk.attempt.writer.path)] = self

    def receive(self, _widget: object, content: object, _buffers: object) -> None:
        """Do what a message from the browser says, and show how things stand then."""
        if self.desk is None:
            return
        said: Mapping[str, Any] = content if isinstance(content, Mapping) else {}
        if said.get("language") in languages():
            self.language = str(said["language"])
            self.speech = speech(self.language)
            self.sheet = {}
        with speaking(self.language), Signs(partial(self._at_work, self.desk, said)):
            if "language" in said:
                self.drawing = drawing(self.desk.circuit)
            else:
                self._do(self.desk, said, content)
            self._show(self.desk, said.get("seq", 0))

    def _at_work(self, desk: Desk, said: Mapping[str, Any]) -> None:
        """Tell the page that its message is being worked on, and what is worked out."""
        text = desk.doing or say("Work goes on; the answer comes when it is done.")
        self.send({"working": text, "seq": said.get("seq", 0), "tab": said.get("tab", "")})

    def _show(self, desk: Desk, seq: object) -> None:
        """Send how things stand, in the language now spoken."""
        self.view = {**view_of(desk), "pen": self.pen.view(), "seq": seq}
        if isinstance(desk, CaseDesk):
            self._score_if_closed(desk)

    def _do(self, desk: Desk, said: Mapping[str, Any], content: object) -> None:
        """Do what a page asks, if it has the pen; papers are sent to the page that asked."""
        if self.pen.hear(said):
            desk.notice = desk.stuck
        elif "save" in said:
            self._save(desk, said)
        elif self.pen.writes(said):
            desk.handle(content)
        else:
            desk.notice = say(NO_PEN)

    def _save(self, desk: Desk, said: Mapping[str, Any]) -> None:
        desk.notice = desk.stuck
        try:
            self.send({"paper": paper(desk, said["save"]), "tab": said.get("tab", "")})
        except ActionError as error:
            desk.notice = str(error)

    def _score_if_closed(self, desk: CaseDesk) -> None:
        """Work out the score sheet aside, so that the page goes on answering."""
        if not desk.attempt.progress.closed or self.sheet:
            return
        self.sheet = waiting_sheet()
        self.worker = ThreadPoolExecutor(1, "score sheet")
        # a thread has a context of its own: it is handed the language of this bench
        work = self.worker.submit(copy_context().run, sheet_of, desk.attempt)
        self.worker.shutdown(wait=False)
        work.add_done_callback(partial(self._score_done, self.language))

    def _score_done(self, language: str, work: Future[dict[str, Any]]) -> None:
        """Show a sheet that is ready, unless another language has been chosen meanwhile."""
        if language != self.language:
            return
        error = work.exception()
        with speaking(language):
            self.sheet = work.result() if error is None else failed_sheet(error)

    def rest(self) -> None:
        """Close the record and say so; another bench takes over."""
        if isinstance(self.desk, CaseDesk):
            attempt: Attempt = self.desk.attempt
            self.at_work.pop(str(attempt.writer.path), None)
            attempt.__exit__(None, None, None)
            self.desk = None
            self.sheet = {}
            with speaking(self.language):
                self.view = {**moved(), "seq": 0}
