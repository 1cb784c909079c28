"""Any network of resistors, lamps, diodes, fuses, sources is solved or refused, never garbage."""

from types import SimpleNamespace

import numpy as np
from hypothesis import given, settings
from hypothesis import strategies as st

from sim.errors import SolveError
from sim.parts.family import Element, Law
from sim.parts.lamp import filament_shape

POINTS = ("body", "p1", "p2", "p3", "p4", "p5")
OHMS = st.floats(-3, 7).map(lambda power: 10.0**power)
LAMPS = st.builds(filament_shape, st.sampled_from([6.0, 12.0, 24.0]), st.floats(0.5, 100.0))
DIODES = st.tuples(
    st.floats(-15, -6).map(lambda power: 10.0**power), st.floats(0.024, 0.06), st.just(0.0)
)


def resistor(a: str, b: str, ohms: float) -> Element:
    return Element("", a, b, 1 / ohms)


def battery(a: str, b: str, volts: float, ohms: float) -> Element:
    return Element("", a, b, 1 / ohms, volts)


def lamp(a: str, b: str, shape: tuple[float, float, float]) -> Element:
    return Element("", a, b, 1.0, law=Law.LAMP, shape=shape)


def diode(a: str, b: str, shape: tuple[float, float, float]) -> Element:
    return Element("", a, b, 1.0, law=Law.DIODE, shape=shape)


def fuse(a: str, b: str, amps: float) -> Element:
    return Element("", a, b, 1 / 0.005, law=Law.FUSE, shape=(amps, 0.0, 0.0))


def opened(a: str, b: str) -> Element:
    return Element("", a, b, 0.0)


ENDS = st.permutations(POINTS).map(lambda order: order[:2])
KINDS = (
    st.tuples(st.just(resistor), OHMS),
    st.tuples(st.just(battery), st.floats(-15, 15), st.floats(0.002, 10.0)),
    st.tuples(st.just(lamp), LAMPS),
    st.tuples(st.just(diode), DIODES),
    st.tuples(st.just(fuse), st.floats(1.0, 50.0)),
    st.tuples(st.just(opened)),
)


@st.composite
def networks(draw: st.DrawFn) -> tuple[Element, ...]:
    elements = []
    for index in range(draw(st.integers(1, 12))):
        make, *values = draw(st.one_of(*KINDS))
        element = make(*draw(ENDS), *values)
        fields = {name: getattr(element, name) for name in Element.__slots__}
        elements.append(Element(**{**fields, "name": f"e{index}"}))
    return tuple(elements)


@settings(max_examples=400)
@given(elements=networks())
def test_it_is_solved_within_bounds_or_refused(
    lab: SimpleNamespace, elements: tuple[Element, ...]
) -> None:
    answer = lab.solve(*elements)
    if answer.status != 0:
        error = answer.solver.explain(answer.solution, 0)
        assert isinstance(error, SolveError)
        assert "\n" not in str(error)
        return
    largest = np.abs(answer.solution.current).max()
    assert np.isfinite(answer.solution.volts).all()
    assert np.isfinite(largest)
    kirchhoff, law = answer.residuals()
    assert kirchhoff < 1e-9 * (1.0 + largest)
    assert law < 1e-9


@settings(max_examples=100)
@given(elements=networks())
def test_every_passive_network_comes_to_rest_at_no_voltage(
    lab: SimpleNamespace, elements: tuple[Element, ...]
) -> None:
    """Without a source there is nothing: no voltage anywhere, exactly."""
    answer = lab.solve(*(element for element in elements if element.emf == 0.0))
    assert answer.status == 0
    assert not answer.solution.volts.any()
    assert not answer.solution.current.any()
