"""Files appear whole or not at all."""

from __future__ import annotations

import errno
import os
from collections.abc import Callable
from pathlib import Path

import pytest

from cutopt.errors import BadInput
from cutopt.writing import folder_mistakes, write_all

NEW = {"plan.json": b"new plan", "cutbook.html": b"new page", "cuts.csv": b"new list"}


def contents(folder: Path) -> dict[str, bytes]:
    """All files under a folder, hidden ones too, with what is in them."""
    return {str(path.relative_to(folder)): path.read_bytes() for path in folder.rglob("*") if path.is_file()}


def failing(real: Callable[..., None], at: int, error: BaseException) -> Callable[..., None]:
    """`real`, but the call number `at`, counted from 1, raises."""
    calls = 0

    def stand_in(*arguments: object, **keywords: object) -> None:
        nonlocal calls
        calls += 1
        if calls == at:
            raise error
        real(*arguments, **keywords)

    return stand_in


def test_writes_all_and_nothing_else(tmp_path: Path) -> None:
    paths = write_all(tmp_path / "a" / "b", NEW)
    assert paths == tuple(tmp_path / "a" / "b" / name for name in NEW)
    assert contents(tmp_path / "a" / "b") == NEW
    assert [path.name for path in (tmp_path / "a").iterdir()] == ["b"]


def test_replaces_older_files_and_leaves_others_alone(tmp_path: Path) -> None:
    (tmp_path / "plan.json").write_bytes(b"old plan")
    (tmp_path / "notes.txt").write_bytes(b"mine")
    write_all(tmp_path, NEW)
    assert contents(tmp_path) == {**NEW, "notes.txt": b"mine"}


@pytest.mark.parametrize("at", [1, 2, 3])
@pytest.mark.parametrize(
    ("code", "words"), [(errno.ENOSPC, "has no space left"), (errno.EDQUOT, "has no space left"), (errno.EIO, "cannot")]
)
def test_full_disk_leaves_no_trace(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch, at: int, code: int, words: str
) -> None:
    monkeypatch.setattr(os, "fsync", failing(os.fsync, at, OSError(code, os.strerror(code))))
    with pytest.raises(BadInput, match=words) as caught:
        write_all(tmp_path / "out" / "deep", NEW)
    assert caught.value.exit_code == 2
    assert list(tmp_path.iterdir()) == []


@pytest.mark.parametrize("at", [1, 2, 3])
@pytest.mark.parametrize("error", [OSError(errno.EACCES, "Permission denied"), KeyboardInterrupt()])
def test_failing_rename_brings_the_old_files_back(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch, at: int, error: BaseException
) -> None:
    old = {"plan.json": b"old plan", "cutbook.html": b"old page"}  # and no cuts.csv
    for name, text in old.items():
        (tmp_path / name).write_bytes(text)
    monkeypatch.setattr(Path, "replace", failing(Path.replace, at, error))
    with pytest.raises((BadInput, KeyboardInterrupt)):
        write_all(tmp_path, NEW)
    assert contents(tmp_path) == old
    assert {path.name for path in tmp_path.iterdir()} == set(old)


def test_without_hard_links_the_old_files_come_back_too(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    def no_links(*_: object, **__: object) -> None:
        raise OSError(errno.EPERM, "Operation not permitted")

    (tmp_path / "plan.json").write_bytes(b"old plan")
    monkeypatch.setattr(os, "link", no_links)
    monkeypatch.setattr(Path, "replace", failing(Path.replace, 2, OSError(errno.EIO, "Input/output error")))
    with pytest.raises(BadInput):
        write_all(tmp_path, NEW)
    assert contents(tmp_path) == {"plan.json": b"old plan"}


def test_a_file_in_place_of_the_folder(tmp_path: Path) -> None:
    (tmp_path / "demo").write_bytes(b"mine")
    for folder in (tmp_path / "demo", tmp_path / "demo" / "deeper"):
        (mistake,) = folder_mistakes(folder, tuple(NEW))
        assert str(mistake).startswith(f"--out = {tmp_path / 'demo'}: is a file, not a folder; ")
        with pytest.raises(BadInput):
            write_all(folder, NEW)
    assert contents(tmp_path) == {"demo": b"mine"}


def test_a_folder_in_place_of_a_file(tmp_path: Path) -> None:
    (tmp_path / "cuts.csv").mkdir()
    (mistake,) = folder_mistakes(tmp_path, tuple(NEW))
    assert mistake.value == str(tmp_path / "cuts.csv")
    with pytest.raises(BadInput):
        write_all(tmp_path, NEW)
    assert contents(tmp_path) == {}
    assert (tmp_path / "cuts.csv").is_dir()


def test_a_folder_without_permission(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    # the system is asked through os.access; root may write anywhere, so the answer is given here
    monkeypatch.setattr(os, "access", lambda path, mode: path != tmp_path)
    (mistake,) = folder_mistakes(tmp_path / "new", tuple(NEW))
    assert "may not write" in mistake.rule
    assert mistake.value == str(tmp_path)


def test_a_folder_that_is_fine(tmp_path: Path) -> None:
    assert folder_mistakes(tmp_path / "new" / "deep", tuple(NEW)) == ()
    assert folder_mistakes(tmp_path, tuple(NEW)) == ()


def test_a_relative_folder(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.chdir(tmp_path)
    assert folder_mistakes(Path("demo"), tuple(NEW)) == ()
    assert write_all(Path("demo"), NEW)[0] == Path("demo/plan.json")
    assert contents(tmp_path / "demo") == NEW
