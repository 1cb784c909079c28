"""Rows of lanes and plain numbers are swept alike, and both solve the nodal equations."""

import numpy as np
import pytest

from sim.solver.grouping import Edges
from sim.solver.numbersweeps import eliminate_numbers, go_back_numbers
from sim.solver.sweeps import eliminate, go_back

NODES, LANES = 12, 3


def drawn(seed: int) -> tuple[Edges, np.ndarray, np.ndarray, np.ndarray]:
    """Draw branches among nodes and the body, with conductances (B, L) and EMFs on the first."""
    rng = np.random.default_rng(seed)
    branches = np.array([(n, rng.integers(0, n)) for n in range(1, NODES)] + [(2, 1), (5, 0)])
    present = np.ones(NODES, dtype=bool)
    present[0] = False
    late = np.zeros(NODES, dtype=bool)
    late[3] = True
    edges = Edges(NODES, branches, present, late, 6, branches[:2])
    return edges, branches, rng.uniform(0.1, 9.0, (len(branches), LANES)), rng.normal(0, 12, 2)


def filled(edges: Edges, branches: np.ndarray, siemens: np.ndarray, emf: np.ndarray) -> tuple:
    """Give the rows (E, L) of the filled edges."""
    g, j = np.zeros((2, len(edges), siemens.shape[1]))
    for place, (number, sign) in enumerate(
        zip(edges.numbers(branches), edges.signs(branches), strict=True)
    ):
        g[number] += siemens[place]
        if place < len(emf):
            j[number] += sign * siemens[place] * emf[place]
    return g, j


def rows_of(values: np.ndarray) -> list:
    return [row if row.any() else None for row in values]


@pytest.mark.parametrize("seed", range(6))
def test_rows_and_numbers_give_the_same_bits(seed: int) -> None:
    edges, *network = drawn(seed)
    g, j = filled(edges, *network)
    stars = (*edges.stars.early, *edges.stars.late)
    for edge in range(len(edges)):  # every node has a leak
        g[edge] += 1e-12
    rows, drops = rows_of(g), [None] * len(edges)
    go_back(stars, rows, eliminate(stars, rows, rows_of(j)), drops)
    for lane in range(LANES):
        numbers, found = g[:, lane].tolist(), [0.0] * len(edges)
        go_back_numbers(
            stars, numbers, eliminate_numbers(stars, numbers, j[:, lane].tolist()), found
        )
        assert [row[lane] + 0.0 for row in drops] == [drop + 0.0 for drop in found]


@pytest.mark.parametrize("seed", range(6))
def test_they_solve_the_nodal_equations(seed: int) -> None:
    """Checked with numpy.linalg.solve on the matrix of the same network."""
    edges, branches, siemens, emf = drawn(seed)
    g, j = filled(edges, branches, siemens, emf)
    matrix, side = np.zeros((NODES, NODES)), np.zeros(NODES)
    for place, (a, b) in enumerate(branches.tolist()):
        push = siemens[place, 0] * (emf[place] if place < len(emf) else 0.0)
        for this, other, sign in ((a, b, 1.0), (b, a, -1.0)):
            matrix[this, this] += siemens[place, 0]
            matrix[this, other] -= siemens[place, 0]
            side[this] += sign * push
    volts = np.linalg.solve(matrix[1:, 1:], side[1:])
    ground = edges.numbers(np.array([(node, 0) for node in range(1, NODES)]))
    stars = (*edges.stars.early, *edges.stars.late)
    numbers, found = g[:, 0].tolist(), [0.0] * len(edges)
    go_back_numbers(stars, numbers, eliminate_numbers(stars, numbers, j[:, 0].tolist()), found)
    assert [found[edge] for edge in ground] == pytest.approx(volts.tolist(), abs=1e-9)
