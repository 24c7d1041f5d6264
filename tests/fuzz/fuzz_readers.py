"""Throw mutated files at a reader: nothing but our own error may come out, and soon.

    pip install atheris
    python tests/fuzz/fuzz_readers.py gpx -max_total_time=600 -timeout=10 -rss_limit_mb=2048 NEW DIR

The first word names what is read (see `TARGETS`), the rest goes to libFuzzer. Seeds stand in
``tests/fuzz/corpus``; name an empty folder before it, so that what is found goes there.
"""

from __future__ import annotations

import contextlib
import gzip
import io
import os
import sys
import tempfile
import warnings
import zipfile
from datetime import date
from pathlib import Path

import atheris

sys.path.insert(0, str(Path(__file__).parents[2]))

with atheris.instrument_imports(include=["groundtruth"]):
    from groundtruth.core.errors import GroundtruthError
    from groundtruth.core.units import (
        parse_area,
        parse_length_measured,
        parse_mass,
        parse_pressure,
        parse_speed,
    )
    from groundtruth.io import read_run, read_track, read_turns
    from groundtruth.io.files import Source
    from groundtruth.io.tracks.formats import CSV, GEOJSON, GPX, KML, NMEA

HERE = Path(__file__).parent
FOLDER = Path(tempfile.mkdtemp(dir="/dev/shm" if os.path.isdir("/dev/shm") else None))
TRACK = HERE / "corpus" / "gpx" / "plain"


def _file(data: bytes, name: str = "fuzzed") -> Path:
    path = FOLDER / name
    path.write_bytes(data)
    return path


def archive(data: bytes) -> None:
    """A packed file as it is, or a sound archive around mutated contents."""
    kind, rest = data[:1], data[1:]
    if kind == b"g":
        data = gzip.compress(rest, 1)
    elif kind == b"z":
        buffer = io.BytesIO()
        with zipfile.ZipFile(buffer, "w") as packed:
            packed.writestr(rest[:8].decode("latin-1").partition("\0")[0] or "a", rest[8:])
        data = buffer.getvalue()
    read_track(_file(data), time_zone="Europe/Oslo")


def turns(data: bytes) -> None:
    """A turn sheet."""
    read_turns(_file(data), time_zone="Europe/Oslo", day=date(2026, 5, 12))


def run(data: bytes) -> None:
    """A run file beside a sound track and sheet."""
    if not (FOLDER / "track.gpx").exists():
        _file(TRACK.read_bytes(), "track.gpx")
        _file(b"pass,turns\n1,41\n", "turns.csv")
    read_run(_file(data, "run.toml"))


def units(data: bytes) -> None:
    """A written quantity."""
    text = data.decode("utf-8", errors="replace")
    for parse in (parse_length_measured, parse_speed, parse_mass, parse_pressure, parse_area):
        try:
            parse(text)
        except GroundtruthError:
            continue


def track(data: bytes) -> None:
    """A track file of whatever kind its bytes say, through all repairs."""
    read_track(_file(data), time_zone="Europe/Oslo")


def _reader(form):
    """One format's reader whatever the bytes say, and then the whole way."""

    def target(data: bytes) -> None:
        with contextlib.suppress(GroundtruthError):
            form.read(Source("fuzzed", data), None)
        track(data)

    return target


TARGETS = {
    "gpx": _reader(GPX),
    "kml": _reader(KML),
    "geojson": _reader(GEOJSON),
    "nmea": _reader(NMEA),
    "csv": _reader(CSV),
    "archive": archive,
    "turns": turns,
    "run": run,
    "units": units,
}


def main() -> None:
    """Run libFuzzer on the target named first."""
    target = TARGETS[sys.argv[1]]

    def one_input(data: bytes) -> None:
        try:
            target(data)
        except GroundtruthError as refusal:
            if "\n" in str(refusal):
                raise AssertionError("a refusal of more than one line") from refusal

    warnings.simplefilter("error")
    atheris.Setup([sys.argv[0], *sys.argv[2:]], one_input)
    atheris.Fuzz()


if __name__ == "__main__":
    main()
