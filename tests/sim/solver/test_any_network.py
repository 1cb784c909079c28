"""Any network of resistors, lamps, diodes, fuses, sources is solved or refused, never garbage."""

from types import SimpleNamespace

import numpy as np
from hypothesis import given, settings
from hypothesis import strategies as st

from sim.errors import SolveError
from sim.parts.family import Element, Law
from sim.parts.lamp import filament_shape

MOST_POINTS = 80
OHMS = st.floats(-6, 12).map(lambda power: 10.0**power)
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


def motor(a: str, b: str, ohms: float, start: float, viscous: float, fan: float) -> Element:
    return Element("", a, b, 1 / ohms, law=Law.MOTOR, shape=(start, viscous, fan))


def limiter(a: str, b: str, ohms: float, volts: float, low: float, high: float) -> Element:
    return Element("", a, b, 1 / ohms, volts, law=Law.LIMITER, shape=(low, high, 1e-3))


def opened(a: str, b: str) -> Element:
    return Element("", a, b, 0.0)


KINDS = (
    st.tuples(st.just(resistor), OHMS),
    st.tuples(st.just(battery), st.floats(-15, 15), st.floats(0.002, 10.0)),
    st.tuples(st.just(lamp), LAMPS),
    st.tuples(st.just(diode), DIODES),
    st.tuples(st.just(fuse), st.floats(1.0, 50.0)),
    st.tuples(st.just(opened)),
    st.tuples(
        st.just(motor),
        st.floats(0.01, 10.0),
        st.floats(0.0, 5.0),
        st.floats(0.001, 1.0),
        st.floats(0.0, 0.1),
    ),
    st.tuples(
        st.just(limiter),
        st.floats(0.005, 10.0),
        st.sampled_from([0.0, 5.0, 14.4]),
        st.floats(0.0, 1.0),
        st.floats(0.1, 80.0),
    ),
)


@st.composite
def networks(draw: st.DrawFn) -> tuple[Element, ...]:
    """2 to 80 points, most of them joined up in a tree, and up to as many elements again."""
    elements = []
    points = [
        "body",
        *(f"p{n}" for n in range(1, draw(st.sampled_from([2, 3, 6, 15, MOST_POINTS])))),
    ]
    joined = [
        (points[draw(st.integers(0, n - 1))], points[n])
        for n in range(1, len(points))
        if len(points) > 6 or draw(st.booleans())
    ]
    ends = [draw(st.permutations(points)).copy()[:2] for _ in range(draw(st.integers(1, 12)))]
    for index, (a, b) in enumerate([*joined, *ends]):
        make, *values = draw(st.one_of(*KINDS))
        element = make(a, b, *values)
        fields = {name: getattr(element, name) for name in Element.__slots__}
        elements.append(Element(**{**fields, "name": f"e{index}"}))
    return tuple(elements)


@settings(max_examples=150)
@given(elements=networks())
def test_it_is_solved_within_bounds_or_refused(
    lab: SimpleNamespace, elements: tuple[Element, ...]
) -> None:
    answer = lab.solve(*elements)
    if answer.status != 0:
        error = answer.solver.explain(answer.solution, 0)
        assert isinstance(error, SolveError)
        assert "\n" not in str(error)
        assert any(element.name in str(error) for element in elements)
        assert np.isfinite(answer.solution.current).all()
        return
    largest = np.abs(answer.solution.current).max()
    assert np.isfinite(answer.solution.volts).all()
    assert np.isfinite(largest)
    kirchhoff, law = answer.residuals()
    assert kirchhoff < 1e-9 * (1.0 + largest)
    assert law < 1e-9


@settings(max_examples=50)
@given(elements=networks())
def test_every_passive_network_comes_to_rest_at_no_voltage(
    lab: SimpleNamespace, elements: tuple[Element, ...]
) -> None:
    """Without a source there is nothing: no voltage anywhere, exactly."""
    answer = lab.solve(*(element for element in elements if element.emf == 0.0))
    assert answer.status == 0
    assert not answer.solution.volts.any()
    assert not answer.solution.current.any()
