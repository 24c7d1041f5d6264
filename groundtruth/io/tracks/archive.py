"""Tracks inside gzip and zip (KMZ too): unpacked as they are read, never written to disk.

Guards: no more than 1 GiB unpacked in all, no more than 200 times the packed size beyond the first
16 MB (no track packs better than 1 : 40), no more than 200 members looked at, no archive within an
archive. Names of members are shown and never used as paths.
"""

from __future__ import annotations

import gzip
import io
import struct
import zipfile
import zlib
from collections.abc import Callable, Iterator
from dataclasses import dataclass, field
from typing import BinaryIO, Protocol

from ...core.errors import TrackFileError
from ..decoding import clean
from ..files import MAX_TRACK_BYTES
from .raw_fixes import Columns

MAX_MEMBERS = 200
MAX_RATIO = 200
MAX_DIRECTORY = 1 << 20
CHUNK = 1 << 16
FREE_BYTES = 16 << 20
_DAMAGE = (
    zlib.error,
    struct.error,
    EOFError,
    OSError,
    zipfile.BadZipFile,
    NotImplementedError,
    RuntimeError,
    ValueError,
    IndexError,
)
"""All that zipfile and gzip were seen, or may be expected, to raise on damaged bytes."""


@dataclass(slots=True)
class Budget:
    """How much one archive may still unpack to."""

    name: str
    packed: int
    used: int = 0
    damaged: set[str] = field(default_factory=set)

    def spend(self, count: int) -> None:
        """Count unpacked bytes; refuse an archive made to fill the memory."""
        self.used += count
        if self.used > MAX_TRACK_BYTES or (
            self.used > FREE_BYTES and self.used > MAX_RATIO * self.packed
        ):
            raise TrackFileError(
                f"{self.name}: unpacks to more than {self.used // 1_000_000} MB; no track does"
            )


class Unpacked(io.RawIOBase):
    """Bytes of one member; ends early where the archive is damaged, and notes it."""

    def __init__(self, source: _Together, name: str, budget: Budget) -> None:
        self._source, self._member, self._budget = source, name, budget

    def readable(self) -> bool:
        return True

    def readinto(self, buffer: memoryview) -> int:  # type: ignore[override] # any writable buffer
        try:
            piece = self._source.read1(min(len(buffer), CHUNK))
        except _DAMAGE:
            self._budget.damaged.add(self._member)
            return 0
        self._budget.spend(len(piece))
        buffer[: len(piece)] = piece
        return len(piece)

    def close(self) -> None:
        if not self.closed:
            self._source.close()
        super().close()


@dataclass(frozen=True, slots=True)
class Member:
    """One file inside an archive: its shown name, and how to read it from its start."""

    name: str
    open_stream: Callable[[], BinaryIO]
    budget: Budget

    def report(self, columns: Columns) -> None:
        """Say in the notices that the archive was damaged here."""
        if self.name in self.budget.damaged:
            columns.tally.repair(
                "the archive is damaged: what could be unpacked of it is used",
                columns.place(len(columns) - 1) if len(columns) else 0,
            )


def gzip_member(open_file: Callable[[], BinaryIO], name: str, packed: int) -> Member:
    """What a gzip file holds."""
    budget = Budget(name, packed)

    def open_stream() -> BinaryIO:
        budget.used = 0
        packed_stream = open_file()
        source = _Together(gzip.GzipFile(fileobj=packed_stream), packed_stream)
        return io.BufferedReader(Unpacked(source, name, budget), CHUNK)

    return Member(name, open_stream, budget)


def zip_members(open_file: Callable[[], BinaryIO], name: str, packed: int) -> Iterator[Member]:
    """Files inside a zip, in its order, without folders and hidden files.

    Raises
    ------
    TrackFileError : it cannot be opened, is locked with a password, or holds too many files.
    """
    try:
        with open_file() as stream:
            _check_directory(stream, name)
            infos = zipfile.ZipFile(stream).infolist()
    except TrackFileError:
        raise
    except _DAMAGE:
        raise TrackFileError(f"{name}: a damaged zip file; copy or export it again") from None
    wanted = [
        info for info in infos if info.filename and not info.is_dir() and not _hidden(info.filename)
    ]
    if len(wanted) > MAX_MEMBERS:
        raise TrackFileError(
            f"{name}: holds {len(wanted)} files; up to {MAX_MEMBERS} are looked at"
        )
    budget = Budget(name, packed)
    for info in wanted:
        if info.flag_bits & 1:
            raise TrackFileError(f"{name}: is locked with a password; unpack it first")
        if info.compress_type not in (zipfile.ZIP_STORED, zipfile.ZIP_DEFLATED):
            raise TrackFileError(f"{name}: packed in an unusual way; unpack it first")
        base = clean(info.filename.replace("\\", "/").rpartition("/")[2]) or "file"
        shown = f"{name} ({base})"
        yield Member(shown, _opener(open_file, info, shown, budget), budget)


def _check_directory(stream: BinaryIO, name: str) -> None:
    """Refuse a list of contents so long that reading it alone would fill the memory."""
    size = stream.seek(0, 2)
    stream.seek(max(0, size - 66_000))
    tail = stream.read()
    end = tail.rfind(b"PK\x05\x06")
    if end >= 0 and int.from_bytes(tail[end + 12 : end + 16], "little") > MAX_DIRECTORY:
        raise TrackFileError(f"{name}: holds too many files; up to {MAX_MEMBERS} are looked at")
    stream.seek(0)


def _hidden(name: str) -> bool:
    parts = name.replace("\\", "/").split("/")
    return any(part.startswith((".", "__MACOSX")) and part not in (".", "..") for part in parts)


def _opener(
    open_file: Callable[[], BinaryIO], info: zipfile.ZipInfo, name: str, budget: Budget
) -> Callable[[], BinaryIO]:
    spent_before: list[int] = []

    def open_stream() -> BinaryIO:
        if spent_before:  # read again from its start: not counted twice
            budget.used = spent_before[0]
        else:
            spent_before.append(budget.used)
        stream = open_file()
        try:
            member = zipfile.ZipFile(stream).open(info)  # noqa: SIM115 - closed by its reader
            source = _Together(member, stream)  # type: ignore[arg-type] # a ZipExtFile
        except _DAMAGE:
            stream.close()
            raise TrackFileError(f"{name}: cannot be unpacked; export it again") from None
        return io.BufferedReader(Unpacked(source, name, budget), CHUNK)

    return open_stream


class _Readable(Protocol):
    def read1(self, size: int, /) -> bytes: ...
    def close(self) -> None: ...


class _Together:
    """An unpacking stream that closes the file beneath with it."""

    def __init__(self, source: _Readable, beneath: BinaryIO) -> None:
        self._source, self._beneath = source, beneath
        self.read1 = source.read1  # in small steps, so that damage costs little

    def close(self) -> None:
        self._source.close()
        self._beneath.close()
