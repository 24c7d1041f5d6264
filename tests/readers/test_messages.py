"""Every repair and refusal, word by word, and the tables in docs/tracks.md held to the same."""

from __future__ import annotations

import re
from pathlib import Path

import pytest
import track_cases as cases

from groundtruth.errors import TrackFileError
from groundtruth.readers import read_track

PAGE = (Path(__file__).parents[2] / "docs" / "tracks.md").read_text(encoding="utf-8")
TABLES = PAGE[PAGE.index("## Repairs and warnings") :]
MESSAGES = re.findall(r"(?m)^\|.*\| `([^`]+)` \|$", TABLES)
ELSEWHERE = {
    # tested in test_read_gpx.py
    "point that another file holds too left out",
    "N and N were recorded at the same time at different places; measure with one of them",
    # tested in test_hostile.py
    "is a folder; name a track file",
    "is a device or pipe, not a file; name a track file",
    "no such track file in the folder N",
}


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


def as_pattern(message: str) -> str:
    """A documented message as a pattern: N is any text, FIELD a field's name."""
    parts = re.split(r"\b(N|FIELD)\b", message)
    parts = [
        {"N": ".+", "FIELD": "(height|speed|accuracy|HDOP)"}.get(part, re.escape(part))
        for part in parts
    ]
    return "".join(parts)


def test_every_documented_message_has_a_case():
    said = [case.refused or case.notice for case in cases.ALL] + sorted(cases.LIMITS)
    for message in MESSAGES:
        if message not in ELSEWHERE:
            assert any(re.search(as_pattern(message), one) for one in said), message


def test_every_case_is_documented():
    patterns = [re.compile(as_pattern(message)) for message in MESSAGES]
    for case in cases.ALL:
        words = case.refused or case.notice
        assert not words or any(pattern.search(words) for pattern in patterns), words
