"""SQLite files: opened by name, as SQLite does, and yet the very files that were looked at."""

from __future__ import annotations

import os
import sqlite3
from pathlib import Path
from typing import Any, Literal

from .files import FileIdentity, identity_of

_OPEN_FILES = "/proc/self/fd"


class FileExchanged(Exception):
    """Another file was put in the place of the one that was looked at."""


def connect_file(
    path: Path, mode: Literal["ro", "rw", "rwc"], looked_at: FileIdentity | None, **options: Any
) -> sqlite3.Connection:
    """A connection to the file that was looked at; None where there was none yet.

    ``mode`` and ``options`` are those of `sqlite3.connect`.

    Raises
    ------
    FileExchanged : SQLite opened another file than the one looked at.
    sqlite3.Error : it cannot be opened.
    """
    db: sqlite3.Connection = sqlite3.connect(
        f"{path.absolute().as_uri()}?mode={mode}", uri=True, **options
    )
    try:
        if looked_at is not None:
            refuse_exchanged(path, looked_at)
            if not _is_open(looked_at):
                raise FileExchanged(str(path))
    except BaseException:
        db.close()
        raise
    return db


def refuse_exchanged(path: Path, looked_at: FileIdentity) -> None:
    """Refuse a path that leads to another file by now.

    Raises
    ------
    FileExchanged : it does, or leads nowhere.
    """
    try:
        found = identity_of(os.stat(path))
    except OSError:
        found = None
    if found != looked_at:
        raise FileExchanged(str(path))


def _is_open(file: FileIdentity) -> bool:
    """Whether this process holds a file open; taken for granted where the system does not tell."""
    try:
        handles = os.listdir(_OPEN_FILES)
    except OSError:
        return True
    for handle in handles:
        try:
            if identity_of(os.stat(f"{_OPEN_FILES}/{handle}")) == file:
                return True
        except OSError:  # closed by now, such as that of the listing
            continue
    return False
