"""What a case says of itself: the complaint as it is shown."""

from dataclasses import replace

import pytest

from tests.grader.foggy import prepared


@pytest.mark.parametrize(
    ("complaint", "shown"),
    [
        ("It stays fogged.", "“It stays fogged.”"),
        ('The baker: "It hums." He waits.', "The baker: “It hums.” He waits."),
        ("The baker: “It hums.”", "The baker: “It hums.”"),
        ('"It hums," he says, "at night."', "“It hums,” he says, “at night.”"),
        ('A 5" lamp stays dark.', '“A 5" lamp stays dark.”'),
    ],
)
def test_a_complaint_is_quoted_once(complaint: str, shown: str) -> None:
    assert replace(prepared().case, complaint=complaint).quoted == shown
