"""Read track files of any format that the tool knows, one or several, to one `Track`."""

from __future__ import annotations

from collections.abc import Sequence
from datetime import tzinfo
from os import PathLike
from typing import BinaryIO

from ..errors import TrackFileError
from ..track import Track
from .assemble import assemble, merge
from .clock import zone_named
from .columns import Columns
from .files import MAX_TRACK_BYTES, fingerprint, open_file, shown_name
from .gpx import read_gpx
from .sniff import HEAD_BYTES, sniff

Path = str | PathLike[str]
MAX_FILES = 200


def read_track(path: Path | Sequence[Path], *, time_zone: str | None = None) -> Track:
    """The track in one file, or in several files put together in order of time.

    ``time_zone`` ("Europe/Oslo") is used only for times that carry no zone of their own.

    Raises
    ------
    TrackFileError : the file cannot be read, or holds no usable track; one line says why.
    """
    paths = [path] if isinstance(path, str | PathLike) else list(path)
    if not paths:
        raise TrackFileError("no track file is named")
    if len(paths) > MAX_FILES:
        raise TrackFileError(f"{len(paths)} track files; up to {MAX_FILES} are read as one track")
    zone = zone_named(time_zone, TrackFileError, "time zone") if time_zone else None
    return merge([_read_one(one, zone) for one in paths])


def _read_one(path: Path, zone: tzinfo | None) -> Track:
    name = shown_name(path)

    def open_stream() -> BinaryIO:
        return open_file(path, error=TrackFileError, what="track file", limit=MAX_TRACK_BYTES)

    with open_stream() as stream:
        file = fingerprint(path, stream)
        kind = sniff(stream.read(HEAD_BYTES))
    columns: Columns
    match kind:
        case "gpx":
            columns = read_gpx(open_stream, name, zone)
        case "html":
            raise TrackFileError(
                f"{name}: is a web page, not a track; the download may have stopped at a log-in: "
                "export the recording again"
            )
        case "empty":
            raise TrackFileError(f"{name}: holds nothing but blanks; export the recording again")
        case _:
            raise TrackFileError(
                f"{name}: is no track file that can be read; export the recording as GPX"
            )
    return assemble(columns, (file,))
