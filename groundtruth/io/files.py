"""What a person hands over, by path or as bytes: one clear line for what is no sensible file.

A file is opened once. What is hashed for the record is the very bytes that are then read.
"""

from __future__ import annotations

import hashlib
import os
import stat
from dataclasses import dataclass, field
from os import PathLike
from pathlib import Path
from typing import TYPE_CHECKING, BinaryIO

from ..core.errors import InputError
from ..core.opened import remember_input
from ..core.safe_text import NAME_LENGTH, clean

if TYPE_CHECKING:
    from ..core.track import InputFile

MAX_TRACK_BYTES = 1 << 30
MAX_SHEET_BYTES = 16 << 20
MAX_RUN_BYTES = 1 << 17
MAX_RESULT_BYTES = 64 << 20
"""A run of 1,200 passes of four row units takes 8 MB."""
_NO_WAITING = sum(getattr(os, f"O_{flag}", 0) for flag in ("NONBLOCK", "BINARY", "CLOEXEC"))


@dataclass(frozen=True, slots=True)
class Source:
    """A file that was handed over: its bytes, and the name by which messages call it.

    ``name`` is cut to its last part and made fit to be shown, so that a full path may be given.
    """

    name: str
    data: bytes = field(repr=False)

    def __post_init__(self) -> None:
        object.__setattr__(self, "name", clean(Path(self.name).name, 2 * NAME_LENGTH) or ".")

    @property
    def file(self) -> InputFile:
        """Name and SHA-256, as a result records them."""
        from ..core.track import InputFile

        return InputFile(name=self.name, sha256=hashlib.sha256(self.data).hexdigest())


FileInput = str | PathLike[str] | Source
"""Wherever a file is read it may be named by its path, or handed over as a `Source`."""


def shown_name(given: FileInput) -> str:
    """The file's name without folders, fit to be shown."""
    if isinstance(given, Source):
        return given.name
    return clean(os.fsdecode(Path(given).name)) or "."


def load(given: FileInput, *, error: type[InputError], what: str, limit: int) -> Source:
    """All bytes of a regular file, read in one go, or of a source as they are.

    Raises
    ------
    error : the file does not exist, is a folder or device, is empty, or holds more than ``limit``
        bytes.
    """
    if isinstance(given, Source):
        source = given
    else:
        source = Source(shown_name(given), _bytes_of(given, error, what, limit))
    if not source.data:
        raise error("the file is empty; copy it from the phone or computer again", file=source.name)
    if len(source.data) > limit:
        raise _too_large(len(source.data), limit, error, what, source.name)
    return source


def opened_without_waiting(path: str | PathLike[str]) -> BinaryIO:
    """A file, device or pipe opened to read: a pipe waits for nobody to write into it.

    Raises
    ------
    OSError : it cannot be opened, or is a folder.
    ValueError : the name cannot be one of a file.
    """
    return open(path, "rb", opener=lambda name, flags: os.open(name, flags | _NO_WAITING))


FileIdentity = tuple[int, int]
"""Device and number of a file, which stay when its name goes to another."""


def identity_of(status: os.stat_result) -> FileIdentity:
    """Which file a status is of."""
    return status.st_dev, status.st_ino


def regular_head(path: str | PathLike[str], count: int) -> bytes | None:
    """The first bytes of a regular file, None where it is a device or pipe.

    Raises
    ------
    OSError : it cannot be opened or read, or is a folder.
    """
    found = looked_at(path, count)
    return None if found is None else found[0]


def looked_at(path: str | PathLike[str], count: int) -> tuple[bytes, FileIdentity] | None:
    """The first bytes of a regular file and which file it is, None where it is a device or pipe.

    Raises
    ------
    OSError : it cannot be opened or read, or is a folder.
    """
    with opened_without_waiting(path) as stream:
        status = os.fstat(stream.fileno())
        if not stat.S_ISREG(status.st_mode):
            return None
        return stream.read(count), identity_of(status)


def _bytes_of(path: str | PathLike[str], error: type[InputError], what: str, limit: int) -> bytes:
    """The bytes at a path, up to one more than ``limit``."""
    name = shown_name(path)
    try:
        with opened_without_waiting(path) as stream:
            before = os.fstat(stream.fileno())
            if not stat.S_ISREG(before.st_mode):
                raise error(f"is a device or pipe, not a file; name a {what}", file=name)
            if before.st_size > limit:
                raise _too_large(before.st_size, limit, error, what, name)
            remember_input(stream)
            data = stream.read(before.st_size + 1)
            after = os.fstat(stream.fileno())
        if (before.st_mtime_ns, before.st_size) != (after.st_mtime_ns, after.st_size):
            raise error("was changed while it was read; try again", file=name)
        return data
    except FileNotFoundError:
        where = shown_name(Path(path).parent.resolve()) or "."
        raise error(f"no such {what} in the folder {where}", file=name) from None
    except (OSError, ValueError) as failure:
        if isinstance(failure, InputError):
            raise
        if isinstance(failure, IsADirectoryError) or _is_folder(path):
            raise error(f"is a folder; name a {what}", file=name) from None
        reason = getattr(failure, "strerror", None) or "its name cannot be used"
        raise error(f"cannot be opened: {reason}", file=name) from None


def _is_folder(path: str | PathLike[str]) -> bool:
    """Windows says no more than that a folder cannot be opened."""
    try:
        return os.path.isdir(path)
    except ValueError:
        return False


def _too_large(size: int, limit: int, error: type[InputError], what: str, name: str) -> InputError:
    return error(
        f"{_size_text(size)}; a {what} of more than {_size_text(limit)} is not read", file=name
    )


def _size_text(size: int) -> str:
    return f"{size / 1e6:.0f} MB" if size >= 1_000_000 else f"{size / 1e3:.0f} kB"
