"""What a case promises is tried on its vehicles before a student does."""

from dataclasses import replace

import pytest

from grader.case import Check, Sight
from grader.prepared import Prepared
from grader.promises import broken_promises
from sim.action import Action
from sim.checks.finding import Finding
from tests.grader.foggy import prepared


def with_case(**changes: object) -> Prepared:
    """Return the prepared case with some of what it says changed."""
    ready = prepared()
    lineup = replace(ready.lineup, case=replace(ready.case, **changes))
    return Prepared(lineup, ready.healthy, ready.space)


def with_verify(number: int, **changes: object) -> list[Finding]:
    """Return what is broken after one item of the list was changed."""
    verify = list(prepared().case.verify)
    verify[number] = replace(verify[number], **changes)
    return broken_promises(with_case(verify=tuple(verify)))


def index_of(verb: str) -> int:
    return next(n for n, check in enumerate(prepared().case.verify) if check.action.verb == verb)


def test_a_shipped_case_keeps_its_promises():
    assert broken_promises(prepared()) == []


def test_a_current_that_no_sound_vehicle_has_is_named():
    """160 W at 12 V are 13.3 A, a little less behind wires and contacts."""
    number = index_of("clamp")
    (broken,) = with_verify(number, between=(30.0, 40.0))
    assert broken.where == ("verify", number)
    assert not broken.warning
    found, _, rest = broken.text.partition("a sound vehicle shows ")[2].partition(" A,")
    assert float(found) == pytest.approx(160 / 12, rel=0.1)
    assert rest == " not 30 A to 40 A; nobody could verify a repair"


def test_words_that_no_sound_vehicle_shows_are_named():
    number = index_of("watch")
    (broken,) = with_verify(number, expect="no")
    assert broken.where == ("verify", number)
    assert "a sound vehicle shows 'yes', not no; nobody could verify a repair" in broken.text


def test_what_cannot_be_done_on_the_bench_is_told():
    impossible = Check((), Action("measure", "volts", red="K3.86b", black="body"), "", (0.0, 20.0))
    case = prepared().case
    (broken,) = broken_promises(with_case(verify=(*case.verify, impossible)))
    assert broken.where == ("verify", len(case.verify))
    assert "no lead can be put on 'K3.86b' while K3 is fitted" in broken.text


def test_what_can_be_done_from_hand_over_but_not_after_the_others_is_kept():
    """F7 is pulled twice: the second time it is out already, which by itself it is not."""
    pulled = Check((Action("pull", "F7"),), Action("measure", "volts", red="B1.+", black="body"))
    pulled = replace(pulled, between=(11.0, 14.0))
    case = prepared().case
    assert broken_promises(with_case(verify=(*case.verify, pulled, pulled))) == []


def test_a_complaint_that_is_not_there_when_it_is_looked_for_is_a_warning():
    off = Sight((Action("set", settings=(("key", "off"),)),), (("horn sounds", "yes"),))
    (broken,) = broken_promises(with_case(confirm=off))
    assert broken.warning
    assert broken.text.startswith("confirm: not seen on ")
    assert f"and {len(prepared().lineup.suspects) - 5} more; let it ask" in broken.text
