"""Strips of the track that are passes because somebody says so: by places, by times, in a sheet."""

from __future__ import annotations

import csv
from dataclasses import replace
from datetime import UTC, datetime
from io import StringIO
from pathlib import Path
from zoneinfo import ZoneInfo

import numpy as np
import pytest
from pyproj import Geod

from groundtruth.app.measure import LooseRun, MeasureRequest, measured_run_for, run_for
from groundtruth.app.typed_run import TypedPass, TypedRun, files_of
from groundtruth.core.errors import MeasureError, TurnSheetError
from groundtruth.io import read_turns
from groundtruth.io.files import Source
from groundtruth.io.json_values import utc_text
from groundtruth.passes import find_passes
from groundtruth.passes.strips import pass_between, strip_between

SAMPLES = Path(__file__).parents[1] / "sample_tracks"
SAMPLE = SAMPLES / "dry-firm"
RUN = run_for(MeasureRequest(run=SAMPLE / "run.toml"))
PASSES = find_passes(RUN.track)


def place_at(time_s: float) -> tuple[float, float]:
    track = RUN.track
    return (
        float(np.interp(time_s, track.time_s, track.longitude_deg)),
        float(np.interp(time_s, track.time_s, track.latitude_deg)),
    )


def sheet_lines() -> list[dict[str, str]]:
    return list(csv.DictReader(StringIO((SAMPLE / "turns.csv").read_text())))


def utc(local: str) -> str:
    zone = ZoneInfo("America/Chicago")
    return utc_text(datetime.fromisoformat(local).replace(tzinfo=zone).astimezone(UTC).timestamp())


def sheet(strips: tuple[int, ...]) -> Source:
    """The sample's counts, those passes as strips between the sheet's own instants."""
    text = StringIO()
    rows = csv.writer(text)
    rows.writerow(("track_pass", "start", "end", "unit", "turns"))
    for line in sheet_lines():
        number = int(line["pass"])
        if number in strips:
            which = f"strip {strips.index(number) + 1}", utc(line["start"]), utc(line["end"])
        else:
            which = str(number), "", ""
        rows.writerow((*which, line["unit"], line["turns"]))
    return Source("turns.csv", text.getvalue().encode())


def measured(turns: Source, passes=PASSES):
    run = replace(RUN, turns=read_turns(turns))
    return measured_run_for(MeasureRequest(run=run, passes=tuple(passes))).result


@pytest.mark.parametrize("strips", [(3,), (1, 2, 3, 4, 5, 6, 7, 8)], ids=["one", "all"])
def test_passes_that_were_not_found_are_measured_between_given_ends(strips):
    whole = measured_run_for(MeasureRequest(run=RUN, passes=PASSES)).result
    found = [p for p in PASSES if p.number not in strips]
    result = measured(sheet(strips), found)
    apart = result.ground_per_turn.value - whole.ground_per_turn.value
    assert abs(apart) < whole.ground_per_turn.std
    assert len({p.number for p in result.passes}) == len(PASSES)
    highest = max((p.number for p in found), default=0)
    given = [p for p in result.passes if p.number > highest]
    assert len({p.number for p in given}) == len(strips)
    # the counters were read standing, which the track shows at most of the ends
    ends = [end for p in given if p.unit == "1" for end in (p.start_found, p.end_found)]
    assert ends.count("stopped") >= 0.5 * len(ends)


def test_a_bed_too_short_to_be_found_has_the_length_of_the_ellipsoid():
    """Reference: geodesic by Karney (2013, doi 10.1007/s00190-012-0578-z), of PROJ's Geod."""
    middle = 0.5 * (PASSES[0].start.time_s + PASSES[0].end.time_s)
    start_s, end_s = round(middle) - 6.0, round(middle) + 6.0
    inside = (RUN.track.time_s >= start_s - 3) & (RUN.track.time_s <= end_s + 3)
    assert inside.sum() > 10
    strip = pass_between(RUN.track, start_s, end_s)
    _, _, length_m = Geod(ellps="WGS84").inv(*place_at(start_s), *place_at(end_s))
    assert 8 < length_m < 18
    assert strip.length_m == pytest.approx(length_m, abs=0.02)
    assert (strip.start.found, strip.end.found) == ("turn sheet", "turn sheet")
    assert (strip.start.time_s, strip.end.time_s) == (start_s, end_s)


def test_two_places_find_the_way_between_them_in_either_order():
    rng = np.random.default_rng(4)
    for found in PASSES:
        ends = found.start.time_s, found.end.time_s
        taken = [(p.start.time_s, p.end.time_s) for p in PASSES if p is not found]
        places = [tuple(np.array(place_at(t)) + rng.normal(0, 2e-5, 2)) for t in ends]
        start_s, end_s = strip_between(RUN.track, *places, taken)
        assert strip_between(RUN.track, *places[::-1], taken) == (start_s, end_s)
        strip = pass_between(RUN.track, start_s, end_s)
        assert strip.length_m == pytest.approx(found.length_m, abs=5.0)
        assert (start_s, end_s) == pytest.approx(ends, abs=6.0)


def test_what_cannot_be_a_pass_is_refused():
    first, second = PASSES[:2]
    with pytest.raises(MeasureError, match="not straight"):
        pass_between(RUN.track, first.start.time_s, second.end.time_s - 20)
    with pytest.raises(MeasureError, match="too short"):
        pass_between(RUN.track, first.start.time_s + 30, first.start.time_s + 31)
    for start_s, end_s in ((0.0, 100.0), (first.end.time_s, first.start.time_s)):
        with pytest.raises(MeasureError, match="outside the recording, or ends before"):
            pass_between(RUN.track, start_s, end_s)
    lon, lat = place_at(first.start.time_s)
    with pytest.raises(MeasureError, match="no nearer than"):
        strip_between(RUN.track, (lon + 0.1, lat), (lon, lat))
    with pytest.raises(MeasureError, match="no straight way"):
        strip_between(RUN.track, (lon, lat), (lon, lat))


@pytest.mark.parametrize(
    ("lines", "said"),
    [
        ("strip 1,,,1,93", "line 2: strip 1 has no start and end"),
        ("strip 1,2027-04-27T13:08:46Z,,1,93", "line 2: strip 1: give both start and end"),
        (
            "strip 1,2027-04-27T13:08:46Z,2027-04-27T13:09:55Z,1,93\nstrip 1,,,1,92",
            "line 3: strip 1, unit 1 stands in line 2 already",
        ),
        (
            "1,,,1,93\nstrip 1,2027-04-27T13:08:46Z,2027-04-27T13:09:55Z,1,93",
            "line 3: strip 1 lies on pass 1, which has counts of its own; keep one of them",
        ),
        (
            "1,,,1,93\nstrip 1,2027-04-27T13:08:46Z,2027-04-27T13:12:55Z,1,93",
            "line 3: strip 1: the strip is not straight; mark each pass by itself",
        ),
        (
            "1,,,1,93\nstrip 1,2027-04-28T13:08:46Z,2027-04-28T13:12:55Z,1,93",
            "line 3: strip 1: the strip lies outside the recording, or ends before it starts",
        ),
    ],
)
def test_a_sheet_with_a_strip_that_cannot_be_is_refused(lines, said):
    turns = Source("turns.csv", f"track_pass,start,end,unit,turns\n{lines}\n".encode())
    with pytest.raises(TurnSheetError) as refused:
        measured(turns)
    assert str(refused.value).startswith(f"turns.csv, {said}")


def test_typed_strips_are_written_into_the_sheet_and_come_back():
    number = len(PASSES)
    ends = utc_text(round(PASSES[2].start.time_s)), utc_text(round(PASSES[2].end.time_s))
    turns = {int(line["pass"]): line["turns"] for line in sheet_lines() if line["unit"] == "1"}
    rows = [TypedPass(number=n, turns=(t,), struck=n == 3) for n, t in turns.items()]
    rows.insert(3, TypedPass(number=number + 1, turns=(turns[3],), strip=ends))
    typed = TypedRun(
        name="",
        units="us",
        time_zone="America/Chicago",
        track_names=("track.gpx",),
        row_units=("1",),
        passes=tuple(rows),
        machine=(("gear_turns_per_wheel_turn", "2.4"),),
    )
    files = files_of(typed)
    lines = files.turns.data.decode().splitlines()
    assert lines[0].startswith("track_pass,start,end,unit")
    assert lines[3].startswith(f"strip 1,{ends[0]},{ends[1]},1,{turns[3]}")
    assert files.cells[4] == (number + 1, 0)
    sources = (files.turns, Source("track.gpx", (SAMPLE / "track.gpx").read_bytes()))
    request = MeasureRequest(run=files.run, files=sources, passes=PASSES)
    result = measured_run_for(request).result
    assert {p.number for p in result.passes} == {1, 2, 4, 5, 6, 7, 8, number + 1}
    assert not any(f.kind.value == "uncounted" for f in result.findings)


def test_a_track_without_a_pass_found_can_be_measured_by_its_strips():
    track = RUN.track
    first = PASSES[0]
    middle = round(0.5 * (first.start.time_s + first.end.time_s))
    turns = "track_pass,start,end,turns\n" + "".join(
        f"strip {k},{utc_text(middle + a)},{utc_text(middle + b)},{n}\n"
        for k, (a, b, n) in enumerate([(-16.0, -1.0, 20), (1.0, 16.0, 20)], start=1)
    )
    loose = LooseRun(track=track, turns=Source("turns.csv", turns.encode()))
    result = measured_run_for(MeasureRequest(run=loose, passes=())).result
    assert [p.number for p in result.passes] == [1, 2]
    assert result.ground_per_turn.std > 0.02 * result.ground_per_turn.value
