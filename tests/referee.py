"""Ask ngspice for an operating point, and take the answer that it found without a detour.

Where Newton's steps do not settle, ngspice steps up a shunt at every node (gmin) or the sources,
and takes what the last step gives, also where that last step failed: an island that hangs on leaks
is then off by some millivolts, or by volts. It says so ("stepping"). Whether they settle depends on
the pivots, which it chooses once, at the first step; so another bound for pivots is tried then.
"""

import re
import subprocess

PIVOTS = ("0.9", "0.5", "0.99", "0.1")  # of the largest in its column, the least that may be pivot


def run_ngspice(program: str, netlist: str) -> dict[str, float]:
    """Give the voltage of every point by ngspice; nothing if it finds no answer at all.

    Parameters
    ----------
    program
        Path of ngspice.
    netlist
        As `sim.spice` writes it.
    """
    points = dict(re.findall(r"^\* (\S+) = (.+)$", netlist, re.MULTILINE))
    answers = []
    for pivots in PIVOTS:
        text = re.sub(r"\bpivrel=\S+", f"pivrel={pivots}", netlist)
        done = subprocess.run(
            [program, "-n", "-b"], input=text, capture_output=True, text=True, check=False
        )
        found = re.findall(r"^v\((\S+)\) = (\S+)$", done.stdout, re.MULTILINE)
        answer = {points[name]: float(value) for name, value in found}
        if answer and "stepping" not in done.stdout + done.stderr:
            return answer
        answers.append(answer)
    return next((answer for answer in answers if answer), {})
