"""Another reasonable opinion of the likelihoods, a waived step, and one for the customer."""

from dataclasses import replace
from functools import cache

import pytest

from grader.alternatives import opinions
from grader.casefile import read_case
from grader.errors import CaseFileError
from grader.prepared import Prepared
from grader.score import FOR_THE_CUSTOMER, score
from tests.grader.foggy import FILE, LESSONS, Worker, prepared

GRID = "E9=line open:8"


@cache
def with_opinion() -> Prepared:
    """Give the shipped case, with the opinion that it is nearly always the relay."""
    one = prepared()
    case = replace(one.case, alternatives=(("relays of this make", (("K3", 200.0),)),))
    return Prepared(replace(one.lineup, case=case), one.healthy, one.space)


def swapper(cause: str) -> Worker:
    """Repair the relay first, then go on as well as can be."""
    worker = Worker(cause)
    worker.confirm()
    worker.call("relay K3")
    worker.go_on_best()
    return worker


def test_an_opinion_moves_the_likelihoods_and_nothing_else():
    author, other = opinions(with_opinion())
    assert author.likelihoods().sum() == pytest.approx(1.0)
    assert other.likelihoods().sum() == pytest.approx(1.0)
    ratio = other.likelihoods() / author.likelihoods()
    suspects = with_opinion().lineup.suspects
    relay = [any(f.part == "K3" for f in s.faults) for s in suspects]
    pairs = list(zip(ratio, relay, strict=True))
    inside, outside = ([r for r, held in pairs if held is wanted] for wanted in (True, False))
    assert min(inside) / max(outside) == pytest.approx(200.0)
    assert other.space is author.space


def test_who_acts_well_by_a_declared_opinion_has_acted_well():
    worker = swapper("K3=coil open")
    author = score(prepared(), "K3=coil open", worker.entries)
    both = score(with_opinion(), "K3=coil open", worker.entries)
    assert author.charged > 5.0
    assert both.charged < author.charged / 5
    assert both.marks[0].points > author.marks[0].points


def test_the_least_regret_counts_so_that_an_opinion_never_costs_anything():
    worker = Worker(GRID)
    worker.confirm()
    worker.go_on_best()
    worker.finish()
    author = score(prepared(), GRID, worker.entries)
    both = score(with_opinion(), GRID, worker.entries)
    assert both.to_json() == author.to_json()


def test_opinions_stand_in_the_case_file(tmp_path):
    file = tmp_path / FILE.name
    text = FILE.read_text("utf-8") + "likelihoods: {hard use: {K3: 3, C41: 0.5}}\n"
    file.write_text(text, encoding="utf-8")
    case = read_case(file, LESSONS / "circuits")
    assert case.alternatives == (("hard use", (("K3", 3.0), ("C41", 0.5))),)
    file.write_text(text.replace("K3: 3", "K99: 3"), encoding="utf-8")
    with pytest.raises(CaseFileError, match="part 'K99' unknown"):
        read_case(file, LESSONS / "circuits")


# -- one step for the customer, and what the instructor lets pass


def one_too_many(note: str) -> tuple[Worker, int]:
    """Measure at the horn, which has nothing to do with it, and say why; give the entry."""
    worker = Worker(GRID)
    worker.confirm()
    worker.do(measure="volts", red="H1.1", black="body")
    entry = worker.entries[-1].number
    if note:
        worker._add("note", {"text": note})  # noqa: SLF001 -- the rig's own
    worker.go_on_best()
    worker.finish()
    return worker, entry


def test_one_step_to_show_the_customer_loses_nothing():
    plain, entry = one_too_many("")
    worker, _entry = one_too_many("To show the customer that the horn has supply")
    charged = sum(step.charged for step in score(prepared(), GRID, plain.entries).steps)
    sheet = score(prepared(), GRID, worker.entries)
    assert charged > 1.0
    assert sum(step.charged for step in sheet.steps) == pytest.approx(0.0, abs=1e-9)
    (step,) = [step for step in sheet.steps if entry in step.numbers]
    assert step.free == FOR_THE_CUSTOMER
    assert step.regret > 1.0  # still shown


def test_only_one_step_is_for_the_customer():
    worker = Worker(GRID)
    worker.confirm()
    for point in ("H1.1", "K5.87"):
        worker.do(measure="volts", red=point, black="body")
        worker._add("note", {"text": FOR_THE_CUSTOMER})  # noqa: SLF001 -- the rig's own
    steps = score(prepared(), GRID, worker.entries).steps
    assert [step.free for step in steps[2:]] == [FOR_THE_CUSTOMER, ""]
    assert steps[-1].charged > 0.0


def test_an_instructor_can_waive_a_step_with_a_reason():
    worker, entry = one_too_many("")
    sheet = score(prepared(), GRID, worker.entries, {entry: "waived: I asked for it"})
    assert sum(step.charged for step in sheet.steps) == pytest.approx(0.0, abs=1e-9)
    assert "waived: I asked for it" in [step.free for step in sheet.steps]
