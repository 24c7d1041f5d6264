"""Copies of the record as it was before it was last written to, and putting one back."""

from __future__ import annotations

import contextlib
import os
import re
import shutil
import sqlite3
from contextlib import closing
from datetime import UTC, datetime
from pathlib import Path

from ..io.writing import clear_parts, flush_folder, make_folder, part_beside
from .refusals import SeasonError

LATEST, DAYS = 3, 5
"""Kept are the latest copies, and the last one of each of the latest days."""
_NAME = re.compile(r"(\d{4}-\d\d-\d\d)T\d\d-\d\d-\d\d\.\d{6}Z\.gpkg")
_REPLACED = "replaced-"


def backup_folder(path: Path) -> Path:
    """Where the copies of a record are."""
    return path.with_name(f"{path.stem}-backups")


def backups(path: Path) -> list[Path]:
    """The copies, the latest first."""
    with contextlib.suppress(OSError):
        return sorted(
            (p for p in backup_folder(path).iterdir() if _NAME.fullmatch(p.name)), reverse=True
        )
    return []


def taken_at(copy: Path) -> str:
    """When a copy was taken: "2027-06-12 07:10:03 UTC"."""
    day, _, clock = copy.name.removesuffix("Z.gpkg").partition("T")
    return f"{day} {clock.partition('.')[0].replace('-', ':')} UTC"


class Backup:
    """A copy of the record as it is before it is changed, kept if it turns out to be wanted.

    Raises
    ------
    SeasonError : it cannot be made; the record is as it was.
    """

    def __init__(self, path: Path, db: sqlite3.Connection) -> None:
        self._path, self._folder = path, backup_folder(path)
        try:
            make_folder(self._folder)
            clear_parts(self._folder)
            self._part = part_beside(self._folder / "copy")
            with closing(sqlite3.connect(self._part)) as copy:
                copy.execute("PRAGMA synchronous = OFF")  # synced as a whole when it is kept
                db.backup(copy)
        except OSError as err:
            raise self._refusal(err) from err
        except BaseException:
            self.drop()
            raise

    def keep(self) -> None:
        """Put the copy among the others."""
        try:
            _sync(self._part)
            stamp = datetime.now(UTC).strftime("%Y-%m-%dT%H-%M-%S.%fZ")
            os.replace(self._part, self._folder / f"{stamp}.gpkg")
            flush_folder(self._folder)
        except OSError as err:
            raise self._refusal(err) from err
        _thin(self._path)

    def drop(self) -> None:
        """Forget it, unless it was kept."""
        for rest in (self._part, self._part.with_name(self._part.name + "-journal")):
            with contextlib.suppress(OSError):  # the next call clears it away
                rest.unlink(missing_ok=True)

    def _refusal(self, err: OSError) -> SeasonError:
        return SeasonError(
            f"{self._folder}: no copy of the record can be kept there ({err.strerror}); nothing "
            "was changed"
        )


def put_copy_back(path: Path, copy: sqlite3.Connection) -> Path | None:
    """Put a copy in the place of the record; returns where the record as it was is kept.

    Where SQLite can still open the record this is one transaction of it, so that programs which
    have it open see it whole; a file too broken for that is replaced.

    Raises
    ------
    SeasonError : the copy cannot be read, or the record as it is cannot be kept.
    """
    folder = backup_folder(path)
    kept = None
    try:
        make_folder(folder)
        if path.exists():
            kept = folder / f"{_REPLACED}{datetime.now(UTC).strftime('%Y-%m-%dT%H-%M-%S.%fZ')}.gpkg"
            journal = path.with_name(path.name + "-journal")
            if journal.exists():  # what it would take back belongs to the file as it is
                kept_journal = kept.with_name(kept.name + "-journal")
                shutil.copyfile(journal, kept_journal)
                _sync(kept_journal)
            shutil.copyfile(path, kept)
            _sync(kept)
        flush_folder(folder)
    except OSError as err:
        raise SeasonError(
            f"{path}: as it is cannot be kept in {folder} ({err.strerror}); nothing was changed"
        ) from err
    try:
        with closing(sqlite3.connect(path)) as target:
            target.execute("PRAGMA synchronous = EXTRA")
            copy.backup(target)
            target.execute("PRAGMA quick_check(1)")
    except sqlite3.OperationalError:
        raise
    except (sqlite3.DatabaseError, UnicodeDecodeError):
        _replace(path, copy)
    return kept


def _replace(path: Path, copy: sqlite3.Connection) -> None:
    part = part_beside(path)
    try:
        with closing(sqlite3.connect(part)) as target:
            copy.backup(target)
        _sync(part)
        # a journal left by a crash would take back what is not of the new file
        path.with_name(path.name + "-journal").unlink(missing_ok=True)
        os.replace(part, path)
    except OSError as err:
        raise SeasonError(
            f"{path}: cannot be replaced ({err.strerror}); nothing was changed"
        ) from err
    finally:
        with contextlib.suppress(OSError):
            part.unlink()
    flush_folder(path.parent)


def _thin(path: Path) -> None:
    """Drop copies that are neither among the latest nor the last of a recent day."""
    found = backups(path)
    last_of: dict[str, Path] = {}
    for copy in found:
        last_of.setdefault(copy.name[:10], copy)
    keep = {*found[:LATEST], *list(last_of.values())[:DAYS]}
    for copy in found:
        if copy not in keep:
            with contextlib.suppress(OSError):
                copy.unlink()


def _sync(file: Path) -> None:
    with open(file, "rb+") as handle:
        os.fsync(handle.fileno())
