"""`halfsplit solve` and `export` of circuits whose rules set sources and pulse outputs."""

import re
import subprocess
from dataclasses import replace
from pathlib import Path

import numpy as np
import pytest

from lessons.command.vehicle import Vehicle, settle_vehicle
from sim.modules.leftover import residuals
from tests.lessons.command.test_solve_and_export import parsed, run

HERE = Path(__file__).parents[2] / "sim" / "modules"
BLOWER = str(HERE / "blower.circuit.yaml")
IDLE = ("--set", "blower=on", "--set", "engine=idle 800 rpm")
ORDERS = (("speed=low 10 %", 12.2, 13.0), ("speed=high 90 %", 14.3, 15.4))


def vehicle(*words: str) -> Vehicle:
    return settle_vehicle(parsed("solve", BLOWER, *IDLE, *words))


@pytest.mark.parametrize(("speed", "least", "most"), ORDERS)
def test_ngspice_finds_the_moment_in_which_pulsed_outputs_are_on(
    ngspice: str, capsys: pytest.CaptureFixture[str], speed: str, least: float, most: float
) -> None:
    """The alternator's voltage is the one it was ordered, not the one of its parameter."""
    netlist = run(capsys, "export", BLOWER, *IDLE, "--set", speed)
    assert "while pulsed outputs are on: A3 10, A3 11, A3 13, A3 14" in netlist.splitlines()[0]
    shown = subprocess.run(
        [ngspice, "-n", "-b"], input=netlist, capture_output=True, text=True, check=False
    ).stdout
    names = dict(re.findall(r"^\* (\S+) = (.+)$", netlist, re.MULTILINE))
    theirs = {
        names[node]: float(value)
        for node, value in re.findall(r"^v\((\S+)\) = (\S+)$", shown, re.MULTILINE)
    }
    one = vehicle("--set", speed)
    solver, solution = one.solver, one.solution
    lanes = replace(one.lanes, closed=solution.closed, blown=solution.blown)
    ours = solver.solve(one.rows, lanes).volts[0]
    assert least < theirs["B1.+"] < most
    for point, volts in theirs.items():
        assert abs(ours[solver.network.node(point)] - volts) < 1e-5, point


@pytest.mark.parametrize(("speed", "_least", "_most"), ORDERS)
def test_every_stretch_of_a_period_keeps_the_laws(speed: str, _least: float, _most: float) -> None:
    one = vehicle("--set", speed)
    kirchhoff, law = residuals(one.solver, one.modules, one.rows, one.lanes, one.solution)
    assert kirchhoff[0] < 1e-9
    assert law[0] < 1e-9
    mean = one.solver.residuals(one.rows, one.lanes, one.solution)[1]
    assert mean[0] > 1e-3  # means alone keep no curved law: that is why


def test_a_wrong_mean_and_a_wrong_order_are_found() -> None:
    one = vehicle()
    node = one.solver.network.node("M4.C")
    volts = one.solution.volts.copy()
    volts[0, node] += 0.01
    wrong = replace(one.solution, volts=volts)
    assert residuals(one.solver, one.modules, one.rows, one.lanes, wrong)[1][0] > 9e-3
    shares = np.where(one.solution.held.shares == 1.0, 0.9, one.solution.held.shares)
    other = replace(one.solution, held=replace(one.solution.held, shares=shares))
    assert residuals(one.solver, one.modules, one.rows, one.lanes, other)[1][0] > 9e-3


def test_the_table_says_what_is_a_mean(capsys: pytest.CaptureFixture[str]) -> None:
    text = run(capsys, "solve", BLOWER, *IDLE)
    assert "pulsed, share of the time on; voltages and currents are means" in text
    assert re.search(r"^  A3 11 +0\.010$", text, re.MULTILINE)
    assert "pulsed" not in run(capsys, "solve", "rear-window-heater")
