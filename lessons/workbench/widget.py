"""The widget: a thin wire between the desk in the kernel and the page that draws it.

The browser sends ``{"seq": N, ...}`` messages, the desk does them, and the view goes back with the
same number; so a page knows which of its clicks is done. The diagram goes over once, the score
sheet when it is worked out.
"""

from __future__ import annotations

from collections.abc import Mapping
from concurrent.futures import Future, ThreadPoolExecutor
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
from lessons.workbench.view import message_view, view_of
from sim.errors import ActionError

MOVED = message_view(
    "This bench was opened again",
    "Work on in the newer one. This one is at rest; nothing is lost.",
)


class Workbench(anywidget.AnyWidget):
    """A bench on the screen.

    Parameters
    ----------
    desk : Desk or None
        What it shows and works on; None for a mere message.
    message : mapping, optional
        The view to show where there is no desk.

    Attributes
    ----------
    view : dict
        What is drawn, see `lessons.workbench.view`; `seq` is the last message it answers.
    drawing : dict
        The diagram; goes over once.
    sheet : dict
        The score sheet, empty until the work order is closed.
    """

    _esm = script()
    _css = style()
    view = traitlets.Dict().tag(sync=True)
    drawing = traitlets.Dict().tag(sync=True)
    sheet = traitlets.Dict().tag(sync=True)
    #: Benches at work in this kernel, by the record they write; running a cell again takes over.
    at_work: ClassVar[dict[str, Workbench]] = {}

    def __init__(self, desk: Desk | None, message: Mapping[str, Any] | None = None) -> None:
        super().__init__()
        self.desk = desk
        self.pen = Pen()
        self.worker: ThreadPoolExecutor | None = None
        if desk is None:
            self.view = {**(message or {}), "seq": 0}
            return
        self.drawing = drawing(desk.circuit)
        self.view = {**view_of(desk), "pen": self.pen.view(), "seq": 0}
        self.on_msg(self.receive)
        if isinstance(desk, CaseDesk):
            self.at_work[str(desk.attempt.writer.path)] = self
            self._score_if_closed(desk)

    def receive(self, _widget: object, content: object, _buffers: object) -> None:
        """Do what a message from the browser says, and show how things stand then."""
        if self.desk is None:
            return
        said: Mapping[str, Any] = content if isinstance(content, Mapping) else {}
        self._do(self.desk, said, content)
        self.view = {**view_of(self.desk), "pen": self.pen.view(), "seq": said.get("seq", 0)}
        if isinstance(self.desk, CaseDesk):
            self._score_if_closed(self.desk)

    def _do(self, desk: Desk, said: Mapping[str, Any], content: object) -> None:
        """Do what a page asks, if it has the pen; papers are sent to the page that asked."""
        if self.pen.hear(said):
            desk.notice = desk.stuck
        elif "save" in said:
            self._save(desk, said)
        elif self.pen.writes(said):
            desk.handle(content)
        else:
            desk.notice = NO_PEN

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
        work = self.worker.submit(sheet_of, desk.attempt)
        self.worker.shutdown(wait=False)
        work.add_done_callback(self._score_done)

    def _score_done(self, work: Future[dict[str, Any]]) -> None:
        error = work.exception()
        self.sheet = work.result() if error is None else failed_sheet(error)

    def rest(self) -> None:
        """Close the record and say so; another bench takes over."""
        if isinstance(self.desk, CaseDesk):
            attempt: Attempt = self.desk.attempt
            self.at_work.pop(str(attempt.writer.path), None)
            attempt.__exit__(None, None, None)
            self.desk = None
            self.sheet = {}
            self.view = {**MOVED, "seq": 0}
