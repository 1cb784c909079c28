"""`nbgrader zip_collect`, second half: which unpacked file is whose."""

from __future__ import annotations

from pathlib import Path

from nbgrader.plugins import FileNameCollectorPlugin

from grader.gradebook.names import TIME, read_name
from grader.gradebook.problems import FILE
from grader.gradebook.zips import ending_of


class HandInCollector(FileNameCollectorPlugin):
    """Knows the folders that the extractor makes."""

    def collect(self, submitted_file: str) -> dict[str, str] | None:
        """Return student, time and name of a file; None for one that is not collected."""
        path = Path(submitted_file)
        name = read_name(path.parent.name)
        if name is None or not (path.name == FILE or ending_of(path.name)):
            return None
        return {
            "student_id": name.student,
            "timestamp": name.time.strftime(TIME),
            "file_id": path.name,
        }
