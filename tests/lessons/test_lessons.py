"""Every lesson: its form, how it reads, that it runs, and that a release gives nothing away."""

import ast
import re
from pathlib import Path

import nbformat
import pytest

from grader.casefile import read_case
from grader.draw import assignable
from grader.hints import next_hint
from grader.judge import Judge
from grader.prepared import prepare
from grader.suspects import line_up
from lessons.catalogue import CIRCUITS, shipped_lessons
from lessons.course import cases_in, release_lesson
from lessons.coursefolder import GUIDE_FILE, make_course
from lessons.folder import Home, write_home
from lessons.points import case_points
from tests.lessons import pages

LESSONS = list(shipped_lessons())
CLASS = [f"student {number}" for number in range(12)]
CAUTIONS = ("burn", "ohmmeter", "jumper", "fuse", "rings", "sparks", "airbag", "maker")
SAMPLES = re.compile(r"^## Sample \w+: (\d+) of (\d+)\n(.*?)(?=^## |\Z)", re.MULTILINE | re.DOTALL)


@pytest.fixture(params=LESSONS)
def lesson(request: pytest.FixtureRequest) -> str:
    return request.param


def opened(lesson: str) -> list[str]:
    """Give the cases that a lesson's notebook opens, in order."""
    return re.findall(r'open_case\("([\w-]+)"', "\n".join(pages.cells(lesson, "code").values()))


def in_graded_cells(lesson: str) -> list[str]:
    found = pages.graded(lesson)
    code = pages.cells(lesson, "code")
    marked = [code[name] for name, (kind, one) in found.items() if one["grade"] and kind == "code"]
    return [re.fullmatch(r'case_points\("([\w-]+)"\)', source)[1] for source in marked]


# The form


def test_it_is_a_notebook_without_outputs_and_with_stable_ids(lesson: str) -> None:
    data = pages.notebook(lesson)
    nbformat.validate(nbformat.from_dict(data))
    ids = [cell["id"] for cell in data["cells"]]
    assert len(ids) == len(set(ids))
    assert all(re.fullmatch(r"[a-z]+(-[a-z]+)*", one) for one in ids)
    for cell in data["cells"]:
        assert cell.get("outputs", []) == []
        assert cell.get("execution_count") is None


def test_code_is_short_folded_and_plain(lesson: str) -> None:
    for cell in pages.notebook(lesson)["cells"]:
        if cell["cell_type"] != "code":
            continue
        source = "".join(cell["source"])
        assert len(ast.parse(source).body) <= 2, cell["id"]
        assert len(source.splitlines()) <= 10, cell["id"]  # one call, as the formatter breaks it
        # folded, JupyterLab still shows the first line: it must not tell the fault
        assert "=" not in source.splitlines()[0], cell["id"]
        assert cell["metadata"]["jupyter"]["source_hidden"], cell["id"]


def test_text_is_locked_and_one_answer_is_written(lesson: str) -> None:
    found = pages.graded(lesson)
    assert all(one["grade_id"] == name for name, (_kind, one) in found.items())
    written = [name for name, (_kind, one) in found.items() if one["solution"]]
    assert len(written) == 1
    kind, answer = found[written[0]]
    assert (kind, answer["grade"], answer["points"], answer["locked"]) == (
        "markdown",
        True,
        10,
        False,
    )
    assert all(one["locked"] for name, (_kind, one) in found.items() if name != written[0])


def test_a_guided_case_two_to_practise_and_one_that_counts(lesson: str) -> None:
    cases = opened(lesson)
    assert len(cases) >= 4
    assert sorted(cases) == sorted(cases_in(shipped_lessons()[lesson]))
    assert in_graded_cells(lesson) == cases[-1:]
    order = list(pages.graded(lesson))
    places = [
        order.index(name)
        for name in ("idea", "demo-bench", "way", "care", "guided", "practice", "work-order")
    ]
    assert places == sorted(places)


def test_every_opened_case_says_for_itself_what_it_is(lesson: str) -> None:
    """The comment at the top of a case file says Guided, Practice or Graded."""
    folder = shipped_lessons()[lesson]
    kinds = [
        re.search(r"Guided|Practice|Graded|work order", (folder / f"{case}.case.yaml").read_text())
        for case in opened(lesson)
    ]
    assert [kind[0] for kind in kinds if kind][:3] == ["Guided", "Practice", "Practice"]


def test_hints_cost_nothing_where_the_lesson_says_so(lesson: str) -> None:
    guided = opened(lesson)[0]
    case = read_case(cases_in(shipped_lessons()[lesson])[guided], CIRCUITS)
    assert case.hint_points == 0.0
    assert "it costs nothing here" in pages.cells(lesson, "markdown")["guided"]


def test_the_demonstration_is_operated_predicted_and_shows_currents(lesson: str) -> None:
    code = pages.cells(lesson, "code")
    assert "predict=True" in code["demo-bench"]
    steps = [name for name, source in code.items() if "\ndemonstrate(" in source]
    assert len(steps) >= 2
    for name in steps:
        faulty, sound = pages.shown(lesson, name)
        assert faulty
        assert sound
    assert "Now make the mistake" in pages.cells(lesson, "markdown")["demo-start"]


def test_a_guess_is_asked_before_every_answer(lesson: str) -> None:
    marks = re.findall(r"\*Guess:\*|<details>", pages.text(lesson))
    assert len(marks) >= 8
    assert marks == ["*Guess:*", "<details>"] * (len(marks) // 2)


@pytest.mark.parametrize("word", CAUTIONS)
def test_a_caution_that_applies_is_given(lesson: str, word: str) -> None:
    assert word in pages.cells(lesson, "markdown")["care"]


def test_the_facts_have_their_sources(lesson: str) -> None:
    end = pages.cells(lesson, "markdown")["end"]
    assert end.startswith("## Where the facts come from")
    assert "common practice, no one source" in end


# How it reads


def test_the_measure_tells_plain_from_learned() -> None:
    plain = "The cat sat on the mat. The dog ran to the door."
    # 12 words in 2 sentences, 12 syllables: 0.39 x 6 + 11.8 x 1 - 15.59
    assert pages.reading_grade(plain) == pytest.approx(-1.45)
    learned = "Electromagnetic excitation necessitates uninterrupted continuity of conductors."
    assert pages.reading_grade(learned) > 15


def test_a_reader_of_17_gets_along(lesson: str) -> None:
    assert pages.reading_grade(pages.text(lesson)) <= 9
    for name, source in pages.cells(lesson, "markdown").items():
        assert pages.reading_grade(source) <= 9, name


def test_the_idea_takes_two_screens_at_most(lesson: str) -> None:
    idea = pages.cells(lesson, "markdown")["idea"]
    words = [word for sentence in pages.sentences(idea) for word in sentence]
    assert len(words) <= 350


# The marking guide


def test_the_guide_has_three_samples_marked_by_its_own_list(lesson: str) -> None:
    guide = pages.guide(lesson)
    listed = [int(points) for points in re.findall(r"^- (\d+):", guide, re.MULTILINE)]
    assert sum(listed) == 10
    samples = SAMPLES.findall(guide)
    assert len(samples) == 3
    totals = []
    for total, of, body in samples:
        marks = re.search(r"^Marks: ([\d +]+)\.", body, re.MULTILINE)
        given = [int(one) for one in marks[1].split("+")]
        assert len(given) == len(listed)
        assert all(0 <= one <= most for one, most in zip(given, listed, strict=True))
        assert (sum(given), int(of)) == (int(total), 10)
        totals.append(int(total))
    assert totals[0] >= 9 > totals[1] > totals[2]


def test_the_guide_asks_what_the_notebook_asks(lesson: str) -> None:
    question = pages.cells(lesson, "markdown")["question"].partition("\n\n")[2].partition("\n")[0]
    assert question in pages.guide(lesson)


def test_the_instructor_gets_the_guide_and_students_do_not(tmp_path: Path) -> None:
    root = tmp_path / "course"
    make_course(root)
    for lesson in LESSONS:
        given = root / "marking" / f"{lesson}.md"
        assert given.read_text("utf-8") == pages.guide(lesson)
        files = list((root / "source" / lesson).rglob("*"))
        assert not [path for path in files if path.name == GUIDE_FILE]
        sample = SAMPLES.search(pages.guide(lesson))[3].strip().splitlines()[0]
        for path in files:
            if path.is_file():
                assert sample.encode() not in path.read_bytes()


# A release


def test_nothing_in_a_release_says_which_cause_is_whose(lesson: str, tmp_path: Path) -> None:
    """Whoever it is for: the release is the same for all, and no file in it names a student."""
    release_lesson(shipped_lessons()[lesson], tmp_path / lesson, b"a secret for tests")
    files = {p: p.read_bytes() for p in (tmp_path / lesson).rglob("*") if p.is_file()}
    assert files
    for path, content in files.items():
        assert b"a secret for tests" not in content, path
        if path.suffix == ".yaml":
            # a case file is what every student may read: the source's own bytes, nothing of a draw
            original = next(
                place / path.name
                for place in (shipped_lessons()[lesson], CIRCUITS)
                if (place / path.name).is_file()
            )
            assert content == original.read_bytes()
    notebook = files[tmp_path / lesson / f"{lesson}.ipynb"].decode()
    for case, path in cases_in(tmp_path / lesson).items():
        for suspect in assignable(line_up(read_case(path))):
            sealed = files[tmp_path / lesson / "lesson.sealed.json"].decode()
            assert suspect.name not in sealed, case
        assert f'open_case(\\"{case}\\")' in notebook  # by its id alone: no fault, no student


def test_the_blank_release_gets_no_points(lesson: str, tmp_path: Path) -> None:
    folder = released(lesson, tmp_path)
    for case in opened(lesson):
        assert case_points(case, folder) == 0.0


def released(lesson: str, tmp_path: Path) -> Path:
    home = Home(tmp_path / "ada", "ada")
    write_home(home)
    release_lesson(shipped_lessons()[lesson], home.folder / lesson, b"a secret for tests")
    return home.folder / lesson


# Hints


def test_a_guided_cases_hint_comes_from_the_judge(lesson: str) -> None:
    """Level by level the same for every hidden cause, since nothing has been read yet."""
    path = cases_in(shipped_lessons()[lesson])[opened(lesson)[0]]
    ready = prepare(read_case(path, CIRCUITS))
    first, *_more, last = [suspect.name for suspect in assignable(ready.lineup)]
    texts = [next_hint(ready, cause, []).text for cause in (first, last)]
    assert texts[0] == texts[1]
    judge = Judge(ready, first)
    assert texts[0].startswith(f"{judge.possible.bit_count()} suspects left")
    assert not [case for case in CLASS if case in path.read_text("utf-8")]
