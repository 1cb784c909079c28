"""Of a notebook that was handed in only what the student wrote is kept."""

import re

import pytest
from hypothesis import given
from hypothesis import strategies as st
from nbconvert.filters import markdown2html
from nbformat import NotebookNode
from nbformat.v4 import new_code_cell, new_markdown_cell, new_notebook, new_output

from tests.course.extra import need_nbgrader

need_nbgrader()

from grader.gradebook.answers import MOST_CELLS, PROBLEMS, graft, shown  # noqa: E402 -- needs it
from grader.gradebook.points import case_of  # noqa: E402 -- the same


def mark(name: str, *, grade: bool = False, solution: bool = False) -> dict:
    return {"nbgrader": {"grade_id": name, "grade": grade, "solution": solution, "points": 10}}


def released() -> NotebookNode:
    return new_notebook(
        cells=[
            new_markdown_cell("title", metadata=mark("title")),
            new_code_cell('case_points("c")', metadata=mark("points", grade=True)),
            new_markdown_cell("ANSWER", metadata=mark("why", grade=True, solution=True)),
        ]
    )


def texts(notebook: NotebookNode) -> list[str]:
    return [cell.source for cell in notebook.cells]


def test_answers_are_taken_and_the_rest_is_as_released() -> None:
    handed_in = released()
    for cell, text in zip(handed_in.cells, ("spoiled", "1/0", "because"), strict=True):
        cell.source = text
    handed_in.cells[2].metadata["nbgrader"]["points"] = 1000
    made = graft(released(), handed_in)
    assert texts(made) == ["title", 'case_points("c")', "because"]
    assert made.cells[2].metadata["nbgrader"]["points"] == 10
    assert made.metadata[PROBLEMS] == []


def test_deleted_cells_come_back_and_are_named() -> None:
    handed_in = released()
    del handed_in.cells[1:]
    made = graft(released(), handed_in)
    assert texts(made) == texts(released())
    named = [problem["text"] for problem in made.metadata[PROBLEMS]]
    assert [text.split("'")[1] for text in named] == ["points", "why"]


def test_cells_of_the_students_own_stay_where_they_are() -> None:
    handed_in = released()
    own = new_code_cell("import os", outputs=[new_output("stream", text="x")], metadata={"a": 1})
    handed_in.cells.insert(1, own)
    handed_in.cells.insert(0, new_markdown_cell("first <img src=x onerror=alert(1)>"))
    handed_in.cells.append(new_markdown_cell("  "))
    made = graft(released(), handed_in)
    first = "first &lt;img src=x onerror=alert(1)>"
    assert texts(made) == [first, "title", "import os", 'case_points("c")', "ANSWER"]
    assert made.cells[2].outputs == []
    assert made.cells[2].metadata == {}
    assert texts(graft(released(), handed_in)) == texts(made)


def test_of_a_cell_handed_in_twice_the_last_counts() -> None:
    handed_in = released()
    again = new_markdown_cell("second", metadata=mark("why", grade=True, solution=True))
    handed_in.cells.append(again)
    assert texts(graft(released(), handed_in))[-1] == "second"


@pytest.mark.parametrize("marks", [None, 5, [], {}, {"grade_id": 5}, {"grade_id": "unknown"}])
def test_odd_marks_make_a_cell_the_students_own(marks: object) -> None:
    handed_in = released()
    handed_in.cells.insert(1, new_markdown_cell("odd", metadata={"nbgrader": marks}))
    made = graft(released(), handed_in)
    assert texts(made)[1] == "odd"
    assert made.cells[1].metadata == {}


def test_no_more_cells_are_kept_than_anybody_reads() -> None:
    handed_in = new_notebook(cells=[new_markdown_cell("x") for _ in range(MOST_CELLS + 50)])
    assert len(graft(released(), handed_in).cells) == MOST_CELLS + 3


def test_a_comparison_is_no_markup() -> None:
    assert shown("U < 1 V, 1<2, I<3", "markdown") == "U < 1 V, 1<2, I<3"
    assert shown(r"$R = 3 \Omega$, class", "markdown") == r"$R = 3 \Omega$, class"


def test_markup_is_shown_not_obeyed() -> None:
    assert shown("<b>, </b>, <!-- -->", "markdown") == "&lt;b>, &lt;/b>, &lt;!-- -->"
    assert shown("![a](b) [c]: d", "markdown") == "!&#91;a](b) &#91;c]: d"
    assert shown(r"$\href{javascript:x}{y}$", "markdown") == r"$\ href{javascript:x}{y}$"
    assert shown("<b> [0]", "code") == "<b> [0]"


ACTIVE = ["<", ">", "[", "]", "(", ")", "!", "javascript:", "&#58;", "\n", '"', "a", "script", "`"]


@given(st.lists(st.sampled_from(ACTIVE), max_size=14).map("".join))
def test_no_text_makes_a_tag_or_a_link_of_its_own(text: str) -> None:
    tags = set(re.findall(r"<\s*([a-z0-9]+)", markdown2html(shown(text, "markdown"))))
    assert tags <= {"p", "br", "code", "pre", "div", "span", "blockquote", "em", "strong"}


@pytest.mark.parametrize(
    ("source", "case"),
    [
        ('case_points("foggy-window")', "foggy-window"),
        ("# the points\ncase_points('a')\n", "a"),
        ('case_points("a", folder)', None),
        ('case_points(case="a")', None),
        ('points("a")', None),
        ('case_points("a"); 100', None),
        ("case_points(5)", None),
        ("case_points(", None),
        ("", None),
        ("a = case_points('a')", None),
    ],
)
def test_the_case_of_a_cell_is_read_not_run(source: str, case: str | None) -> None:
    assert case_of(source) == case
