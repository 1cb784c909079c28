"""A student's folder with the shipped lesson in it, as `halfsplit learn` makes it."""

from pathlib import Path

import pytest

from lessons.catalogue import shipped_lessons
from lessons.folder import Home, write_home
from lessons.handout import hand_out, practice_release
from tests.lessons.vehicles import NAMES, Vehicle, vehicle

LESSON = "06-two-circuits-in-one-can"


@pytest.fixture
def user(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> Path:
    """Give a user's own folder, empty."""
    place = tmp_path / "user"
    place.mkdir()
    monkeypatch.setenv("HOME", str(place))
    monkeypatch.setenv("USERPROFILE", str(place))
    return place


@pytest.fixture
def source() -> Path:
    """Give the shipped lesson."""
    return shipped_lessons()[LESSON]


@pytest.fixture
def home(tmp_path: Path, source: Path) -> Home:
    """Give Ada's folder with the shipped lesson."""
    with practice_release(source) as release:
        made, _report = hand_out(release, Home(tmp_path / "ada", "ada"))
    write_home(made)
    return made


@pytest.fixture
def lesson(home: Home) -> Path:
    """Give the lesson's folder in Ada's folder."""
    return home.folder / LESSON


@pytest.fixture(params=NAMES)
def car(request: pytest.FixtureRequest) -> Vehicle:
    """Give every shipped vehicle."""
    return vehicle(request.param)
