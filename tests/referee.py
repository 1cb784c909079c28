"""Ask ngspice for an operating point, and take the answer that it found without a detour.

Where Newton's steps do not settle, ngspice steps up a shunt at every node (gmin) or the sources,
and takes what the last step gives, also where that last step failed: an island that hangs on leaks
is then off by some millivolts, or by volts. It says so ("stepping"). Whether they settle depends on
the pivots, which it chooses once, at the first step; so another bound for pivots is tried then.
"""

import os
import re
import subprocess
import tempfile
from collections.abc import Sequence
from concurrent.futures import ThreadPoolExecutor
from pathlib import Path

PIVOTS = ("0.9", "0.5", "0.99", "0.1")  # of the largest in its column, the least that may be pivot


TOGETHER = 25  # netlists that one process is given: it takes longer to begin than to solve one


def run_all(program: str, netlists: Sequence[str]) -> list[dict[str, float]]:
    """Give what `run_ngspice` gives of every netlist, many of them asked of one process."""
    some = [netlists[at : at + TOGETHER] for at in range(0, len(netlists), TOGETHER)]
    with ThreadPoolExecutor(os.cpu_count()) as pool:
        found = pool.map(lambda part: _run_together(program, part), some)
        return [answer for part in found for answer in part]


def _run_together(program: str, netlists: Sequence[str]) -> list[dict[str, float]]:
    """Ask one process; what it did not answer at once, without a step, is asked by itself."""
    script = ["* one after the other", ".control"]
    with tempfile.TemporaryDirectory() as folder:
        for number, netlist in enumerate(netlists):
            text = _asking(netlist, PIVOTS[0])
            Path(folder, f"{number}.cir").write_text(text, encoding="utf-8")
            script += [f"echo netlist {number} begins", f"source {number}.cir", "remcirc"]
            script += ["destroy all"]
        done = subprocess.run(
            [program, "-n", "-b"],
            input="\n".join([*script, "quit", ".endc", ".end", ""]),
            cwd=folder,
            capture_output=True,
            text=True,
            check=False,
        )
    parts = re.split(r"^netlist (\d+) begins$", done.stdout, flags=re.MULTILINE)
    said = dict(zip(map(int, parts[1::2]), parts[2::2], strict=True))
    answers = []
    for number, netlist in enumerate(netlists):
        answer = _answer(netlist, said.get(number, ""))
        stepped = "stepping" in said.get(number, "") + done.stderr
        answers.append(run_ngspice(program, netlist) if stepped or not answer else answer)
    return answers


def _asking(netlist: str, pivots: str) -> str:
    """Give a netlist with a bound for pivots, and one line that prints what it has a line each for.

    ngspice takes two thirds of its time for a `print` of every point by itself.
    """
    text = re.sub(r"\bpivrel=\S+", f"pivrel={pivots}", netlist)
    return re.sub(r"(?:^print v\(\S+\)\n)+", "print all\n", text, flags=re.MULTILINE)


def _answer(netlist: str, said: str) -> dict[str, float]:
    points = dict(re.findall(r"^\* (\S+) = (.+)$", netlist, re.MULTILINE))
    found = re.findall(r"^(\S+) = (\S+)$", said, re.MULTILINE)
    return {points[name]: float(value) for name, value in found if name in points}


def run_ngspice(program: str, netlist: str) -> dict[str, float]:
    """Give the voltage of every point by ngspice; nothing if it finds no answer at all.

    Parameters
    ----------
    program
        Path of ngspice.
    netlist
        As `sim.spice` writes it.
    """
    answers = []
    for pivots in PIVOTS:
        text = _asking(netlist, pivots)
        done = subprocess.run(
            [program, "-n", "-b"], input=text, capture_output=True, text=True, check=False
        )
        answer = _answer(netlist, done.stdout)
        if answer and "stepping" not in done.stdout + done.stderr:
            return answer
        answers.append(answer)
    return next((answer for answer in answers if answer), {})
