"""A case made ready for judging: suspects, test space, policy; kept on disk by content.

Exploring the test space takes seconds, reading it back milliseconds. The key is the content of
case and circuit and of every source file the test space depends on, so a stale file is never used.
"""

from __future__ import annotations

import hashlib
import json
import os
from collections.abc import Sequence
from contextlib import suppress
from pathlib import Path
from typing import Any

import numpy as np
from platformdirs import user_cache_dir

import grader
import sim
from grader.bands import Split
from grader.casefile import Case
from grader.choices import Choice
from grader.outcomes import TestSpace, explore, problem_of
from grader.policy import Policy
from grader.suspects import Lineup, asked, corner_circuits, line_up, start_situation
from sim.action import action_from_json
from sim.observe import Fleet
from sim.situation import Memory, Situation

FORMAT, VERSION = "test-space", 1
#: Comes after the score, so no test space depends on it.
GRADEBOOK = Path(__file__).parent / "gradebook"


class Prepared:
    """A case ready for judging.

    Attributes
    ----------
    lineup : Lineup
    healthy : Fleet
        The healthy vehicle at every corner of what varies.
    space : TestSpace
        The plain readings that tell something.
    """

    def __init__(self, lineup: Lineup, healthy: Fleet, space: TestSpace) -> None:
        self.lineup, self.healthy, self.space = lineup, healthy, space
        self._policies: dict[tuple[str, ...], Policy] = {}

    @property
    def case(self) -> Case:
        """The case."""
        return self.lineup.case

    @property
    def start(self) -> Situation:
        """The bench at hand-over."""
        return start_situation(self.case)

    def memories(self) -> tuple[Memory, Memory]:
        """Return the memories at hand-over of all suspects and of the healthy vehicles."""
        fleets = (self.lineup.fleet, self.healthy)
        ours, theirs = (fleet.fresh_memory(self.start) for fleet in fleets)
        return ours, theirs

    def likelihoods(self, questions: Sequence[str] = ()) -> np.ndarray:
        """Return the suspects' likelihoods after these questions, summing to 1."""
        return asked(self.lineup, questions)

    def policy(self, questions: Sequence[str] = ()) -> Policy:
        """Return the policy under the likelihoods after these questions."""
        key = tuple(sorted(set(questions)))
        if key not in self._policies:
            problem = problem_of(self.lineup, self.space, self.likelihoods(key))
            self._policies[key] = Policy(problem)
        return self._policies[key]


def prepare(case: Case, folder: Path | None = None) -> Prepared:
    """Return a case ready for judging, from the cache if it is there.

    Parameters
    ----------
    folder : Path, optional
        Where test spaces are kept; the user's cache folder if not given.
    """
    lineup = line_up(case)
    healthy = Fleet.of(corner_circuits(case), lineup.fleet.solver)
    folder = folder or Path(os.environ.get("HALFSPLIT_CACHE") or user_cache_dir("halfsplit"))
    file = folder / f"{case.name}-{content_key(case)}.json"
    space = load_space(file)
    if space is None:
        space = explore(lineup, healthy)
        save_space(file, space)
    return Prepared(lineup, healthy, space)


def content_key(case: Case) -> str:
    """Return a key that changes whenever the test space could."""
    digest = hashlib.sha256(f"{case.sha256}|{case.circuit.sha256}".encode())
    for package in (sim, grader):
        root = Path(str(package.__file__)).parent
        for path in sorted(root.rglob("*.py")):
            if GRADEBOOK in path.parents:
                continue
            digest.update(path.relative_to(root).as_posix().encode())
            digest.update(path.read_bytes().replace(b"\r\n", b"\n"))
    return digest.hexdigest()[:20]


def save_space(file: Path, space: TestSpace) -> None:
    """Write a test space; a cache that cannot be written is done without."""
    data = {
        "format": FORMAT,
        "version": VERSION,
        "tests": [
            {
                "name": choice.name,
                "prepare": [action.to_json() for action in choice.prepare],
                "do": choice.action.to_json(),
                "minutes": choice.minutes,
                "places": choice.places,
                "leads": choice.leads,
                "groups": parts.groups,
                "member": parts.member.tolist(),
            }
            for choice, parts in zip(space.choices, space.splits, strict=True)
        ],
    }
    partial = file.with_suffix(f".{os.getpid()}.part")
    try:
        file.parent.mkdir(parents=True, exist_ok=True)
        partial.write_text(json.dumps(data), encoding="utf-8")
        partial.replace(file)
    except OSError:
        with suppress(OSError):
            partial.unlink()


def load_space(file: Path) -> TestSpace | None:
    """Read a test space back; None if it is not there or not whole."""
    try:
        data = json.loads(file.read_text(encoding="utf-8"))
        pairs = [_read_test(test) for test in data["tests"]]
    except (OSError, ValueError, KeyError, TypeError):
        return None
    return TestSpace(tuple(choice for choice, _ in pairs), tuple(parts for _, parts in pairs))


def _read_test(test: dict[str, Any]) -> tuple[Choice, Split]:
    choice = Choice(
        test["name"],
        tuple(action_from_json(do) for do in test["prepare"]),
        action_from_json(test["do"]),
        float(test["minutes"]),
        tuple(test["places"]),
        int(test["leads"]),
    )
    groups = tuple(tuple(group) for group in test["groups"])
    return choice, Split(groups, np.array(test["member"], dtype=np.int64))
