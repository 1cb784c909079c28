"""Whatever is sent to a unit, it gives an answer that the standard has."""

import random
from dataclasses import replace

from hypothesis import given, settings
from hypothesis import strategies as st

from sim.diagnosis import refusals
from sim.diagnosis.sample import body_unit, brakes_unit, engine_unit
from sim.diagnosis.server import SERVICES, answer
from sim.diagnosis.unit import UnitState, settled

CLOCK = 100.0


def check(unit: UnitState, request: bytes, clock: float, *, functional: bool) -> UnitState:
    """Check that an answer has one of the forms of the standard; return the unit afterwards."""
    found, after = answer(unit, request, clock, functional=functional)
    again = answer(unit, request, clock, functional=functional)
    assert again == (found, after), "the same request gives the same answer"
    if found is None:
        quiet = len(request) > 1 and request[1] & 0x80 and request[0] in SERVICES
        assert not request or functional or quiet, request.hex()
        return after
    assert 1 <= len(found) <= 4095
    if found[0] == 0x7F and request[0] != 0x3F:
        assert len(found) == 3
        assert found[1] == request[0]
        assert found[2] in refusals.WORDS
        assert not (functional and found[2] in refusals.SILENT)
        assert after == replace(settled(unit, clock), last_heard=clock)
    else:
        assert found[0] == request[0] + 0x40
    return after


UNITS = (engine_unit(), brakes_unit(), body_unit())
REQUESTS = st.one_of(
    st.binary(max_size=40),
    st.builds(
        lambda first, rest: bytes((first,)) + rest,
        st.sampled_from([0x01, 0x02, 0x03, 0x04, 0x07, 0x09, *SERVICES]),
        st.binary(max_size=12),
    ),
)


@settings(max_examples=300)
@given(st.sampled_from(UNITS), st.lists(st.tuples(REQUESTS, st.booleans()), max_size=8))
def test_any_bytes_get_a_standard_answer(unit, requests):
    for step, (request, functional) in enumerate(requests):
        unit = check(unit, request, CLOCK + step, functional=functional)


def test_ten_thousand_random_requests_get_a_standard_answer():
    chance = random.Random(20261126)  # noqa: S311 -- not for secrets
    services = [0x01, 0x02, 0x03, 0x04, 0x07, 0x09, *SERVICES]
    unit, clock, answered = engine_unit(), 0.0, 0
    for _request in range(10_000):
        length = chance.choice((0, 1, 1, 2, 2, 3, 4, 5, 8, 64))
        request = chance.randbytes(length)
        if request and chance.random() < 0.8:
            request = bytes((chance.choice(services),)) + request[1:]
        clock += chance.expovariate(1.0)
        before = unit
        unit = check(unit, request, clock, functional=chance.random() < 0.3)
        answered += unit is not before
    assert answered > 5_000
