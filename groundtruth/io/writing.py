"""Write files whole or not at all."""

from __future__ import annotations

import contextlib
import os
import tempfile
from collections.abc import Mapping
from pathlib import Path

from ..core.errors import InputError


def write_whole(path: Path | str, text: str) -> None:
    """Write UTF-8 text so that a reader finds the old file or the new one, never a part.

    Raises
    ------
    InputError : the folder is missing or not writable, or the disk is full.
    """
    write_all_whole({Path(path): text})


def write_all_whole(texts: Mapping[Path, str]) -> None:
    """Write several files: all are first written out beside their places, then all put in place.

    A failure before the first is in place (no room, no permission) leaves every old file as it
    was. Putting in place is one rename a file; the system offers no rename of several at once,
    so a crash between two renames leaves some new and some old, each of them whole.

    Raises
    ------
    InputError : a folder is missing or not writable, a path is a folder, or the disk is full.
    """
    waiting: list[tuple[Path, Path]] = []
    try:
        for path, text in texts.items():
            if path.is_dir():
                raise InputError(f"{path}: is a folder; a file is to be written there")
            waiting.append((_written_beside(path, text), path))
        for beside, path in waiting:
            try:
                os.replace(beside, path)
            except OSError as err:
                raise _refused(path, err) from err
    finally:
        for beside, _ in waiting:
            with contextlib.suppress(FileNotFoundError):
                beside.unlink()
    for folder in {path.parent for path in texts}:
        _flush_folder(folder)


def _written_beside(path: Path, text: str) -> Path:
    beside: Path | None = None
    try:
        handle, name = tempfile.mkstemp(dir=path.parent, prefix=f".{path.name}.", suffix=".part")
        beside = Path(name)
        with open(handle, "w", encoding="utf-8", newline="\n") as file:
            file.write(text)
            file.flush()
            os.fsync(file.fileno())
        beside.chmod(_usual_mode(path))
    except BaseException as err:
        if beside is not None:
            beside.unlink(missing_ok=True)
        if isinstance(err, OSError):
            raise _refused(path, err) from err
        raise
    return beside


def _usual_mode(path: Path) -> int:
    """The old file's mode, or what a plain open() would give: mkstemp makes files private."""
    try:
        return path.stat().st_mode & 0o777
    except FileNotFoundError:
        mask = os.umask(0)
        os.umask(mask)
        return 0o666 & ~mask


def _flush_folder(folder: Path) -> None:
    """Make the renames last through a power cut, where folders can be flushed."""
    if os.name == "nt":
        return
    with contextlib.suppress(OSError):
        handle = os.open(folder, os.O_RDONLY)
        try:
            os.fsync(handle)
        finally:
            os.close(handle)


def _refused(path: Path, err: OSError) -> InputError:
    if isinstance(err, FileNotFoundError):
        reason = "there is no such folder; make it first or choose another"
    elif isinstance(err, PermissionError):
        reason = "the folder cannot be written to; choose another"
    else:
        reason = f"cannot be written ({err.strerror or err})"
    return InputError(f"{path}: {reason}")
