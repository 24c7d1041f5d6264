"""Every repair and refusal, word by word, and that no message of the code is left untested."""

from __future__ import annotations

import ast
import re
from pathlib import Path

import pytest
import test_bounds
import test_hostile
import test_limits
import test_read_turns
import test_replaced
import track_cases as cases
from making import gpx, point, points, stamp

from groundtruth.core.errors import TrackFileError
from groundtruth.io import read_track

ROOT = Path(__file__).parents[2]


@pytest.mark.parametrize("case", cases.ALL, ids=lambda case: case.id)
def test_repairs_and_refusals_word_by_word(write, case):
    path = write(case.name, case.content)
    if case.refused:
        with pytest.raises(TrackFileError) as caught:
            read_track(path, time_zone=case.zone)
        assert str(caught.value) == case.refused
    else:
        track = read_track(path, time_zone=case.zone)
        said = [str(notice) for notice in track.notices if notice.kind != "fact"]
        assert case.notice in said or (not case.notice and not said)
        assert len(track) == case.points


TWO_FILES = {
    "shared points": (
        gpx(points(6, 3)),
        "b.gpx, point 1: point that another file holds too left out (3 times)",
    ),
    "two phones": (
        gpx("".join(point(s + 0.5, lat=48.7001 + s * 1e-5) for s in range(6))),
        "a.gpx and b.gpx were recorded at the same time at different places; measure with one of "
        "them",
    ),
}


@pytest.mark.parametrize("case", TWO_FILES.values(), ids=TWO_FILES.keys())
def test_two_files_word_by_word(write, case):
    second, words = case
    paths = [write("a.gpx", gpx(points(6))), write("b.gpx", second)]
    try:
        said = [str(notice) for notice in read_track(paths).notices]
    except TrackFileError as refusal:
        said = [str(refusal)]
    assert words in said


ZONES = {
    "Europe/Olso": "time zone: time_zone 'Europe/Olso' is not known; did you mean Europe/Oslo?",
    "CEST+1": "time zone: time_zone 'CEST+1' is not known; write for example Europe/Oslo",
}


@pytest.mark.parametrize("zone", ZONES)
def test_unknown_zones_word_by_word(write, zone):
    with pytest.raises(TrackFileError) as caught:
        read_track(write("a.gpx", gpx(points(3))), time_zone=zone)
    assert str(caught.value) == ZONES[zone]


def test_what_is_in_order_is_not_doubted(write):
    """Recordings stored newest first, a pause overnight, a drive: no word about clocks."""
    newest_first = gpx(points(30, 90) + "</trkseg></trk><trk><trkseg>" + points(30))
    moved = point(200_000, lat="48.9") + point(200_001, lat="48.90001")
    for body in (newest_first, gpx(points(30) + moved), gpx(points(30) + point(43_100))):
        said = "".join(map(str, read_track(write("a.gpx", body)).notices))
        assert "clock" not in said


def test_many_first_points_of_another_clock_are_told_of_and_kept(write):
    early = "".join(point(s, time=stamp(s - 86400)) for s in range(20))
    track = read_track(write("a.gpx", gpx(early + points(60, 20))))
    assert len(track) == 80
    assert "jumps ahead by 24.0 h" in str(track.notices[0])


SAID = (
    *(case.refused or case.notice for case in cases.ALL),
    *(words for _, words in TWO_FILES.values()),
    *ZONES.values(),
    *test_limits.SAID,
    *test_hostile.SAID,
    *test_replaced.SAID,
)
"""Everything that a test holds a track file to, word by word."""

SAID_OF_SHEETS = (
    *(
        says
        for cases in (test_read_turns.REFUSED, test_read_turns.IN_OSLO, test_read_turns.REPAIRED)
        for _, says in cases.values()
    ),
    *test_read_turns.UNKNOWN_ZONES.values(),
    test_bounds.NO_ZONES,
    *(says.format("turn sheet") for says in test_hostile.NO_FILES.values()),
)
"""Everything that a test holds a turn sheet to, word by word."""


def _literal(node: ast.expr) -> list[str]:
    """The fixed parts of a text, also of one that can be said in other languages."""
    if isinstance(node, ast.Call) and getattr(node.func, "id", "") == "English":
        return _literal(node.args[0])
    if isinstance(node, ast.Constant) and isinstance(node.value, str):
        return re.split(r"\{[^}]*\}", node.value)
    if isinstance(node, ast.JoinedStr):
        return [part.value for part in node.values if isinstance(part, ast.Constant)]
    if isinstance(node, ast.BinOp):
        return _literal(node.left) + _literal(node.right)
    return []


def _words_of_the_code() -> list[str]:
    """The longest fixed part of every message in the readers' code."""
    found = []
    room = ROOT / "groundtruth" / "io"
    # run files have a test of their own
    files = [room / name for name in ("decoding.py", "files.py", "timestamps.py")]
    files += [room / "sheets" / name for name in ("csv_rows.py", "turn_cells.py", "turns.py")]
    for path in sorted([*files, *(room / "tracks").rglob("*.py")]):
        for node in ast.walk(ast.parse(path.read_text(encoding="utf-8"))):
            texts: list[ast.expr] = []
            if isinstance(node, ast.Call):
                name = getattr(node.func, "attr", getattr(node.func, "id", ""))
                if name in ("repair", "warn", "fail", "error") or name.endswith(("Error", "Date")):
                    texts = node.args
            elif isinstance(node, ast.Assign) and getattr(node.targets[0], "attr", "") in (
                "nothing",
                "untimed",
            ):
                texts = [node.value]
            for text in texts:
                longest = max(_literal(text), key=len, default="").strip(": ")
                if len(longest) > 12:
                    found.append(longest)
    return found


def test_every_message_of_the_code_is_tested():
    words = _words_of_the_code()
    assert len(words) > 80
    for part in words:
        assert any(part in one for one in (*SAID, *SAID_OF_SHEETS)), part
