"""Write a simulated day as a run folder: track.gpx, turns.csv, run.toml, truth.json."""

from __future__ import annotations

import json
import os
from collections.abc import Mapping, Sequence
from datetime import UTC, datetime, tzinfo
from math import isfinite
from pathlib import Path
from zoneinfo import ZoneInfo

from ..core.crops import Crop
from ..core.errors import InputError
from ..core.run import UnitSystem
from ..core.seeder import Seeder
from ..core.track import Track
from ..core.turns import TurnSheet
from ..core.units import INCH
from ..io.writing import hashes, make_folder, sealed, write_all_whole
from .day import SimulatedDay

SIMULATOR = "groundtruth simulate"


def write_run(
    day: SimulatedDay,
    folder: str | os.PathLike[str],
    *,
    units: UnitSystem = "metric",
    time_zone: str | None = None,
    crops: Sequence[Crop] = (),
    about: str = "",
    overwrite: bool = False,
) -> Path:
    """Write the four files of a run, each whole or not at all; returns the path of run.toml.

    With ``time_zone`` (an IANA name) the turn sheet holds local times without zone, as written in
    the field; without it, UTC. ``about`` becomes a comment at the head of run.toml. The folder is
    made if missing. Files of the same names in it are replaced where they are as an earlier
    simulation left them, others only with ``overwrite``.

    Raises
    ------
    InputError : the folder is not writable, the disk is full, or a file is in the way.
    """
    place = Path(folder)
    try:
        make_folder(place)
    except OSError as error:
        raise InputError(f"{place}: cannot be made ({error.strerror})") from error
    zone = ZoneInfo(time_zone) if time_zone else None
    files = {
        "track.gpx": gpx_text(day.track),
        "turns.csv": turns_text(day.sheet, zone),
        "run.toml": run_text(day.seeder, units, time_zone, crops, about),
    }
    files["truth.json"] = truth_text(day, hashes(files))
    write_all_whole({place / name: text for name, text in files.items()}, overwrite=overwrite)
    return place / "run.toml"


def gpx_text(track: Track) -> str:
    """The track as GPX 1.1, or as GPX 1.0, which has an element for it, where speed was recorded.

    Formats: the GPX 1.0 and 1.1 schemas, written by gpxpy.
    """
    from gpxpy.gpx import GPX, GPXTrack, GPXTrackPoint, GPXTrackSegment

    gpx, recorded, segment = GPX(), GPXTrack(name=track.name), GPXTrackSegment()
    gpx.creator = "groundtruth simulate"
    gpx.tracks.append(recorded)
    recorded.segments.append(segment)
    has_speed = False
    for time, lon, lat, height, speed in zip(
        track.time_s.tolist(),
        track.longitude_deg.tolist(),
        track.latitude_deg.tolist(),
        track.height_m.tolist(),
        track.speed_m_s.tolist(),
        strict=True,
    ):
        has_speed = has_speed or isfinite(speed)
        segment.points.append(
            GPXTrackPoint(
                latitude=lat,
                longitude=lon,
                elevation=height if isfinite(height) else None,
                time=datetime.fromtimestamp(time, UTC),
                speed=speed if isfinite(speed) else None,
            )
        )
    text: str = gpx.to_xml(version="1.0" if has_speed else "1.1", prettyprint=False)
    return text.replace("\n", "").replace("?><gpx", "?>\n<gpx").replace("<trkpt", "\n<trkpt") + "\n"


def turns_text(sheet: TurnSheet, zone: tzinfo | None = None) -> str:
    """The turn sheet as comma-separated text, times in UTC or, without zone, in ``zone``."""

    def when(time_s: float) -> str:
        instant = datetime.fromtimestamp(round(time_s, 2), zone or UTC)
        spec = "seconds" if instant.microsecond == 0 else "milliseconds"
        if zone is None:
            return instant.replace(tzinfo=None).isoformat(timespec=spec) + "Z"
        return instant.replace(tzinfo=None).isoformat(sep=" ", timespec=spec)

    if sheet.readings:
        rows = sorted(
            (time, r.unit, turns)
            for r in sheet.readings
            for time, turns in zip(r.time_s.tolist(), r.turns.tolist(), strict=True)
        )
        return "time,unit,turns\n" + "".join(f"{when(t)},{u},{n:g}\n" for t, u, n in rows)
    timed = all(count.start_s is not None for count in sheet.counts)
    extra = [name for name in ("setting", "crop", "bed") if getattr(sheet.counts[0], name)]
    columns = ["pass", *(["start", "end"] if timed else []), "unit", "turns", *extra]
    lines = [",".join(columns)]
    for count in sheet.counts:
        instants = [when(t) for t in (count.start_s, count.end_s) if timed and t is not None]
        turns = f"{count.turns:.1f}" if count.resolution < 1 else f"{count.turns:.0f}"
        texts = [getattr(count, name) for name in extra]
        lines.append(",".join([str(count.pass_number), *instants, count.unit, turns, *texts]))
    return "\n".join(lines) + "\n"


def run_text(
    seeder: Seeder,
    units: UnitSystem,
    time_zone: str | None,
    crops: Sequence[Crop],
    about: str,
) -> str:
    """The run description; lengths in inches for US units, in centimetres else."""
    size, word = (INCH.value, "in") if units == "us" else (0.01, "cm")

    def length(metres: float) -> str:
        return f"{metres / size:.2f}".rstrip("0").rstrip(".") + f" {word}"

    def text(value: str) -> str:
        return json.dumps(value, ensure_ascii=False)  # a TOML basic string, but for \u007f

    lines = [f"# {line}" for line in about.splitlines()]
    lines += ['track = "track.gpx"', 'turns = "turns.csv"']
    if time_zone:
        lines.append(f"time_zone = {text(time_zone)}")
    lines += [f"units = {text(units)}", "", "[seeder]", f"turns_of = {text(seeder.turns_of)}"]
    if seeder.wheel_circumference is not None:
        around = seeder.wheel_circumference
        lines.append(
            f"wheel_circumference = {text(f'{length(around.value)} ± {length(around.std)}')}"
        )
    lines.append(f"gear_turns_per_wheel_turn = {float(seeder.gear_turns_per_wheel_turn)}")
    if seeder.ground_per_gear_turn_in_use_m is not None:
        in_use = length(seeder.ground_per_gear_turn_in_use_m)
        lines.append(f"ground_per_gear_turn_in_use = {text(in_use)}")
    if seeder.row_units is not None:
        lines.append(f"row_units = {seeder.row_units}")
    if seeder.row_spacing_m is not None:
        lines.append(f"row_spacing = {text(length(seeder.row_spacing_m))}")
    if seeder.settings:
        lines.append(f"settings = [{', '.join(text(s) for s in seeder.settings)}]")
    for crop in crops:
        if crop.spacing_m is None:
            raise InputError(f"{crop.name}: sown by rate; a run file takes a spacing")
        lines += ["", "[[sowing]]", f"crop = {text(crop.name)}"]
        lines.append(f"spacing = {text(length(crop.spacing_m))}")
        for name in ("germination", "field_emergence"):
            if (share := getattr(crop, name).value) != 1.0:
                lines.append(f"{name} = {share}")
    return "\n".join(lines) + "\n"


def truth_text(day: SimulatedDay, files: Mapping[str, str]) -> str:
    """The truth as JSON. Instants in UTC, lengths in metres, turns of the gear, slip as a share.

    ``files`` are the files of the run with their SHA-256, by which `writing` knows them again.
    """

    def when(time_s: float) -> str:
        return datetime.fromtimestamp(time_s, UTC).isoformat(timespec="milliseconds")

    truth = {
        "tool": SIMULATOR,
        "simulated": True,
        "files": dict(files),
        "scenario": day.scenario.name,
        "seed": day.seed,
        "ground_per_turn_m": round(day.ground_per_turn_m, 6),
        "expected_ground_per_turn_m": round(day.expected_ground_per_turn_m, 6),
        "slip": round(day.slip, 6),
        "expected_slip": round(day.expected_slip, 6),
        "units": [
            {
                "unit": unit.unit,
                "zero_slip_m": round(unit.zero_slip_m, 6),
                "ground_per_turn_m": round(unit.ground_per_turn_m, 6),
                "expected_ground_per_turn_m": round(unit.expected_ground_per_turn_m, 6),
                "slip": round(unit.slip, 6),
                "expected_slip": round(unit.expected_slip, 6),
                "turns": [round(turns, 3) for turns in unit.turns],
            }
            for unit in day.units
        ],
        "passes": [
            {
                "number": p.number,
                "start": when(p.start_s),
                "end": when(p.end_s),
                "ground_m": round(p.ground_m, 3),
                "axis_deg": round(p.axis_deg, 2),
                "stood_at_start": p.stood_start is not None,
                "stood_at_end": p.stood_end is not None,
                "stops_on_the_way": len(p.mid_stops),
            }
            for p in day.passes
        ],
    }
    return sealed(json.dumps(truth, indent=1))
