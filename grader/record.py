"""The record of an attempt: JSON lines, append-only, hash-chained, one fsync a line.

Canonical lines: UTF-8, sorted keys, no spaces. `hash` is the SHA-256 of the line without `hash`;
`prev` is the hash of the line before. A torn last line is what a crash leaves behind: it is cut
off, nothing was shown for it yet.
"""

from __future__ import annotations

import hashlib
import json
import os
from collections.abc import Mapping
from contextlib import suppress
from dataclasses import dataclass
from datetime import UTC, datetime
from pathlib import Path
from types import TracebackType
from typing import Any, BinaryIO, Self

from grader.errors import RecordError

FORMAT, VERSION = "record", 1
KINDS = ("open", "act", "strike", "restore", "note", "predict", "hint", "call", "close")
LARGEST = 20_000_000  # bytes
LOCKED_BYTE = 1 << 30  # where Windows keeps the writer's lock


@dataclass(frozen=True, slots=True)
class Entry:
    """One line: number, kind, and everything in it."""

    number: int
    kind: str
    data: Mapping[str, Any]


def canonical(data: Mapping[str, Any]) -> str:
    """Return the canonical JSON text of a line."""
    return json.dumps(data, sort_keys=True, separators=(",", ":"), ensure_ascii=False)


def line_hash(data: Mapping[str, Any]) -> str:
    """Return the hash of a line, whatever its `hash` says."""
    bare = {key: value for key, value in data.items() if key != "hash"}
    return hashlib.sha256(canonical(bare).encode()).hexdigest()


def read_record(path: Path) -> list[Entry]:
    """Read and check a record.

    Raises
    ------
    RecordError
        Unreadable, not a record, of another version, or with a broken chain; names the line. A
        torn last line is left out silently.
    """
    try:
        size = path.stat().st_size
        if size > LARGEST:
            raise RecordError(f"{path.name}: got {size} bytes, a record has at most {LARGEST}")
        raw = path.read_bytes()
    except OSError as error:
        raise RecordError(f"{path}: cannot be read ({error.strerror}); check the name") from error
    return parse_record(raw, path.name)


def whole_lines(raw: bytes) -> bytes:
    """Return the bytes up to the last complete line."""
    return raw[: raw.rfind(b"\n") + 1]


def parse_record(raw: bytes, name: str) -> list[Entry]:
    """Check the lines of a record held in memory; `name` is shown in messages."""
    entries: list[Entry] = []
    prev = ""
    for number, line in enumerate(whole_lines(raw).split(b"\n")[:-1]):
        data = _parse_line(line, f"{name}:{number + 1}")
        where = f"{name}:{number + 1}"
        if number == 0:
            _check_opening(data, where)
        if data.get("kind") not in KINDS or (data.get("kind") == "open") != (number == 0):
            raise RecordError(f"{where}: kind {data.get('kind')!r} does not belong here")
        if data.get("n") != number:
            raise RecordError(
                f"{where}: line {data.get('n')!r} where {number} belongs: lines missing"
            )
        if data.get("prev") != prev or data.get("hash") != line_hash(data):
            raise RecordError(f"{where}: edited: the line and its hash do not agree")
        prev = str(data["hash"])
        entries.append(Entry(number, str(data["kind"]), data))
    if not entries:
        raise RecordError(f"{name}: empty: no opening line; hand in the record of a begun case")
    return entries


def _parse_line(line: bytes, where: str) -> dict[str, Any]:
    try:
        data = json.loads(line)
        canonical(data).encode()  # halves of characters, or nested too deep: not written by us
    except (ValueError, RecursionError) as error:
        raise RecordError(f"{where}: edited: not a line of JSON") from error
    if not isinstance(data, dict):
        raise RecordError(f"{where}: edited: expected an object")
    return data


def _check_opening(data: Mapping[str, Any], where: str) -> None:
    if data.get("format") != FORMAT:
        raise RecordError(f"{where}: not a record: format is {data.get('format')!r}")
    version = data.get("version")
    if version != VERSION:
        newer = isinstance(version, int) and version > VERSION
        word = "new: update halfsplit" if newer else "old: work the case again"
        raise RecordError(f"{where}: record version {version!r} is too {word} (reads {VERSION})")


class Writer:
    """Appends to a record; the only thing that does. Use as a context manager.

    The file is locked while it is open: a second writer is refused.
    """

    def __init__(self, path: Path) -> None:
        self.path = path
        self.entries: list[Entry] = []
        self._file: BinaryIO | None = None

    def __enter__(self) -> Self:
        """Open the file, lock it, read what is there and cut off a torn last line.

        Raises
        ------
        RecordError
            It cannot be written, somebody else is writing it, or it has been edited.
        """
        try:
            self.path.parent.mkdir(parents=True, exist_ok=True)
            file = self.path.open("a+b")
        except OSError as error:
            raise self._unwritable(error) from error
        try:
            lock(file, self.path)
            file.seek(0)
            raw = file.read()
            whole = whole_lines(raw)
            if whole:
                self.entries = parse_record(raw, self.path.name)
            if len(whole) < len(raw):
                file.truncate(len(whole))
        except BaseException:
            file.close()
            raise
        self._file = file
        return self

    def __exit__(
        self,
        kind: type[BaseException] | None,
        error: BaseException | None,
        trace: TracebackType | None,
    ) -> None:
        """Close the file, which unlocks it."""
        if self._file:
            self._file.close()
            self._file = None

    def _unwritable(self, error: OSError) -> RecordError:
        return RecordError(
            f"{self.path}: cannot be written ({error.strerror}); make room and open the case again"
        )

    def _abandon(self) -> None:
        file, self._file = self._file, None
        if file:
            with suppress(OSError):
                file.close()

    def append(self, kind: str, data: Mapping[str, Any]) -> Entry:
        """Write one line and wait until it is on the disk.

        Raises
        ------
        RecordError
            It is no text, or could not be written; then the file is closed, so that nothing
            follows a torn line.
        """
        if self._file is None:
            raise RecordError(f"{self.path.name}: not open; open the case again")
        line: dict[str, Any] = {
            **data,
            "n": len(self.entries),
            "kind": kind,
            "prev": self.entries[-1].data["hash"] if self.entries else "",
            "at": datetime.now(UTC).strftime("%Y-%m-%dT%H:%M:%SZ"),
        }
        try:
            line["hash"] = line_hash(line)
        except UnicodeEncodeError as error:
            raise RecordError("half a character in the text; type it again") from error
        try:
            self._file.write(canonical(line).encode() + b"\n")
            self._file.flush()
            os.fsync(self._file.fileno())
        except OSError as error:
            self._abandon()
            raise self._unwritable(error) from error
        entry = Entry(len(self.entries), kind, line)
        self.entries.append(entry)
        return entry


def lock(file: BinaryIO, path: Path) -> None:
    """Take the only writer's lock on an open file.

    Raises
    ------
    RecordError
        Somebody else is writing this record.
    """
    try:
        if os.name == "nt":
            import msvcrt  # noqa: PLC0415 -- exists on Windows only

            file.seek(LOCKED_BYTE)  # far behind the last line: readers are not in the way
            msvcrt.locking(file.fileno(), msvcrt.LK_NBLCK, 1)  # type: ignore[attr-defined]
        else:
            import fcntl  # noqa: PLC0415 -- does not exist on Windows

            fcntl.flock(file, fcntl.LOCK_EX | fcntl.LOCK_NB)
    except OSError as error:
        raise RecordError(
            f"{path.name}: this case is open in another window; close it there first"
        ) from error
