"""Read track files of any format that the tool knows, one or several, to one `Track`."""

from __future__ import annotations

import re
from collections.abc import Callable, Iterator, Sequence
from dataclasses import replace
from datetime import tzinfo
from os import PathLike
from typing import BinaryIO

from ...core.errors import TrackFileError
from ...core.notices import Notice
from ...core.track import InputFile, Track
from ..files import MAX_TRACK_BYTES, fingerprint, open_file, shown_name, view
from ..timestamps import zone_named
from .archive import Member, gzip_member, zip_members
from .build_track import assemble
from .merge import merge
from .raw_fixes import Columns, NoTrackError
from .repairs.swapped_lat_lon import far_from_zone
from .sniff import HEAD_BYTES, Kind, sniff

Path = str | PathLike[str]
MAX_FILES = 200
_NESTED = "an archive within an archive; unpack it first"
_OFFICE = re.compile(rb"\[Content_Types\]\.xml|application/vnd\.oasis\.opendocument")
_UNREADABLE = (
    "is no track file that can be read; export the recording as GPX (or KML, GeoJSON, NMEA, or "
    "CSV with the columns time,latitude,longitude)"
)


def read_track(path: Path | Sequence[Path], *, time_zone: str | None = None) -> Track:
    """The track in one file, or in several files put together in order of time.

    GPX, KML, KMZ, GeoJSON, NMEA 0183, CSV, and gzip or zip of any of them, told by content; see
    docs/tracks.md. ``time_zone`` ("Europe/Oslo") is used for times that carry no zone of their
    own, and to doubt a track at the other end of the world.

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
    track = merge([track for one in paths for track in _tracks_in(one, zone)])
    doubt = far_from_zone(track, time_zone) if time_zone else ""
    if not doubt:
        return track
    warning = Notice(kind="warning", text=doubt, where=track.inputs[0].name)
    return replace(track, notices=(*track.notices, warning))


def _tracks_in(path: Path, zone: tzinfo | None) -> list[Track]:
    name = shown_name(path)

    with open_file(path, error=TrackFileError, what="track file", limit=MAX_TRACK_BYTES) as stream:
        file = fingerprint(path, stream)
        # one opening for all that is read, so that the hash is that of what was read
        tracks = list(_tracks_of(stream, file, name, zone))
        if fingerprint(path, stream) != file:
            raise TrackFileError(f"{name}: was changed while it was read; try again")
    return tracks


def _tracks_of(
    file_stream: BinaryIO, file: InputFile, name: str, zone: tzinfo | None
) -> Iterator[Track]:
    def open_stream() -> BinaryIO:
        return view(file_stream)

    with open_stream() as stream:
        head = stream.read(HEAD_BYTES)
        packed = stream.seek(0, 2)
    kind = sniff(head)
    if kind == "gzip":
        member = gzip_member(open_stream, name, packed)
        kind, head = _kind(member)
        if kind in ("gzip", "zip"):
            raise TrackFileError(f"{name}: {_NESTED}")
        columns = _columns(kind, head, member.open_stream, name, zone)
        member.report(columns)
        yield assemble(columns, (file,))
    elif kind == "zip":
        members = zip_members(open_stream, name, packed)
        yield from _tracks_in_zip(members, name, head, file, zone)
    else:
        yield assemble(_columns(kind, head, open_stream, name, zone), (file,))


def _tracks_in_zip(
    members: Iterator[Member], name: str, first_bytes: bytes, file: InputFile, zone: tzinfo | None
) -> list[Track]:
    """The tracks of all members that hold one; of the others is told why they are not used."""
    tracks: list[Track] = []
    refusals: list[TrackFileError] = []
    for member in members:
        kind, head = _kind(member)
        if kind in ("gzip", "zip"):
            refusals.append(TrackFileError(f"{member.name}: {_NESTED}"))
        if not _may_be_track(kind, head):
            continue
        try:
            columns = _columns(kind, head, member.open_stream, member.name, zone)
        except NoTrackError as refusal:
            refusals.append(refusal)
            continue
        member.report(columns)
        try:
            tracks.append(assemble(columns, () if tracks else (file,)))
        except TrackFileError as refusal:
            refusals.append(refusal)
    if not tracks:
        if refusals:
            raise refusals[0]
        if _OFFICE.search(first_bytes):
            raise TrackFileError(f"{name}: is an office document; save the table as CSV")
        raise TrackFileError(f"{name}: a zip file without a track in it")
    unused = tuple(
        Notice(kind="warning", text=f"not used: {refusal}", where=name) for refusal in refusals
    )
    tracks[0] = replace(tracks[0], notices=(*tracks[0].notices, *unused))
    return tracks


def _kind(member: Member) -> tuple[Kind, bytes]:
    with member.open_stream() as stream:
        head = stream.read(HEAD_BYTES)
    return sniff(head), head


def _may_be_track(kind: Kind, head: bytes) -> bool:
    """Pictures, notes and the like in an archive are passed over."""
    if kind == "csv":
        from .csv_table import names_positions

        return names_positions(head)
    return kind in ("gpx", "kml", "geojson", "nmea")


def _columns(
    kind: Kind, head: bytes, open_stream: Callable[[], BinaryIO], name: str, zone: tzinfo | None
) -> Columns:
    """The columns of a file by the reader of its kind; each is imported when it is needed."""
    match kind:
        case "gpx":
            from .gpx import read_gpx

            return read_gpx(open_stream, name, zone)
        case "kml":
            from .kml import read_kml

            return read_kml(open_stream, name, zone)
        case "geojson":
            from .geojson import read_geojson

            return read_geojson(open_stream, name, zone)
        case "nmea":
            from .nmea import read_nmea

            return read_nmea(open_stream, name)
        case "csv":
            from .csv_table import read_csv

            return read_csv(open_stream, name, head, zone)
        case "html":
            raise TrackFileError(
                f"{name}: is a web page, not a track; the download may have stopped at a log-in: "
                "export the recording again"
            )
        case "empty":
            raise TrackFileError(f"{name}: holds nothing but blanks; export the recording again")
        case _:
            raise TrackFileError(f"{name}: {_UNREADABLE}")
