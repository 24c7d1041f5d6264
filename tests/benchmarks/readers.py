"""Points per second and peak memory of the track readers, side by side in one run.

    python -m tests.benchmarks.readers [--points 100000] [--rounds 3] [--formats gpx kml ...]
        [--write docs/tracks.md]

Each reader reads the same file in a process of its own, in turn, ``--rounds`` times; the best
processor time counts (others may use the machine), and the largest peak of memory. Imports are
not timed. Needs gpxpy, lxml and pyogrio (GDAL).
Files are made here: a straight walk at 1.1 m/s, one point a second, with height, HDOP, speed and
accuracy where the format has a place for them.
"""

from __future__ import annotations

import argparse
import json
import subprocess
import sys
import tempfile
from collections.abc import Callable, Iterator
from datetime import UTC, datetime, timedelta
from functools import reduce
from operator import xor
from pathlib import Path

from .page import markdown_table, write_between

START = datetime(2026, 5, 12, 7, tzinfo=UTC)
LONGITUDE = 7.1


def _fixes(count: int) -> Iterator[tuple[str, float, int]]:
    for second in range(count):
        moment = START + timedelta(seconds=second)
        yield moment.strftime("%Y-%m-%dT%H:%M:%SZ"), 48.7 + second * 1e-5 % 0.3, second


def _gpx(count: int) -> Iterator[str]:
    yield (
        '<?xml version="1.0" encoding="UTF-8"?>\n<gpx version="1.1" creator="benchmark" '
        'xmlns="http://www.topografix.com/GPX/1/1" xmlns:x="urn:x"><trk><trkseg>\n'
    )
    for time, lat, n in _fixes(count):
        yield (
            f'<trkpt lat="{lat:.7f}" lon="{LONGITUDE}">\n  <ele>{200 + n % 10}.5</ele>\n'
            f"  <time>{time}</time>\n  <hdop>0.{80 + n % 17}</hdop><extensions>"
            f"<x:speed>1.{10 + n % 9}</x:speed><x:accuracy>3.{n % 7}</x:accuracy></extensions>\n"
            "</trkpt>\n"
        )
    yield "</trkseg></trk></gpx>\n"


def _kml(count: int) -> Iterator[str]:
    yield '<kml xmlns:gx="urn:gx"><Document><Placemark><gx:Track>\n'
    for time, lat, _ in _fixes(count):
        yield f"<when>{time}</when><gx:coord>{LONGITUDE} {lat:.7f} 210.5</gx:coord>\n"
    yield "</gx:Track></Placemark></Document></kml>\n"


def _geojson(count: int) -> Iterator[str]:
    fixes = list(_fixes(count))
    geometry = {
        "type": "LineString",
        "coordinates": [[LONGITUDE, round(lat, 7), 210.5] for _, lat, _ in fixes],
    }
    properties = {"coordTimes": [time for time, _, _ in fixes]}
    yield json.dumps({"type": "Feature", "properties": properties, "geometry": geometry})


def _nmea(count: int) -> Iterator[str]:
    for time, lat, _ in _fixes(count):
        clock = time[11:19].replace(":", "") + ".00"
        day = time[8:10] + time[5:7] + time[2:4]
        where = f"48{(lat - 48) * 60:08.5f},N,00706.00000,E"
        for body in (
            f"GNRMC,{clock},A,{where},2.14,0.0,{day},,,A",
            f"GNGGA,{clock},{where},1,12,0.80,210.5,M,48.0,M,,",
        ):
            yield f"${body}*{reduce(xor, body.encode(), 0):02X}\r\n"


def _csv(count: int) -> Iterator[str]:
    yield "time,latitude,longitude,altitude,speed,accuracy,hdop\n"
    for time, lat, n in _fixes(count):
        yield f"{time},{lat:.7f},{LONGITUDE},210.5,1.{10 + n % 9},3.{n % 7},0.{80 + n % 17}\n"


WRITERS = {"gpx": _gpx, "kml": _kml, "geojson": _geojson, "nmea": _nmea, "csv": _csv}

SETUPS = {
    "ours": "from groundtruth.io import read_track\nrun = lambda: len(read_track(path))",
    "bare expat": "from tests.benchmarks.readers import bare_expat\nrun = lambda: bare_expat(path)",
    "bare expat (KML)": (
        "from tests.benchmarks.readers import bare_expat_kml\nrun = lambda: bare_expat_kml(path)"
    ),
    "etree.iterparse": (
        "import xml.etree.ElementTree as e\nfrom tests.benchmarks.readers import iterparse\n"
        "run = lambda: iterparse(e.iterparse, path)"
    ),
    "lxml.iterparse": (
        "import lxml.etree as e\nfrom tests.benchmarks.readers import iterparse\n"
        "run = lambda: iterparse(e.iterparse, path)"
    ),
    "gpxpy with lxml": (
        "import lxml.etree, gpxpy\nrun = lambda: sum(len(s.points) "
        "for t in gpxpy.parse(open(path)).tracks for s in t.segments)"
    ),
    "gpxpy without lxml": (
        "import sys\nsys.modules['lxml'] = None\nimport gpxpy\nrun = lambda: sum(len(s.points) "
        "for t in gpxpy.parse(open(path)).tracks for s in t.segments)"
    ),
    "GDAL (pyogrio.raw)": (
        "import pyogrio.raw\nfrom pathlib import Path\n"
        "layer = 'track_points' if path.endswith('.gpx') else None\n"
        "def run():\n"
        "    held = pyogrio.raw.read(path, layer=layer)\n"
        "    return len(held[2]) if layer else COUNT"
    ),
    "json.loads": (
        "import json\nrun = lambda: len(json.loads(open(path, 'rb').read())['geometry']"
        "['coordinates'])"
    ),
    "csv.reader, floats and times": (
        "from tests.benchmarks.readers import bare_csv\nrun = lambda: bare_csv(path)"
    ),
    "split and checksum": (
        "from tests.benchmarks.readers import bare_nmea\nrun = lambda: bare_nmea(path)"
    ),
}
RIVALS = {
    "gpx": [
        "ours",
        "bare expat",
        "etree.iterparse",
        "lxml.iterparse",
        "GDAL (pyogrio.raw)",
        "gpxpy without lxml",
        "gpxpy with lxml",
    ],
    "kml": ["ours", "bare expat (KML)"],
    "geojson": ["ours", "json.loads", "GDAL (pyogrio.raw)"],
    "nmea": ["ours", "split and checksum"],
    "csv": ["ours", "csv.reader, floats and times"],
}
CHILD = """
import os, resource, sys, time
path = sys.argv[1]
COUNT = int(sys.argv[2])
{setup}
before = time.process_time()
count = run()
took = time.process_time() - before
assert count == COUNT, count
try:  # ru_maxrss would hold the peak of the process that started this one too
    status = open("/proc/self/status").read()
    peak = int(status.partition("VmHWM:")[2].split()[0])
except OSError:
    peak = resource.getrusage(resource.RUSAGE_SELF).ru_maxrss
print(took, peak)
"""


def bare_expat(path: str) -> int:
    """The plainest loop over expat that fills the same seven arrays; no guard, no repair."""
    from array import array
    from xml.parsers import expat

    columns = [array("d") for _ in range(7)]
    time, lon, lat, height, speed, accuracy, hdop = (column.append for column in columns)
    pieces: list[str] = []
    held: dict[str, float] = {}
    wanted = {"time", "ele", "hdop", "speed", "accuracy"}
    nan = float("nan")

    def start(tag: str, attributes: dict[str, str]) -> None:
        pieces.clear()
        if tag == "trkpt":
            held.clear()
            lat(float(attributes["lat"]))
            lon(float(attributes["lon"]))

    def end(tag: str) -> None:
        if tag == "trkpt":
            time(held.get("time", nan))
            height(held.get("ele", nan))
            speed(held.get("speed", nan))
            accuracy(held.get("accuracy", nan))
            hdop(held.get("hdop", nan))
        else:
            local = tag.rpartition(":")[2]
            if local in wanted:
                text = "".join(pieces)
                if local == "time":
                    held[local] = datetime.fromisoformat(text).timestamp()
                else:
                    held[local] = float(text)
        pieces.clear()

    parser = expat.ParserCreate()
    parser.buffer_text = True
    parser.StartElementHandler = start
    parser.EndElementHandler = end
    parser.CharacterDataHandler = pieces.append
    with open(path, "rb") as file:
        parser.ParseFile(file)
    return len(columns[0])


def bare_expat_kml(path: str) -> int:
    """The same for `gx:Track`."""
    from array import array
    from xml.parsers import expat

    times, places = array("d"), array("d")
    pieces: list[str] = []

    def start(tag: str, attributes: dict[str, str]) -> None:
        pieces.clear()

    def end(tag: str) -> None:
        if tag == "when":
            times.append(datetime.fromisoformat("".join(pieces)).timestamp())
        elif tag == "gx:coord":
            places.extend(map(float, "".join(pieces).split()))
        pieces.clear()

    parser = expat.ParserCreate()
    parser.buffer_text = True
    parser.StartElementHandler = start
    parser.EndElementHandler = end
    parser.CharacterDataHandler = pieces.append
    with open(path, "rb") as file:
        parser.ParseFile(file)
    return len(times)


def iterparse(parse: Callable[..., object], path: str) -> int:
    """Element by element, freed as they are read; the same fields."""
    from array import array

    columns = [array("d") for _ in range(7)]
    held: dict[str, float] = {}
    for _, element in parse(path):  # type: ignore[attr-defined]
        tag = element.tag.rpartition("}")[2]
        if tag == "trkpt":
            held["lat"], held["lon"] = float(element.get("lat")), float(element.get("lon"))
            for column, name in zip(
                columns, ("time", "lon", "lat", "ele", "speed", "accuracy", "hdop"), strict=True
            ):
                column.append(held.get(name, float("nan")))
            held = {}
            element.clear()
        elif tag == "time":
            held[tag] = datetime.fromisoformat(element.text).timestamp()
        elif tag in ("ele", "hdop", "speed", "accuracy"):
            held[tag] = float(element.text)
    return len(columns[0])


def bare_csv(path: str) -> int:
    """csv.reader with all cells converted; no check of anything."""
    import csv
    from array import array

    columns = [array("d") for _ in range(7)]
    with open(path, newline="", encoding="utf-8") as file:
        rows = csv.reader(file)
        next(rows)
        for time, *numbers in rows:
            columns[0].append(datetime.fromisoformat(time).timestamp())
            for column, number in zip(columns[1:], numbers, strict=True):
                column.append(float(number))
    return len(columns[0])


def bare_nmea(path: str) -> int:
    """Checksum of every RMC and GGA, and the same six columns; no check of anything else."""
    from array import array

    columns = [array("d") for _ in range(6)]
    time, lon, lat, speed, height, hdop = (column.append for column in columns)
    with open(path, "rb") as file:
        for line in file:
            body, _, told = line[1:].partition(b"*")
            if int(told[:2], 16) != reduce(xor, body, 0):
                continue
            fields = body.decode().split(",")
            if fields[0] == "GNRMC":
                clock, day = fields[1], fields[9]
                moment = datetime(
                    2000 + int(day[4:]),
                    int(day[2:4]),
                    int(day[:2]),
                    int(clock[:2]),
                    int(clock[2:4]),
                    tzinfo=UTC,
                )
                time(moment.timestamp() + float(clock[4:]))
                north, east = float(fields[3]), float(fields[5])
                lat(north // 100 + north % 100 / 60)
                lon(east // 100 + east % 100 / 60)
                speed(float(fields[7]) * 0.514444)
            else:
                hdop(float(fields[8]))
                height(float(fields[9]))
    return len(columns[0])


def measure(path: Path, count: int, reader: str) -> tuple[float, float]:
    """Seconds and peak MB of one reader on one file, in a process of its own."""
    done = subprocess.run(
        [sys.executable, "-c", CHILD.format(setup=SETUPS[reader]), str(path), str(count)],
        capture_output=True,
        text=True,
        check=True,
    )
    took, peak = done.stdout.split()
    return float(took), float(peak) / 1024


def main() -> None:
    """Print one table for each format."""
    parser = argparse.ArgumentParser(description=__doc__.splitlines()[0])
    parser.add_argument("--points", type=int, nargs="+", default=[100_000])
    parser.add_argument("--rounds", type=int, default=3)
    parser.add_argument("--formats", nargs="+", choices=list(WRITERS), default=list(WRITERS))
    parser.add_argument("--skip", nargs="*", default=[], help="readers to leave out")
    parser.add_argument("--write", type=Path, help="put the table between the markers of a page")
    options = parser.parse_args()
    rows: list[tuple[str, ...]] = []
    with tempfile.TemporaryDirectory() as folder:
        for kind in options.formats:
            for count in options.points:
                path = Path(folder) / f"track.{kind}"
                with path.open("w", encoding="utf-8", newline="") as file:
                    file.writelines(WRITERS[kind](count))
                print(f"\n{kind}, {count:,} points, {path.stat().st_size / 1e6:.1f} MB")
                readers = [one for one in RIVALS[kind] if one not in options.skip]
                runs: dict[str, list[tuple[float, float]]] = {one: [] for one in readers}
                for _ in range(options.rounds):
                    for reader in readers:
                        runs[reader].append(measure(path, count, reader))
                ours = min(took for took, _ in runs["ours"])
                for reader in readers:
                    best = min(took for took, _ in runs[reader])
                    peak = max(peak for _, peak in runs[reader])
                    speed = f"{count / best / 1000:.0f}"
                    size = f", {count:,} points" if len(options.points) > 1 else ""
                    rows.append((f"{kind}: {reader}{size}", speed, f"{peak:.0f}"))
                    print(
                        f"  {reader:30} {count / best / 1000:8.0f} k points/s   "
                        f"{peak:6.0f} MB peak   {best / ours:6.2f} x our time"
                    )
                path.unlink()
    if options.write:
        head = "format and reader", "thousand points a second", "peak memory, MB"
        write_between(options.write, markdown_table(head, rows), "reader table")


if __name__ == "__main__":
    main()
