"""How the time of each reader grows with its input: processor time at one, two and four times.

    python -m tests.benchmarks.growth

For a time linear in the size the last column is 1; 2 would be its square. Inputs that are made to
be costly stand beside honest ones.
"""

from __future__ import annotations

import contextlib
import gzip
import math
import sys
import tempfile
import time
from collections.abc import Callable
from pathlib import Path

from groundtruth.core.errors import GroundtruthError
from groundtruth.io import read_bench, read_run, read_track
from groundtruth.io.bed_map import read_beds

Case = tuple[str, Callable[[Path], object], int, Callable[[int], str | bytes]]


def _points(count: int) -> str:
    return "".join(
        f'<trkpt lat="48.{100_000 + s}" lon="7.1"><time>2026-05-12T{7 + s // 3600:02d}:'
        f"{s // 60 % 60:02d}:{s % 60:02d}Z</time></trkpt>"
        for s in range(count)
    )


def _gpx(body: str) -> str:
    return f"<gpx><trk><trkseg>{body}</trkseg></trk></gpx>"


def _rows(count: int) -> str:
    return "time,lat,lon\n" + "".join(
        f"{1_778_569_200 + s},48.{100_000 + s},7.1\n" for s in range(count)
    )


def _lines(count: int) -> str:
    positions = ",".join(f"[7.1,48.{100_000 + s}]" for s in range(count))
    times = ",".join(str(1_778_569_200 + s) for s in range(count))
    return (
        '{"type":"Feature","geometry":{"type":"LineString","coordinates":['
        f'{positions}]}},"properties":{{"times":[{times}]}}}}'
    )


def _beds(count: int) -> str:
    one = (
        '{{"geometry":{{"type":"LineString","coordinates":[[7.1,48.7],[7.1,48.{0}]]}},'
        '"properties":{{"name":"b{0}"}}}}'
    )
    return '{"features":[' + ",".join(one.format(80_000 + k) for k in range(count)) + "]}"


CASES: tuple[Case, ...] = (
    ("GPX", read_track, 10_000, lambda n: _gpx(_points(n))),
    ("GPX, a comment of closing tags", read_track, 32_000,
     lambda n: _gpx(f"<!--{'</trkpt>' * n}-->{_points(9)}")),
    ("the same, packed", read_track, 32_000,
     lambda n: gzip.compress(_gpx(f"<!--{'</trkpt>' * n}-->{_points(9)}").encode())),
    ("GPX, damaged characters", read_track, 10_000, lambda n: _gpx("\x01&" + _points(n))),
    ("GPX, names without end", read_track, 2_000,
     lambda n: _gpx("".join(f"<a{k}/>" for k in range(n)) + _points(9))),
    ("CSV", read_track, 30_000, _rows),
    ("GeoJSON", read_track, 30_000, _lines),
    ("GeoJSON, cut off", read_track, 30_000, lambda n: _lines(n)[:-30]),
    ("bench sheet, one setting", read_bench, 10_000,
     lambda n: "setting,turns,seeds\n" + "4,20,118\n" * n),
    ("run file, dots", read_run, 30_000, lambda n: "." * n),
    ("run file, quotation marks", read_run, 30_000, lambda n: '"' * n),
    ("map of beds", read_beds, 4_000, _beds),
)  # fmt: skip


def cpu_s(read: Callable[[Path], object], file: Path) -> float:
    """The least processor time of three readings, refused or not. [s]"""
    best = math.inf
    for _ in range(3):
        began = time.process_time()
        with contextlib.suppress(GroundtruthError):
            read(file)
        best = min(best, time.process_time() - began)
    return best


def main() -> None:
    """Print the table."""
    print("| input | at one size, ms | at four times | exponent |\n| --- | ---: | ---: | ---: |")
    with tempfile.TemporaryDirectory() as name:
        for title, read, size, make in CASES:
            suffix = ".geojson" if read is read_beds else ".txt"
            taken = []
            for times in (1, 2, 4):
                made = make(times * size)
                file = Path(name) / f"a{suffix}"
                file.write_bytes(made if isinstance(made, bytes) else made.encode())
                taken.append(cpu_s(read, file))
            exponent = math.log(taken[2] / taken[0], 4)
            print(f"| {title} | {1e3 * taken[0]:.0f} | {1e3 * taken[2]:.0f} | {exponent:.2f} |")
            sys.stdout.flush()


if __name__ == "__main__":
    main()
