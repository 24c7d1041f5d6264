"""Every repair and refusal, word by word, and the table in docs/tracks.md held to the same."""

from __future__ import annotations

import cases
import pytest

from groundtruth.errors import TrackFileError
from groundtruth.readers import read_track


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
