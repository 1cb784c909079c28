"""A case made ready is kept by content: read back it is the same, damaged it is made again."""

import json
import shutil
import threading
from collections.abc import Callable
from dataclasses import replace
from pathlib import Path

import numpy as np
import pytest

import grader.contentkey
import grader.outcomes
import grader.prepared
from grader.contentkey import content_key
from grader.outcomes import Progress, TestSpace
from grader.prepared import prepare
from grader.spacefile import Begun, load_space, save_space
from tests.grader.foggy import foggy, prepared

CHUNK = 20  # readings between two reports, here


@pytest.fixture(scope="module")
def ready(tmp_path_factory: pytest.TempPathFactory) -> Path:
    """Give the folder of a case made ready, suspects and all; to be copied."""
    folder = tmp_path_factory.mktemp("ready")
    prepare(foggy(), folder)
    return folder


@pytest.fixture
def explored(monkeypatch) -> list[str]:
    """Count how often a test space is made, without taking the seconds it takes."""
    made, space = [], prepared().space

    def count(lineup: object, *_rest: object) -> TestSpace:
        made.append(lineup.case.name)
        return space

    monkeypatch.setattr(grader.prepared, "explore", count)
    return made


def space_in(folder: Path) -> Path:
    """Give the one file in a folder that is not the suspects' (which are kept beside it)."""
    [file] = [file for file in folder.iterdir() if ".suspects" not in file.name]
    return file


def test_a_test_space_reads_back_as_it_was_written(tmp_path):
    file = tmp_path / "deep" / "space.json"
    save_space(file, prepared().space)
    again = load_space(file)
    assert again is not None
    assert again.choices == prepared().space.choices
    for ours, theirs in zip(again.splits, prepared().space.splits, strict=True):
        assert ours.groups == theirs.groups
        assert np.array_equal(ours.member, theirs.member)
    assert [path.name for path in file.parent.iterdir()] == ["space.json"]


def test_a_case_is_explored_once(tmp_path, explored):
    first = prepare(foggy(), tmp_path)
    second = prepare(foggy(), tmp_path)
    assert explored == ["foggy-window"]
    assert second.space.choices == first.space.choices
    policies = [one.policy() for one in (first, second)]
    values = [policy.value(policy.everything) for policy in policies]
    assert values[0] == values[1]


@pytest.mark.parametrize(
    "damage",
    [b"", b"{", b"[]", b"{}", b'{"tests": [1]}', b"\xff\xfe", b'{"tests": [{"name": "x"}]}'],
)
def test_a_damaged_space_is_made_again(tmp_path, ready, explored, damage):
    shutil.copytree(ready, tmp_path, dirs_exist_ok=True)
    file = space_in(tmp_path)
    file.write_bytes(damage)
    assert prepare(foggy(), tmp_path).space.choices == prepared().space.choices
    assert len(explored) == 1
    assert load_space(file) is not None


def test_a_space_cut_short_is_made_again(tmp_path, ready, explored):
    shutil.copytree(ready, tmp_path, dirs_exist_ok=True)
    file = space_in(tmp_path)
    file.write_bytes(file.read_bytes()[:-100])
    prepare(foggy(), tmp_path)
    assert len(explored) == 1


def test_a_folder_that_cannot_be_written_is_done_without(tmp_path, explored):
    (tmp_path / "file").write_text("not a folder")
    for folder in (tmp_path / "file", tmp_path / "file" / "below"):
        assert prepare(foggy(), folder).space.choices == prepared().space.choices
    assert len(explored) == 2


def test_the_folder_may_be_named_by_the_environment(tmp_path, explored, monkeypatch):
    monkeypatch.setenv("HALFSPLIT_CACHE", str(tmp_path / "kept"))
    prepare(foggy())
    prepare(foggy())
    assert explored == ["foggy-window"]
    file = space_in(tmp_path / "kept")
    assert file.name == f"foggy-window-{content_key(foggy())}.json"
    assert json.loads(file.read_text(encoding="utf-8"))["format"] == "test-space"


def test_another_content_is_another_key(tmp_path, monkeypatch):
    key = content_key(foggy())
    assert content_key(foggy()) == key
    assert content_key(replace(foggy(), sha256="0")) != key
    circuit = replace(foggy().circuit, sha256="0")
    assert content_key(replace(foggy(), circuit=circuit)) != key
    for package in (grader.contentkey.sim, grader.contentkey.grader):
        source = tmp_path / package.__name__
        source.mkdir()
        (source / "__init__.py").write_text("")
        with monkeypatch.context() as patch:
            patch.setattr(package, "__file__", str(source / "__init__.py"))
            assert content_key(foggy()) != key


@pytest.fixture
def few_choices(monkeypatch) -> int:
    """Explore the first hundred readings only."""
    choices = grader.outcomes.plain_choices(prepared().lineup)[: 5 * CHUNK]
    monkeypatch.setattr(grader.outcomes, "CHUNK", CHUNK)
    monkeypatch.setattr(grader.outcomes, "plain_choices", lambda _lineup: choices)
    return len(choices)


def told_until(done: int) -> tuple[list[Progress], Callable[[Progress], None]]:
    told = []

    def tell(progress: Progress) -> None:
        told.append(progress)
        if progress.done >= done:
            raise KeyboardInterrupt

    return told, tell


@pytest.mark.parametrize("torn", [b"", b'{"done": 999, "te', b"nonsense\n"])
def test_stopped_work_goes_on_where_it_stopped(tmp_path, few_choices, torn):
    whole = prepare(foggy(), tmp_path / "whole")
    told, tell = told_until(2 * CHUNK)
    with pytest.raises(KeyboardInterrupt):
        prepare(foggy(), tmp_path / "halves", tell)
    assert [progress.done for progress in told] == [CHUNK, 2 * CHUNK]
    left = space_in(tmp_path / "halves")
    left.write_bytes(left.read_bytes() + torn)
    more, tell = told_until(few_choices + 1)
    again = prepare(foggy(), tmp_path / "halves", tell)
    assert more[0].done == 3 * CHUNK
    assert more[-1].done == more[-1].of == few_choices
    assert again.space.choices == whole.space.choices
    assert [p.groups for p in again.space.splits] == [p.groups for p in whole.space.splits]
    whole = space_in(tmp_path / "halves")
    assert whole.name == f"foggy-window-{content_key(foggy())}.json"


def test_lines_out_of_order_are_not_believed(tmp_path):
    begun = Begun(tmp_path / "x.json")
    for done in (200, 400, 200):
        begun.add(Progress(done, 1000, ()))
    assert [progress.done for progress in begun.load()] == [200, 400]
    assert [progress.done for progress in begun.load()] == [200, 400]
    begun.remove()
    assert begun.load() == []


def test_policies_are_kept_by_what_was_asked():
    since, wet = "Since when?", "Is it worse in the wet?"
    assert prepared().policy([since, wet, since]) is prepared().policy([wet, since])
    assert prepared().policy([since]) is not prepared().policy()


def test_who_comes_meanwhile_waits_and_is_told(tmp_path, monkeypatch):
    made, told, space = [], [], prepared().space
    begun, seen = threading.Event(), threading.Event()

    def explore(_lineup: object, _healthy: object, _begun: object, keep: Callable) -> TestSpace:
        made.append(1)
        keep(Progress(CHUNK, 5 * CHUNK, ()))
        begun.set()
        assert seen.wait(60)
        return space

    def tell(progress: Progress) -> None:
        told.append(progress.done)
        seen.set()

    monkeypatch.setattr(grader.prepared, "explore", explore)
    first = threading.Thread(target=prepare, args=(foggy(), tmp_path))
    first.start()
    assert begun.wait(60)
    second = prepare(foggy(), tmp_path, tell)
    first.join(60)
    assert second.space.choices == space.choices
    assert made == [1]
    assert told == [CHUNK]


def test_how_far_somebody_else_has_come_is_read_without_touching_it(tmp_path):
    begun = Begun(tmp_path / "x.json")
    assert begun.latest() is None
    for done in (200, 400):
        begun.add(Progress(done, 1000, ()))
    torn = begun.file.read_bytes() + b'{"done": 600, "of'
    begun.file.write_bytes(torn)
    assert begun.latest() == Progress(400, 1000, ())
    assert begun.file.read_bytes() == torn
