"""The course's nbgrader configuration, which its `nbgrader_config.py` asks for in two lines."""

from __future__ import annotations

import os
import shutil
import sys
from pathlib import Path

from nbgrader.preprocessors import (
    AssignLatePenalties,
    CheckCellMetadata,
    ClearOutput,
    DeduplicateIds,
    OverwriteCells,
    OverwriteKernelspec,
)
from traitlets.config import Config

from grader.gradebook.answers import KeepAnswers
from grader.gradebook.collector import HandInCollector
from grader.gradebook.export import CsvWithProblems
from grader.gradebook.extractor import SafeExtractor
from grader.gradebook.grades import SaveGrades
from grader.gradebook.hook import HandInMender
from grader.gradebook.points import PointsFromRecords


def configure(config: Config) -> None:
    """Put our pieces in: grading from records, safe collecting, named problems in the export.

    What the course's own file sets afterwards counts.
    """
    find_helpers()
    config.ZipCollectApp.extractor_plugin = SafeExtractor
    config.ZipCollectApp.collector_plugin = HandInCollector
    config.Autograde.pre_convert_hook = HandInMender(config)
    config.Autograde.sanitize_preprocessors = [
        KeepAnswers,
        ClearOutput,
        DeduplicateIds,
        OverwriteKernelspec,
        OverwriteCells,
        CheckCellMetadata,
    ]
    config.Autograde.autograde_preprocessors = [
        PointsFromRecords,
        SaveGrades,
        AssignLatePenalties,
        CheckCellMetadata,
    ]
    config.OverwriteCells.add_missing_cells = True
    config.ExportApp.plugin_class = CsvWithProblems


def find_helpers() -> None:
    """Let nbgrader find `alembic`, which makes its database, where nbgrader itself is installed.

    It looks on the PATH alone, which does not lead there if the environment is not activated.
    """
    if shutil.which("alembic") is None:
        beside = str(Path(sys.executable).parent)
        os.environ["PATH"] = os.pathsep.join([beside, os.environ.get("PATH", "")])
