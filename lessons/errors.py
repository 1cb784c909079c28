"""Everything that `lessons` raises on purpose.

LessonError                one clear line: what, got, allowed, where, what next
├── ReleaseError           a lesson that cannot be released, or a release that is none
├── FolderError            a student's folder that is missing, moved, damaged or another's
├── ServerError            JupyterLab that does not start
├── HandInError            a lesson that cannot be handed in
└── CourseError            a course folder that cannot be made or used
"""

from __future__ import annotations


class LessonError(Exception):
    """Base of all errors of this package; its text is one clear line."""


class ReleaseError(LessonError):
    """A lesson cannot be released, or what was given as a release is none."""


class FolderError(LessonError):
    """A student's folder is missing, moved, damaged, of another version, or another student's."""


class ServerError(LessonError):
    """JupyterLab does not start, or stops at once."""


class HandInError(LessonError):
    """There is nothing that can be handed in, or it cannot be read."""


class CourseError(LessonError):
    """A course folder cannot be made or used, or what instructors need is not installed."""
