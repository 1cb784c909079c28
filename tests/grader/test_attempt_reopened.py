"""An attempt taken up again: the same bench, whoever stopped it and however."""

import json
import random
import subprocess
import sys
import time
from dataclasses import replace
from pathlib import Path

import numpy as np
import pytest

from grader.attempt import Attempt
from grader.draw import Draw
from grader.errors import AttemptError
from grader.record import read_record
from tests.grader.attempts import DRAWN, HINGE, attempt, standing, work
from tests.grader.foggy import FILE, LESSONS, VALUES, foggy, prepared

ROOT = Path(__file__).parents[2]


@pytest.fixture
def path(tmp_path) -> Path:
    return tmp_path / "foggy.record.jsonl"


def test_opened_again_everything_stands_as_it_was(path):
    with attempt(path) as one:
        work(one)
        before = standing(one)
    raw = path.read_bytes()
    with attempt(path) as again:
        assert standing(again) == before
        assert path.read_bytes() == raw
        assert np.array_equal(again.vehicle.bench.fleet.rows, one.vehicle.bench.fleet.rows)


def test_work_goes_on_as_if_it_had_never_stopped(path, tmp_path):
    rest = (
        {"plug": "C41"},
        {"unbridge": True},
        {"measure": "volts", "red": "E9.1", "black": "body"},
        {"feel": "C41"},
    )
    with attempt(path) as one:
        work(one)
    with attempt(path) as one:
        shown = [one.act(do).data for do in rest]
    with attempt(tmp_path / "at once.jsonl") as one:
        work(one)
        for do, stopped in zip(rest, shown, strict=True):
            data = one.act(do).data
            assert {k: data[k] for k in ("do", "minutes", "clock", "harm")} == {
                k: stopped[k] for k in ("do", "minutes", "clock", "harm")
            }
            assert data.get("shown") == stopped.get("shown")


@pytest.mark.parametrize(
    ("other", "says"),
    [
        ({"student": "ada"}, "another student's record: student is 'kim', expected 'ada'"),
        ({"drawn": Draw(HINGE, VALUES, "else")}, "another draw"),
    ],
)
def test_what_belongs_to_somebody_else_is_refused(path, other, says):
    with attempt(path) as one:
        work(one)
    raw = path.read_bytes()
    with pytest.raises(AttemptError, match=says) as caught, attempt(path, **other):
        pass
    assert "\n" not in str(caught.value)
    assert path.read_bytes() == raw
    with attempt(path):  # and it was let go of
        pass


@pytest.mark.parametrize(
    ("change", "says"),
    [
        ({"name": "other-case"}, "another case's record"),
        ({"sha256": "0" * 64}, "made with another version of the case"),
    ],
)
def test_another_case_or_version_is_refused(path, change, says):
    with attempt(path) as one:
        work(one)
    lineup = replace(prepared().lineup, case=replace(foggy(), **change))
    with pytest.raises(AttemptError, match=says), Attempt(lineup, DRAWN, "kim", path):
        pass


def test_a_record_that_cannot_be_done_again_is_refused_in_one_line(path):
    with attempt(path) as one:
        one.writer.append("act", {"do": {"pull": "Z9"}, "minutes": "1", "clock": "1", "harm": []})
    with pytest.raises(AttemptError, match="entry 1 cannot be done again") as caught, attempt(path):
        pass
    assert "\n" not in str(caught.value)


# -- killed at any moment

SCRIPT = """
import json, sys
from pathlib import Path
from grader.attempt import Attempt
from grader.casefile import read_case
from grader.draw import Draw
from grader.suspects import line_up

file, circuits, record, cause, values = sys.argv[1:]
lineup = line_up(read_case(Path(file), Path(circuits)))
drawn = Draw(cause, json.loads(values), "tag")
dos = [
    {"set": {"key": "run", "heater switch": "on"}},
    {"measure": "volts", "red": "C41.1b", "black": "body"},
    {"pull": "F7"},
    {"measure": "ohms", "red": "F7.1", "black": "F7.2"},
    {"insert": "F7"},
    {"look": "fuse panel"},
    {"set": {"heater switch": "off"}},
    {"wait": "1 min"},
]
with Attempt(lineup, drawn, "kim", Path(record)) as one:
    apart = one.vehicle.bench.situation.apart
    if apart:
        print(json.dumps(one.act({"insert": "F7"}).data), flush=True)
    while True:
        for do in dos:
            print(json.dumps(one.act(do).data), flush=True)
        struck = one.progress.struck
        entry = one.restore(["F7=open"]) if "F7=open" in struck else one.strike(["F7=open"])
        print(json.dumps(dict(entry.data)), flush=True)
"""


def test_killed_at_any_moment_nothing_that_was_shown_is_lost(path):
    rng = random.Random(9)  # noqa: S311 -- not for secrets
    arguments = [FILE, LESSONS / "circuits", path, HINGE, json.dumps(VALUES)]
    shown: list[dict] = []
    for turn in range(3):
        process = subprocess.Popen(
            [sys.executable, "-c", SCRIPT, *map(str, arguments)],
            cwd=ROOT,
            stdout=subprocess.PIPE,
            text=True,
        )
        assert process.stdout is not None
        seen = [process.stdout.readline() for _line in range(rng.randint(1, 40))]
        time.sleep(rng.random() / 50)
        process.kill()  # SIGKILL
        seen += process.stdout.read().splitlines(keepends=True)
        process.stdout.close()
        process.wait()
        shown += [json.loads(line) for line in seen if line.endswith("\n")]
        kept = [dict(entry.data) for entry in read_record(path)[1:]]
        # every line that came out is there, in order; at most one more was written and not shown
        assert [line for line in kept if line in shown] == shown
        assert len(kept) - len(shown) <= turn + 1
        with attempt(path) as again:
            bench = again.vehicle.bench
            strikes = [line for line in kept if line["kind"] in ("strike", "restore")]
            assert again.progress.struck == ({"F7=open"} if len(strikes) % 2 else set())
            if kept[-1]["kind"] == "act":
                minutes = bench.situation.clock / 60 + again.vehicle.extra_minutes
                assert f"{minutes:.1f}" == kept[-1]["clock"]
            pulls = [line["do"] for line in kept if "do" in line and len(line["do"]) == 1]
            handled = [do for do in pulls if "pull" in do or "insert" in do]
            assert bench.situation.apart == (("F7",) if "pull" in handled[-1] else ())
