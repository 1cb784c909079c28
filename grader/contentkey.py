"""What is worked out of a case is kept on disk by content: key, folder, writing in one step."""

from __future__ import annotations

import hashlib
import os
from contextlib import suppress
from pathlib import Path
from types import ModuleType

from platformdirs import user_cache_dir

import grader
import sim
from grader.case import Case

#: Comes after the score, so nothing that is kept depends on it.
GRADEBOOK = Path(__file__).parent / "gradebook"


def cache_folder(folder: Path | None = None) -> Path:
    """Return where things are kept: the folder given, or the environment's, or the user's own."""
    return folder or Path(os.environ.get("HALFSPLIT_CACHE") or user_cache_dir("halfsplit"))


def content_key(case: Case) -> str:
    """Return a key that changes whenever suspects or test space could."""
    return key_of(f"{case.sha256}|{case.circuit.sha256}", sim, grader)


def key_of(content: str, *packages: ModuleType, files: str = "*.py") -> str:
    """Return a key that changes with a content, and with the files of packages."""
    digest = hashlib.sha256(content.encode())
    for package in packages:
        root = Path(str(package.__file__)).parent
        for path in sorted(root.rglob(files)):
            if GRADEBOOK in path.parents:
                continue
            digest.update(path.relative_to(root).as_posix().encode())
            digest.update(path.read_bytes().replace(b"\r\n", b"\n"))
    return digest.hexdigest()[:20]


def keep(file: Path, text: str) -> None:
    """Write a file in one step; what cannot be written is done without."""
    partial = file.with_suffix(f".{os.getpid()}.part")
    try:
        file.parent.mkdir(parents=True, exist_ok=True)
        partial.write_text(text, encoding="utf-8")
        partial.replace(file)
    except OSError:
        with suppress(OSError):
            partial.unlink()
