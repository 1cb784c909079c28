"""What only instructors install."""

import importlib.util
import os

import pytest

IN_CI = os.environ.get("CI") == "true"


def need_nbgrader(*, in_ci: bool = IN_CI) -> None:
    """Skip without nbgrader; in CI fail."""
    if importlib.util.find_spec("nbgrader") is None:
        reason = "needs nbgrader (the extra `teach`)"
        if in_ci:
            pytest.fail(reason, pytrace=False)
        pytest.skip(reason, allow_module_level=True)
