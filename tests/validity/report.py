"""The study's table and plot: what was found, printed, and written to `build/validity`."""

import itertools
import sys
from collections.abc import Mapping, Sequence
from pathlib import Path

import matplotlib as mpl
import numpy as np
from matplotlib.figure import Figure

from tests.validity.statistics import area_under_curve
from tests.validity.study import ROOT, by_count, parallel

FOLDER = ROOT / "build" / "validity"
COUNTS = (1, 3, 5, 10, 20)


def text_table(regret: np.ndarray, cost: np.ndarray, steps: np.ndarray, skills: np.ndarray) -> str:
    """Give rank correlation with skill and parallel forms by number of cases."""
    lines = ["cases   rank correlation with skill             parallel forms"]
    lines += ["        log regret  regret   cost  steps        log regret  regret   cost"]
    for count in COUNTS:
        if count > regret.shape[1]:
            continue
        plain = [by_count(figures, skills, count, log=False) for figures in (regret, cost, steps)]
        row = [by_count(regret, skills, count, log=True), *plain]
        text = f"{count:5}      " + "  ".join(f"{value:6.3f}" for value in row)
        if 2 * count <= regret.shape[1]:
            forms = [
                parallel(regret, count, log=True),
                *(parallel(figures, count, log=False) for figures in (regret, cost)),
            ]
            text += "            " + "  ".join(f"{value:6.3f}" for value in forms)
        lines.append(text)
    return "\n".join(lines)


def kinds_table(kept: Mapping[str, Sequence[float]]) -> str:
    """Give what each kind of student keeps of the efficiency: mean, and spread between plays."""
    width = max(len(name) for name in kept)
    return "\n".join(
        f"{name:{width}}  keeps {np.mean(shares):5.1%} of the efficiency, +-{np.std(shares):5.1%}"
        for name, shares in kept.items()
    )


def neighbours_table(points: Mapping[str, np.ndarray]) -> str:
    """Give how surely one case tells each kind of student from the next better one."""
    worst_first = sorted(points, key=lambda name: float(points[name].mean()))
    return "\n".join(
        f"{high} scores above {low} with chance {area_under_curve(points[low], points[high]):.2f}"
        for low, high in itertools.pairwise(worst_first)
    )


def plot(regret: np.ndarray, skills: np.ndarray, scores: np.ndarray, file: Path) -> None:
    """Draw score against skill, and how it grows more certain with the number of cases."""
    mpl.use("Agg")
    figure = Figure(figsize=(9, 3.6), layout="constrained")
    left, right = figure.subplots(1, 2)
    left.plot(skills, scores, ".")
    left.set_xlabel("skill of the simulated student")
    left.set_ylabel("score of all cases (log regret)")
    counts = [count for count in COUNTS if count <= regret.shape[1]]
    for log, label in ((True, "log regret"), (False, "regret")):
        right.plot(counts, [by_count(regret, skills, n, log=log) for n in counts], label=label)
    right.set_xlabel("cases")
    right.set_ylabel("rank correlation with skill")
    right.legend()
    file.parent.mkdir(parents=True, exist_ok=True)
    figure.savefig(file, dpi=120)


def say(name: str, text: str) -> None:
    """Print a table and keep it beside the plot."""
    sys.stdout.write(f"\n{name}\n{text}\n")
    FOLDER.mkdir(parents=True, exist_ok=True)
    (FOLDER / f"{name}.txt").write_text(text + "\n", encoding="utf-8")
