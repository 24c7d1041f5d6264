"""Open what a person named: one clear line for whatever is no readable file of sensible size."""

from __future__ import annotations

import hashlib
import io
import os
import stat
from os import PathLike
from pathlib import Path
from typing import BinaryIO

from ..core.errors import InputError
from ..core.opened import remember_input
from ..core.track import InputFile
from .decoding import clean

MAX_TRACK_BYTES = 1 << 30
MAX_SHEET_BYTES = 16 << 20
MAX_RUN_BYTES = 1 << 17


def shown_name(path: str | PathLike[str]) -> str:
    """The file's name without folders, fit to be shown."""
    return clean(os.fsdecode(Path(path).name)) or "."


def open_file(
    path: str | PathLike[str], *, error: type[InputError], what: str, limit: int
) -> BinaryIO:
    """The regular file at ``path``, open for reading bytes; the caller closes it.

    Raises
    ------
    error : it does not exist, is a folder or device, is empty, or holds more than ``limit`` bytes.
    """
    name = shown_name(path)
    try:
        status = os.stat(path)
        if stat.S_ISDIR(status.st_mode):
            raise error(f"{name}: is a folder; name a {what}")
        if not stat.S_ISREG(status.st_mode):
            raise error(f"{name}: is a device or pipe, not a file; name a {what}")
        if status.st_size == 0:
            raise error(f"{name}: the file is empty; copy it from the phone or computer again")
        if status.st_size > limit:
            raise error(
                f"{name}: {status.st_size / 1e6:.0f} MB; a {what} of more than "
                f"{limit / 1e6:.0f} MB is not read"
            )
        stream = open(path, "rb")  # noqa: SIM115 - the caller closes it
    except FileNotFoundError:
        where = shown_name(Path(path).parent.resolve()) or "."
        raise error(f"{name}: no such {what} in the folder {where}") from None
    except (OSError, ValueError) as failure:
        if isinstance(failure, InputError):
            raise
        reason = getattr(failure, "strerror", None) or "its name cannot be used"
        raise error(f"{name}: cannot be opened: {reason}") from None
    remember_input(stream)
    return stream


def read_file(
    path: str | PathLike[str], *, error: type[InputError], what: str, limit: int
) -> tuple[bytes, InputFile]:
    """All bytes of a small file, and its name and SHA-256."""
    with open_file(path, error=error, what=what, limit=limit) as stream:
        data = stream.read(limit + 1)
    if len(data) > limit:
        raise error(f"{shown_name(path)}: grew beyond {limit / 1e6:.0f} MB while it was read")
    return data, InputFile(name=shown_name(path), sha256=hashlib.sha256(data).hexdigest())


class _View(io.RawIOBase):
    """An open file, read by a position of its own; closing this leaves the file open."""

    def __init__(self, file: io.FileIO) -> None:
        self._file, self._at = file, 0

    def readable(self) -> bool:
        return True

    def seekable(self) -> bool:
        return True

    def readinto(self, buffer: memoryview) -> int | None:  # type: ignore[override] # any buffer
        self._file.seek(self._at)
        count = self._file.readinto(buffer)
        self._at += count or 0
        return count

    def seek(self, offset: int, whence: int = io.SEEK_SET) -> int:
        base = (0, self._at, os.fstat(self._file.fileno()).st_size)[whence]
        self._at = max(0, base + offset)
        return self._at


def view(stream: BinaryIO) -> BinaryIO:
    """The bytes of an open file once more from the start, whatever its name now leads to."""
    raw = stream.raw  # type: ignore[attr-defined] # of the buffered reader that open() gives
    return io.BufferedReader(_View(raw), 1 << 17)


def fingerprint(path: str | PathLike[str], stream: BinaryIO) -> InputFile:
    """Name and SHA-256 of an open file; leaves it at its start."""
    stream.seek(0)
    digest = hashlib.sha256()
    while piece := stream.read(1 << 18):
        digest.update(piece)
    stream.seek(0)
    return InputFile(name=shown_name(path), sha256=digest.hexdigest())
