"""A zip that was handed in is read without trusting anything in it."""

import zipfile
from pathlib import Path

import pytest

from grader.errors import HandInZipError
from grader.gradebook import zips
from grader.gradebook.zips import read_handin


def make(path: Path, *entries: tuple[str, bytes], mode: int = 0o100644) -> Path:
    with zipfile.ZipFile(path, "w", zipfile.ZIP_DEFLATED) as archive:
        for name, content in entries:
            item = zipfile.ZipInfo(name)
            item.create_system, item.external_attr = 3, mode << 16
            item.compress_type = zipfile.ZIP_DEFLATED
            archive.writestr(item, content)
    return path


def test_notebooks_and_records_are_taken_and_nothing_else(tmp_path: Path) -> None:
    made = make(
        tmp_path / "a.zip",
        ("L/", b""),
        ("L/L.ipynb", b"{}"),
        ("L/foggy-window.record.jsonl", b"1"),
        ("L/virus.exe", b"MZ"),
        ("L/hand-in.problems.json", b"{}"),
        ("__MACOSX/L/._L.ipynb", b"x"),
        ("L/.ipynb_checkpoints/L-checkpoint.ipynb", b"x"),
        ("L/.ipynb", b"x"),
        ("L/new\nline.ipynb", b"x"),
        (f"L/{'x' * 200}.ipynb", b"x"),
    )
    assert read_handin(made) == {"L.ipynb": b"{}", "foggy-window.record.jsonl": b"1"}


@pytest.mark.parametrize(
    "name",
    ["../L.ipynb", "L/../../L.ipynb", "/L.ipynb", "C:/L.ipynb", "..\\L.ipynb", "\\\\host\\L.ipynb"],
)
def test_a_name_that_leaves_the_folder_is_refused(tmp_path: Path, name: str) -> None:
    with pytest.raises(HandInZipError, match="leave its folder"):
        read_handin(make(tmp_path / "a.zip", (name, b"{}")))


@pytest.mark.parametrize("mode", [0o120777, 0o010644, 0o020644])
def test_links_and_devices_are_refused(tmp_path: Path, mode: int) -> None:
    with pytest.raises(HandInZipError, match="link or a device"):
        read_handin(make(tmp_path / "a.zip", ("L.ipynb", b"/etc/passwd"), mode=mode))


def test_a_link_in_place_of_the_zip_is_refused(tmp_path: Path) -> None:
    made = make(tmp_path / "a.zip", ("L.ipynb", b"{}"))
    link = tmp_path / "b.zip"
    link.symlink_to(made)
    with pytest.raises(HandInZipError, match="a link"):
        read_handin(link)


def test_too_much_is_refused_while_unpacking(tmp_path: Path) -> None:
    largest = zips.TAKEN[".record.jsonl"]
    bomb = make(tmp_path / "a.zip", ("foggy-window.record.jsonl", b"0" * (largest + 1)))
    assert bomb.stat().st_size < largest / 100
    with pytest.raises(HandInZipError, match="unpacks to more than"):
        read_handin(bomb)
    with pytest.raises(HandInZipError, match="entries"):
        read_handin(make(tmp_path / "b.zip", *((f"{k}.ipynb", b"") for k in range(101))))


def test_a_size_that_the_zip_lies_about_is_refused(tmp_path: Path) -> None:
    made = make(tmp_path / "a.zip", ("L.ipynb", b"0" * 5000))
    raw = made.read_bytes()
    made.write_bytes(raw.replace((5000).to_bytes(4, "little"), (5).to_bytes(4, "little")))
    with pytest.raises(HandInZipError):
        read_handin(made)


def test_two_files_of_one_name_are_refused(tmp_path: Path) -> None:
    with pytest.raises(HandInZipError, match="two files"):
        read_handin(make(tmp_path / "a.zip", ("a/L.ipynb", b"1"), ("b/L.ipynb", b"2")))


@pytest.mark.parametrize("keep", [0, 10, 100, -1, -30])
def test_a_truncated_zip_is_refused(tmp_path: Path, keep: int) -> None:
    made = make(tmp_path / "a.zip", ("L.ipynb", b"{}" * 100), ("a.record.jsonl", b"1" * 100))
    made.write_bytes(made.read_bytes()[:keep])
    with pytest.raises(HandInZipError, match="no whole zip") as error:
        read_handin(made)
    assert "\n" not in str(error.value)


def test_an_encrypted_entry_is_refused(tmp_path: Path) -> None:
    made = make(tmp_path / "a.zip", ("L.ipynb", b"{}"))
    raw = bytearray(made.read_bytes())
    raw[6] |= 1  # general purpose flag, bit 0: encrypted (PKWARE APPNOTE 4.4.4)
    central = raw.find(b"PK\x01\x02")
    raw[central + 8] |= 1
    made.write_bytes(bytes(raw))
    with pytest.raises(HandInZipError, match="no whole zip"):
        read_handin(made)
