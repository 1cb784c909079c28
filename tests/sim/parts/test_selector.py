"""Selector switches: which output is live in which position."""

from dataclasses import replace
from types import SimpleNamespace

import pytest

from sim.errors import QuantityError
from sim.parts import FAMILIES
from sim.parts.selector import closed_positions
from sim.parts.values import check_values


def live(lab: SimpleNamespace, position: str, *faults: tuple, **values: object) -> set[str]:
    """Give the outputs that feed 1 A into 12 ohm in a position of the control."""
    elements = lab.elements("selector switch", name="S1", faults=faults, **values)
    shut = [e for e in elements if not e.positions or position in e.positions]
    pins = FAMILIES["selector switch"].pins(lab.part("selector switch", **values))[1:]
    loads = [lab.resistor(f"load {pin}", f"S1.{pin}", "body", 12.0) for pin in pins]
    answer = lab.solve(lab.source("e", "S1.in", "body", 12.0), *shut, *loads)
    return {pin for pin in pins if answer.current[f"load {pin}"] > 0.9}


@pytest.mark.parametrize(
    ("position", "outputs"),
    [("off", set()), ("low", {"1", "3"}), ("medium", {"2", "3"}), ("high", {"3"})],
)
def test_outputs_by_position(lab: SimpleNamespace, position: str, outputs: set[str]) -> None:
    written = "low | medium | low+medium+high"
    assert live(lab, position, closed_in=written) == outputs


def test_left_out_output_k_is_live_in_the_kth_position_after_rest(lab: SimpleNamespace) -> None:
    part = replace(lab.part("selector switch"), settings=("off", "low", "medium", "high"))
    assert closed_positions(part) == (("low",), ("medium",), ("high",))
    assert closed_positions(lab.part("selector switch", outputs=2.0)) == (("1",), ("2",))


@pytest.mark.parametrize(
    ("fault", "outputs"),
    [
        (("contact open", "2", None), set()),
        (("contact open", None, None), set()),
        (("contact open", "1", None), {"2"}),
        (("stuck closed", "1", None), {"1", "2"}),
        (("open", "2", None), set()),
        (("contact burnt", "2", 30.0), set()),
    ],
)
def test_an_output_fails_alone(lab: SimpleNamespace, fault: tuple, outputs: set[str]) -> None:
    assert live(lab, "2", fault) == outputs


def test_a_wrong_number_of_outputs_is_refused(lab: SimpleNamespace) -> None:
    with pytest.raises(QuantityError, match="each of 3 outputs"):
        check_values(lab.part("selector switch", closed_in="low|high"))
    too_few = replace(lab.part("selector switch"), settings=("off", "on"))
    with pytest.raises(QuantityError, match="each of 3 outputs"):
        check_values(too_few)
