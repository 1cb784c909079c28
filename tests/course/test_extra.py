"""Without nbgrader the course tests skip on a laptop and fail in CI."""

import importlib.util

import pytest

from tests.course.extra import need_nbgrader


def test_without_nbgrader(monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setattr(importlib.util, "find_spec", lambda name: None)
    with pytest.raises(pytest.skip.Exception, match="teach"):
        need_nbgrader(in_ci=False)
    with pytest.raises(pytest.fail.Exception, match="teach"):
        need_nbgrader(in_ci=True)
