"""Read track files of any format that the tool knows, one or several, to one `Track`."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import replace
from datetime import tzinfo
from os import PathLike

from ...core.errors import TrackFileError
from ...core.language import English
from ...core.notices import Notice
from ...core.track import Track
from ..files import MAX_TRACK_BYTES, FileInput, Source, load, shown_name
from ..timestamps import zone_named
from . import formats
from .archive import gzip_member, is_gzip, is_office_document, is_workbook, is_zip, zip_members
from .build_track import assemble
from .formats.csv_table import read_csv_track
from .merge import merge
from .raw_fixes import MAX_POINTS, FixColumns, NoTrackError, too_many
from .repairs.swapped_lat_lon import far_from_zone
from .track_format import UNREADABLE, Head, TrackFormat

MAX_FILES = 200
_NESTED = "an archive within an archive; unpack it first"


def read_track(file: FileInput | Sequence[FileInput], *, time_zone: str | None = None) -> Track:
    """The track in one file, or in several files put together in order of time.

    GPX, KML, KMZ, GeoJSON, NMEA 0183, CSV, .xlsx, and gzip or zip of any of them, told by content;
    see docs/tracks.md. ``time_zone`` ("Europe/Oslo") is used for times that carry no zone of their
    own, and to doubt a track at the other end of the world.

    Raises
    ------
    TrackFileError : the file cannot be read, or holds no usable track; one line says why.
    """
    files = [file] if isinstance(file, str | PathLike | Source) else list(file)
    if not files:
        raise TrackFileError("no track file is named")
    if len(files) > MAX_FILES:
        raise TrackFileError(f"{len(files)} track files; up to {MAX_FILES} are read as one track")
    zone = zone_named(time_zone, _no_zone) if time_zone else None
    tracks = list[Track]()
    for one in files:
        for track in _tracks_in(one, zone):
            tracks.append(track)
            if sum(map(len, tracks)) > MAX_POINTS:
                raise too_many(shown_name(one))
    track = merge(tracks)
    doubt = far_from_zone(track, time_zone) if time_zone else ""
    if not doubt:
        return track
    warning = Notice(kind="warning", text=doubt, where=track.inputs[0].name)
    return replace(track, notices=(*track.notices, warning))


def _no_zone(why: str) -> TrackFileError:
    return TrackFileError(f"time zone: {why}", column="time_zone")


def _tracks_in(file: FileInput, zone: tzinfo | None) -> list[Track]:
    source = load(file, error=TrackFileError, what="track file", limit=MAX_TRACK_BYTES)
    if is_workbook(source.data):
        return [assemble(read_csv_track(source, zone), (source.file,))]
    if is_zip(source.data):
        return _tracks_in_zip(source, zone)
    if is_gzip(source.data):
        member = gzip_member(source)
        if is_gzip(member.source.data) or is_zip(member.source.data):
            raise TrackFileError(_NESTED, file=source.name)
        columns = _columns(member.source, zone)
        member.report(columns)
    else:
        columns = _columns(source, zone)
    return [assemble(columns, (source.file,))]


def _tracks_in_zip(packed: Source, zone: tzinfo | None) -> list[Track]:
    """The tracks of all members that hold one; of the others is told why they are not used."""
    tracks: list[Track] = []
    refusals: list[TrackFileError] = []
    points = 0
    for member in zip_members(packed):
        source = member.source
        if is_gzip(source.data) or is_zip(source.data):
            refusals.append(TrackFileError(_NESTED, file=source.name))
            continue
        form = _format_of(Head.of(source.data))
        if form is None:  # pictures, notes and the like are passed over
            continue
        try:
            columns = form.read(source, zone)
        except NoTrackError as refusal:
            refusals.append(refusal)
            continue
        member.report(columns)
        points += len(columns)
        if points > MAX_POINTS:
            raise too_many(packed.name)
        try:
            tracks.append(assemble(columns, () if tracks else (packed.file,)))
        except TrackFileError as refusal:
            refusals.append(refusal)
    if not tracks:
        if refusals:
            raise refusals[0]
        if is_office_document(packed.data):
            raise TrackFileError(
                "is an office document; save the table as .xlsx or CSV", file=packed.name
            )
        raise TrackFileError("a zip file without a track in it", file=packed.name)
    unused = tuple(
        Notice(kind="warning", text=English("not used: {why}", why=refusal), where=packed.name)
        for refusal in refusals
    )
    tracks[0] = replace(tracks[0], notices=(*tracks[0].notices, *unused))
    return tracks


def _format_of(head: Head) -> TrackFormat | None:
    """The format that a file is in, None if none recognises it."""
    return next((form for form in formats.FORMATS if form.recognises(head)), None)


def _columns(source: Source, zone: tzinfo | None) -> FixColumns:
    """The fixes of a file as they stand in it.

    Raises
    ------
    TrackFileError : no format recognises the file, or its own cannot read it.
    """
    head = Head.of(source.data)
    form = _format_of(head)
    if form is not None:
        return form.read(source, zone)
    if head.root in ("html", "head", "body", "script", "title"):
        raise TrackFileError(
            "is a web page, not a track; the download may have stopped at a log-in: "
            "export the recording again",
            file=source.name,
        )
    if not head.text:
        raise TrackFileError(
            "holds nothing but blanks; export the recording again", file=source.name
        )
    if head.root or head.binary:
        raise TrackFileError(UNREADABLE, file=source.name)
    return read_csv_track(source, zone)  # which says what a table of positions lacks
