"""Machine code that is kept is made anew when any compiled file beside it has changed."""

import os
import subprocess
import sys
from pathlib import Path

TOP = Path(__file__).parents[2]
INNER = """
from sim.compiled import compiled

@compiled
def inner(number):
    return number + {added}
"""
OUTER = """
from sim.compiled import compiled
from inner import inner

@compiled
def outer(number):
    return inner(number) * 10
"""


def run(folder: Path) -> str:
    program = "from outer import outer; print(outer(1))"
    environment = {**os.environ, "PYTHONPATH": f"{folder}{os.pathsep}{TOP}"}
    command = [sys.executable, "-c", program]
    ran = subprocess.run(
        command, cwd=folder, env=environment, check=True, capture_output=True, text=True
    )
    return ran.stdout.strip()


def test_a_change_in_another_file_is_seen(tmp_path: Path) -> None:
    (tmp_path / "inner.py").write_text(INNER.format(added=1))
    (tmp_path / "outer.py").write_text(OUTER)
    assert run(tmp_path) == "20"
    assert run(tmp_path) == "20"
    (tmp_path / "inner.py").write_text(INNER.format(added=500))
    assert run(tmp_path) == "5010"
