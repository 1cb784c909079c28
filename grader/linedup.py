"""The suspects of a case, kept on disk by content: whoever opens a case again need not try them.

To find them every fault of the circuit is tried on the complaint, which takes as long as some
hundred readings. The file holds the names of those that show it; suspects, likelihoods and units
are always read from the case itself.
"""

from __future__ import annotations

import json
from contextlib import suppress
from pathlib import Path

from grader.case import Case
from grader.contentkey import cache_folder, content_key, keep
from grader.errors import CaseFileError
from grader.suspects import Lineup, line_up
from grader.turn import turn

FORMAT, VERSION = "suspects", 1


def lined_up(case: Case, folder: Path | None = None, key: str = "") -> Lineup:
    """Return the suspects of a case, from the cache if they are there.

    Parameters
    ----------
    folder : Path, optional
        Where they are kept; the user's cache folder if not given.
    key : str, optional
        The case's content key, if it is known already.

    Raises
    ------
    CaseFileError
        The complaint fits nothing, or a suspect that no unit mends.
    """
    file = cache_folder(folder) / f"{case.name}-{key or content_key(case)}.suspects.json"
    lineup = _known(case, file)
    if lineup is None:
        with turn(file):
            lineup = _known(case, file) or line_up(case)
            names = [suspect.name for suspect in lineup.suspects]
            keep(file, json.dumps({"format": FORMAT, "version": VERSION, "names": names}))
    return lineup


def _known(case: Case, file: Path) -> Lineup | None:
    """Return the suspects that a file names; None if it names others, or none."""
    known = _load(file)
    if known:
        with suppress(CaseFileError):  # none of the names is this case's: the file is damaged
            lineup = line_up(case, showing=known)
            if [suspect.name for suspect in lineup.suspects] == known:
                return lineup
    return None


def _load(file: Path) -> list[str]:
    """Return the names in a file; none if it is not there or not whole."""
    try:
        names = json.loads(file.read_text(encoding="utf-8"))["names"]
    except (OSError, ValueError, KeyError, TypeError):
        return []
    return [name for name in names if isinstance(name, str)]
