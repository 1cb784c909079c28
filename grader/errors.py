"""Everything that `grader` raises on purpose.

GraderError                one clear line: what, got, allowed, where, what next
├── CaseFileError          a mistake in a case file, with file and line
├── ProblemError           a policy problem, or a question about one, that makes no sense
├── DrawError              a student's id or an assignable cause that cannot be
├── SealError              a sealed lesson that is damaged, too old or too new
├── RecordError            a record that cannot be read, is no record, or has been edited
├── AttemptError           something that cannot be done in this attempt
├── HandInZipError         a zip that was handed in and cannot be taken
└── GradebookError         a course folder in which the gradebook cannot work
"""

from __future__ import annotations


class GraderError(Exception):
    """Base of all errors of this package; its text is one clear line."""


class CaseFileError(GraderError):
    """A case file says something that cannot be; the text names file and line."""


class ProblemError(GraderError):
    """A policy problem is malformed, or a question names what the problem does not have."""


class DrawError(GraderError):
    """A student's id, or a cause that a case wants to assign, is not acceptable."""


class SealError(GraderError):
    """A lesson key cannot be sealed, or a sealed one is damaged, too old or too new."""


class RecordError(GraderError):
    """A record cannot be read, is no record, is of another version, or has been edited."""


class AttemptError(GraderError):
    """Something cannot be done in this attempt, or the record belongs to another one."""


class HandInZipError(GraderError):
    """A zip that was handed in is damaged, too large, or would leave its folder."""


class GradebookError(GraderError):
    """Something is missing in the course folder: secret, release or case."""
