"""A zip that was handed in, read without trusting anything in it.

Names that leave the folder, links, encrypted entries and zips that unpack to too much are refused;
only notebooks and records are taken, and only their last names are used. Sizes are counted while
unpacking, not believed.
"""

from __future__ import annotations

import re
import stat
import zipfile
import zlib
from pathlib import Path

from grader.errors import HandInZipError
from grader.record import LARGEST as LARGEST_RECORD

TAKEN = {".ipynb": 20_000_000, ".record.jsonl": LARGEST_RECORD}  # bytes each may have
LARGEST_ZIP = 40_000_000  # bytes
MOST_ENTRIES = 100
PLAIN_NAME = re.compile(r"[\w@+ ().,-]{1,120}")
CHUNK = 1 << 16
SYMLINK_OR_OTHER = (stat.S_IFLNK, stat.S_IFIFO, stat.S_IFSOCK, stat.S_IFBLK, stat.S_IFCHR)
NEXT = "hand in the zip as `halfsplit handin` makes it"


def ending_of(name: str) -> str | None:
    """Return the ending of a file that is taken; None for any other."""
    return next((ending for ending in TAKEN if name.endswith(ending)), None)


def read_handin(path: Path) -> dict[str, bytes]:
    """Return the notebooks and records in a zip, by name without folders.

    Raises
    ------
    HandInZipError
        One line that names what is wrong; nothing has been written anywhere.
    """
    if path.is_symlink():
        raise HandInZipError(f"a link, not a file; {NEXT}")
    size = path.stat().st_size
    if size > LARGEST_ZIP:
        raise HandInZipError(f"{size} bytes large, at most {LARGEST_ZIP} are taken; {NEXT}")
    try:
        with zipfile.ZipFile(path) as archive:
            return _read(archive)
    except (
        OSError,
        EOFError,
        ValueError,
        RuntimeError,
        zipfile.BadZipFile,
        zlib.error,
    ) as error:
        raise HandInZipError(f"no whole zip ({error}); {NEXT}") from error


def _read(archive: zipfile.ZipFile) -> dict[str, bytes]:
    items = archive.infolist()
    if len(items) > MOST_ENTRIES:
        raise HandInZipError(f"{len(items)} entries, at most {MOST_ENTRIES} are taken; {NEXT}")
    found: dict[str, bytes] = {}
    for item in items:
        _check_name(item)
        name, ending = item.filename.rpartition("/")[2], ending_of(item.filename)
        hidden = any(part.startswith((".", "__")) for part in item.filename.split("/"))
        if ending is None or hidden or not PLAIN_NAME.fullmatch(name):
            continue
        if name in found:
            raise HandInZipError(f"two files {name!r}; {NEXT}")
        found[name] = _unpacked(archive, item, TAKEN[ending])
    return found


def _check_name(item: zipfile.ZipInfo) -> None:
    """Refuse what could be written elsewhere than where it belongs."""
    name = item.orig_filename
    parts = name.replace("\\", "/").split("/")
    if name.startswith(("/", "\\")) or ".." in parts or ":" in name or "\0" in name:
        raise HandInZipError(f"entry {name!r} would leave its folder; {NEXT}")
    if stat.S_IFMT(item.external_attr >> 16) in SYMLINK_OR_OTHER:
        raise HandInZipError(f"entry {name!r} is a link or a device; {NEXT}")


def _unpacked(archive: zipfile.ZipFile, item: zipfile.ZipInfo, largest: int) -> bytes:
    content = bytearray()
    with archive.open(item) as stream:
        while chunk := stream.read(CHUNK):
            content += chunk
            if len(content) > largest:
                raise HandInZipError(
                    f"{item.filename!r} unpacks to more than {largest} bytes; {NEXT}"
                )
    return bytes(content)
