"""The record survives a crash at any byte, and says what has been done to it."""

import json
import os
from pathlib import Path

import pytest

from grader.errors import RecordError
from grader.record import Writer, canonical, line_hash, parse_record, read_record


def write_some(path: Path, count: int = 4) -> None:
    with Writer(path) as writer:
        if not writer.entries:
            writer.append("open", {"format": "record", "version": 1, "case": "c"})
        for number in range(count):
            writer.append("note", {"text": f"note {number} “ä”"})


def lines(path: Path) -> list[bytes]:
    return path.read_bytes().splitlines(keepends=True)


def test_a_record_reads_back_what_was_written(tmp_path):
    path = tmp_path / "a.record.jsonl"
    write_some(path)
    entries = read_record(path)
    assert [entry.kind for entry in entries] == ["open", "note", "note", "note", "note"]
    assert entries[2].data["text"] == "note 1 “ä”"


def test_lines_are_canonical_and_chained(tmp_path):
    path = tmp_path / "a.record.jsonl"
    write_some(path)
    prev = ""
    for line in lines(path):
        data = json.loads(line)
        assert canonical(data).encode() + b"\n" == line
        assert data["prev"] == prev
        assert data["hash"] == line_hash(data)
        prev = data["hash"]


def test_a_record_cut_at_any_byte_keeps_every_whole_line(tmp_path):
    path = tmp_path / "a.record.jsonl"
    write_some(path, 2)
    whole = path.read_bytes()
    for length in range(len(lines(path)[0]), len(whole)):
        cut = tmp_path / "cut.record.jsonl"
        cut.write_bytes(whole[:length])
        kept = whole[:length].count(b"\n")
        with Writer(cut) as writer:
            assert len(writer.entries) == kept
            writer.append("note", {"text": "after the crash"})
        assert len(read_record(cut)) == kept + 1
        cut.unlink()


def test_every_line_is_synced_before_append_returns(tmp_path, monkeypatch):
    synced = []
    real = os.fsync

    def watch(descriptor: int) -> None:
        synced.append(os.fstat(descriptor).st_size)
        real(descriptor)

    monkeypatch.setattr(os, "fsync", watch)
    path = tmp_path / "a.record.jsonl"
    write_some(path, 3)
    ends = [sum(len(line) for line in lines(path)[: k + 1]) for k in range(4)]
    assert synced == ends


@pytest.mark.parametrize(
    ("change", "says"),
    [
        (lambda ls: [*ls[:2], ls[2].replace(b"note 1", b"note 9"), *ls[3:]], ":3: edited"),
        (lambda ls: [ls[0], *ls[2:]], ":2: line 2 where 1 belongs"),
        (lambda ls: [ls[0], b"{]\n", *ls[2:]], ":2: edited: not a line of JSON"),
        (lambda ls: [b"[1]\n"], ":1: edited: expected an object"),
        (lambda ls: ls[1:], ":1: not a record"),
        (lambda ls: [], "empty"),
        (lambda ls: [ls[0].replace(b'"version":1', b'"version":2')], "too new"),
        (lambda ls: [ls[0].replace(b'"version":1', b'"version":0')], "too old"),
    ],
)
def test_what_was_done_to_a_record_is_named(tmp_path, change, says):
    path = tmp_path / "a.record.jsonl"
    write_some(path)
    raw = b"".join(change(lines(path)))
    with pytest.raises(RecordError, match=says) as caught:
        parse_record(raw, path.name)
    assert "\n" not in str(caught.value)


def test_a_second_writer_is_refused_while_the_first_is_open(tmp_path):
    path = tmp_path / "a.record.jsonl"
    write_some(path)
    with Writer(path), pytest.raises(RecordError, match="another window"), Writer(path):
        pass
    write_some(path, 1)
    assert len(read_record(path)) == 6


def test_a_huge_file_is_refused_without_reading_it(tmp_path):
    path = tmp_path / "a.record.jsonl"
    with path.open("wb") as file:
        file.truncate(100_000_000)
    with pytest.raises(RecordError, match="at most"):
        read_record(path)
