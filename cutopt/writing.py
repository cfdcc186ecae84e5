"""Files that appear whole or not at all.

All files of a run are written into a hidden folder inside the target folder, so on the same file system, and forced to
the disk. Only then do they take their names, one atomic rename each; what stood there before comes back if one fails.
"""

from __future__ import annotations

import errno
import os
import shutil
import tempfile
from collections.abc import Mapping
from pathlib import Path

from cutopt.errors import BadInput, Mistake


def folder_mistakes(folder: Path, names: tuple[str, ...]) -> tuple[Mistake, ...]:
    """What would keep files of these names from being written into `folder`, found before the long work starts."""
    standing = _nearest_standing(folder)
    if not standing.is_dir():
        return (_mistake(standing, "is a file, not a folder", "name a folder, or one that does not exist yet"),)
    if not os.access(standing, os.W_OK | os.X_OK):
        return (_mistake(standing, "is a folder that you may not write in", "name another, or change its permissions"),)
    return tuple(
        _mistake(folder / name, "is a folder where a file has to go", "move it away, or name another folder")
        for name in names
        if (folder / name).is_dir()
    )


def write_all(folder: Path, files: Mapping[str, bytes]) -> tuple[Path, ...]:
    """Write every file, name to contents, into `folder`, which is made if need be; return their paths in that order.

    Raises `BadInput` where the folder cannot take them: then nothing has changed on the disk.
    """
    made = _make(folder)
    staged = False
    try:
        with tempfile.TemporaryDirectory(prefix=".cutopt-", dir=folder, ignore_cleanup_errors=True) as staging:
            _stage(Path(staging), files)
            _swap(Path(staging), folder, tuple(files))
            staged = True
    except OSError as error:
        raise BadInput([_failure(folder, error)]) from error
    finally:
        if not staged:
            _unmake(made)
    return tuple(folder / name for name in files)


def _nearest_standing(path: Path) -> Path:
    """The path itself where something is there, else its nearest parent that exists."""
    return next((step for step in (path, *path.parents) if os.path.lexists(step)), path)


def _make(folder: Path) -> tuple[Path, ...]:
    """Make the folder and its missing parents; return those made, innermost first."""
    missing = tuple(step for step in (folder, *folder.parents) if not os.path.lexists(step))
    made: list[Path] = []
    try:
        for step in reversed(missing):
            step.mkdir()
            made.insert(0, step)
    except OSError as error:
        _unmake(tuple(made))
        raise BadInput([_failure(folder, error)]) from error
    return tuple(made)


def _unmake(made: tuple[Path, ...]) -> None:
    for step in made:
        try:
            step.rmdir()
        except OSError:  # somebody else has put something there: it is not ours to remove
            return


def _stage(staging: Path, files: Mapping[str, bytes]) -> None:
    for name, contents in files.items():
        with (staging / f"new-{name}").open("wb") as file:
            file.write(contents)
            file.flush()
            os.fsync(file.fileno())


def _swap(staging: Path, folder: Path, names: tuple[str, ...]) -> None:
    """Rename each staged file to its name; on any failure, an interruption too, put back what was there."""
    before = {name: _keep(folder / name, staging / f"old-{name}") for name in names}
    swapped: list[str] = []
    try:
        for name in names:
            swapped.append(name)
            (staging / f"new-{name}").replace(folder / name)
    except BaseException:
        for name in swapped:
            if before[name]:
                (staging / f"old-{name}").replace(folder / name)
            elif not (folder / name).is_dir():
                (folder / name).unlink(missing_ok=True)
        raise
    _sync_folder(folder)


def _keep(target: Path, copy: Path) -> bool:
    """Keep a second name, or else a copy, of a file that is about to be replaced. False where there is none."""
    if not os.path.lexists(target) or target.is_dir():
        return False
    try:
        os.link(target, copy, follow_symlinks=False)
    except (OSError, NotImplementedError):  # a file system without hard links
        shutil.copy2(target, copy, follow_symlinks=False)
    return True


def _sync_folder(folder: Path) -> None:
    """Force the new names to the disk, where the system can."""
    try:
        handle = os.open(folder, os.O_RDONLY)
    except OSError:  # Windows opens no folders
        return
    try:
        os.fsync(handle)
    except OSError:  # some network file systems do not sync folders; the files themselves are safe
        pass
    finally:
        os.close(handle)


def _failure(folder: Path, error: OSError) -> Mistake:
    if error.errno in (errno.ENOSPC, errno.EDQUOT):
        return _mistake(folder, "has no space left for the files", "free some, or name a folder on another disk")
    return _mistake(folder, f"cannot take the files: {error.strerror or error}", "name another folder")


def _mistake(path: Path, rule: str, remedy: str) -> Mistake:
    return Mistake(file="--out", key="", value=str(path), rule=rule, remedy=f"{remedy}; nothing was written")
