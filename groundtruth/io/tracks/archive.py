"""Tracks inside gzip and zip (KMZ too): unpacked in memory, never written to disk.

Guards: no more than 1 GiB unpacked in all, no more than 200 times the packed size beyond the first
16 MB (no track packs better than 1 : 40), no more than 200 members looked at, no archive within an
archive. Names of members are shown and never used as paths.
"""

from __future__ import annotations

import gzip
import io
import re
import struct
import zipfile
import zlib
from collections.abc import Iterator
from dataclasses import dataclass
from typing import Protocol

from ...core.errors import TrackFileError
from ...core.language import English
from ...core.safe_text import clean
from ..files import MAX_TRACK_BYTES, Source
from .raw_fixes import FixColumns

MAX_MEMBERS = 200
MAX_RATIO = 200
MAX_ENTRIES = 2000
CHUNK = 1 << 16
FREE_BYTES = 16 << 20
_OFFICE = re.compile(rb"\[Content_Types\]\.xml|application/vnd\.oasis\.opendocument")
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
DOCUMENTED = (
    (
        "KMZ, zip",
        "first bytes",
        "every track in it, of any of these formats, as one track; pictures and notes are passed "
        "over",
    ),
    ("gzip", "first bytes", "one file of any of these formats"),
)
"""Lines of the table of formats in docs/tracks.md."""


def is_gzip(data: bytes) -> bool:
    """Whether a file begins as RFC 1952 says."""
    return data.startswith(b"\x1f\x8b")


def is_zip(data: bytes) -> bool:
    """Whether a file begins with a zip member, or is an empty zip."""
    return data.startswith((b"PK\x03\x04", b"PK\x05\x06"))


def is_office_document(data: bytes) -> bool:
    """Whether a zip holds a document of an office program."""
    return bool(_OFFICE.search(data[: 1 << 16]))


def is_workbook(data: bytes) -> bool:
    """Whether a zip holds a spreadsheet of ECMA-376, by the names in it."""
    return is_zip(data) and b"[Content_Types].xml" in data and b"xl/workbook.xml" in data


@dataclass(frozen=True, slots=True)
class Member:
    """A file out of an archive; ``cut`` where the archive is damaged and its end is lost."""

    source: Source
    cut: bool

    def report(self, columns: FixColumns) -> None:
        """Say in the notices that the archive was damaged here."""
        if self.cut:
            columns.tally.repair(
                English("the archive is damaged: what could be unpacked of it is used"),
                columns.place(len(columns) - 1) if len(columns) else 0,
            )


def gzip_member(packed: Source) -> Member:
    """What a gzip file holds, under the name of the file itself.

    Raises
    ------
    TrackFileError : it unpacks to more than any track holds.
    """
    data, cut = _unpack(gzip.GzipFile(fileobj=io.BytesIO(packed.data)), packed, 0)
    return Member(Source(packed.name, data), cut)


def zip_members(packed: Source) -> Iterator[Member]:
    """Files inside a zip, in its order, without folders and hidden files.

    Raises
    ------
    TrackFileError : it cannot be opened, is locked with a password, holds too many files, or
        unpacks to more than any track holds.
    """
    name = packed.name
    _check_directory(packed)
    try:
        archive = zipfile.ZipFile(io.BytesIO(packed.data))
    except _DAMAGE:
        raise TrackFileError("a damaged zip file; copy or export it again", file=name) from None
    wanted = [
        info
        for info in archive.infolist()
        if info.filename and not info.is_dir() and not _hidden(info.filename)
    ]
    if len(wanted) > MAX_MEMBERS:
        raise TrackFileError(
            f"holds {len(wanted)} files; up to {MAX_MEMBERS} are looked at", file=name
        )
    unpacked = 0
    for info in wanted:
        if info.flag_bits & 1:
            raise TrackFileError("is locked with a password; unpack it first", file=name)
        if info.compress_type not in (zipfile.ZIP_STORED, zipfile.ZIP_DEFLATED):
            raise TrackFileError("packed in an unusual way; unpack it first", file=name)
        base = clean(info.filename.replace("\\", "/").rpartition("/")[2]) or "file"
        shown = f"{name} ({base})"
        try:
            stream = archive.open(info)
        except _DAMAGE:
            raise TrackFileError("cannot be unpacked; export it again", file=shown) from None
        data, cut = _unpack(stream, packed, unpacked)  # type: ignore[arg-type] # a ZipExtFile
        unpacked += len(data)
        yield Member(Source(shown, data), cut)


class _Unpacking(Protocol):
    def read1(self, size: int, /) -> bytes: ...


def _unpack(stream: _Unpacking, packed: Source, before: int) -> tuple[bytes, bool]:
    """The bytes of one member, and whether damage ended them early.

    ``before`` is how much was unpacked of the archive already. In small steps, so that neither
    damage nor an archive made to fill the memory costs much.
    """
    data = bytearray()
    while True:
        try:
            piece = stream.read1(CHUNK)
        except _DAMAGE:
            return bytes(data), True
        if not piece:
            return bytes(data), False
        data += piece
        size = before + len(data)
        if size > MAX_TRACK_BYTES or (size > FREE_BYTES and size > MAX_RATIO * len(packed.data)):
            raise TrackFileError(
                f"unpacks to more than {size // 1_000_000} MB; no track does", file=packed.name
            )


def _check_directory(packed: Source) -> None:
    """Refuse a list of contents so long that reading it alone would fill the memory.

    Counted are the marks of all entries, wherever a record of the end of the archive, of which
    there may be several and one of zip64, says that they begin [APPNOTE.TXT 6.3.10, 4.3.12].
    """
    if packed.data.count(b"PK\x01\x02") > MAX_ENTRIES:
        raise TrackFileError(
            f"holds too many files; up to {MAX_MEMBERS} are looked at", file=packed.name
        )


def _hidden(name: str) -> bool:
    parts = name.replace("\\", "/").split("/")
    return any(part.startswith((".", "__MACOSX")) and part not in (".", "..") for part in parts)
