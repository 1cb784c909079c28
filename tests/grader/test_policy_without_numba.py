"""Where numba is not installed the search works in whole arrays and gives the same answers."""

import json
import os
import subprocess
import sys
from collections.abc import Callable
from pathlib import Path

from grader.policy import solve_problem
from grader.problem import Problem

TOP = Path(__file__).parents[2]
PROGRAM = """
import json, sys
sys.modules["numba"] = None  # `import numba` now fails
from sim.compiled import compiled
from grader.policy import solve_problem
from grader.problem import read_problem
assert compiled(json.dumps) is json.dumps
print(json.dumps([solve_problem(read_problem(json.dumps(one))) for one in json.load(sys.stdin)]))
"""


def as_json(problem: Problem) -> dict:
    """Write a problem in its format."""
    data = {
        "format": "policy-problem",
        "version": 1,
        "suspects": [
            {"name": s.name, "likelihood": s.weight} | ({"unit": s.unit} if s.unit else {})
            for s in problem.suspects
        ],
        "tests": [
            {"name": t.name, "minutes": t.minutes, "outcomes": t.outcomes, "places": t.places}
            for t in problem.tests
        ],
        "places": [
            {"name": p.name, "minutes": p.minutes, "again": p.again} for p in problem.places
        ],
    }
    if problem.units:
        data["units"] = [
            {"name": u.name, "minutes": u.minutes, "places": u.places} for u in problem.units
        ]
    return data


def test_without_numba_it_gives_the_same(
    draw_small_problem: Callable[[int], Problem], make_circuit_problem: Callable[..., Problem]
) -> None:
    problems = [draw_small_problem(seed) for seed in range(24)]
    problems.append(make_circuit_problem(0, (5, 4), 3))
    ran = subprocess.run(
        [sys.executable, "-W", "error", "-c", PROGRAM],
        input=json.dumps([as_json(problem) for problem in problems]),
        capture_output=True,
        text=True,
        check=False,
        cwd=TOP,
        env={**os.environ, "PYTHONPATH": str(TOP)},
    )
    assert ran.returncode == 0, ran.stderr
    for plain, problem in zip(json.loads(ran.stdout), problems, strict=True):
        compiled = solve_problem(problem)
        assert plain == compiled  # to the last bit; JSON keeps every digit
        assert plain["lower"] == plain["upper"] == plain["value"]
