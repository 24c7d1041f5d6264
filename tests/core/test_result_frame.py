"""A result as a data frame: every row unit on every pass, in SI, instants in UTC."""

from __future__ import annotations

import json
from datetime import datetime

import numpy as np
import pandas as pd
import pytest
from factories import make_result

from groundtruth.io.result_json import result_to_json

FOUR = make_result(units=("1", "2", "3", "4"), lagging="3", passes=12)
BARE = make_result(slip=False, passes=2)


@pytest.mark.parametrize("result", [FOUR, BARE], ids=["four", "bare"])
def test_the_columns_are_those_of_result_json(result):
    """Row by row the same as the JSON says, whose instants the standard library reads."""
    frame = result.to_frame()
    rows = json.loads(result_to_json(result))["passes"]
    assert len(frame) == len(rows)
    assert set(rows[0]) | {"axis_deg", "speed_m_s"} == set(frame.columns)
    for row, (_, shown) in zip(rows, frame.iterrows(), strict=True):
        for key, value in row.items():
            if key in ("start", "end"):
                instant = datetime.fromisoformat(value)
                assert shown[key].to_pydatetime(warn=False) == instant
            elif value is None:
                assert np.isnan(shown[key])
            else:
                assert shown[key] == value


def test_instants_are_nanoseconds_in_utc():
    frame = FOUR.to_frame()
    for column in ("start", "end"):
        assert frame[column].dtype == "datetime64[ns, UTC]"
    assert (frame["end"] > frame["start"]).all()


def test_what_belongs_to_the_pass_stands_on_each_of_its_rows():
    frame = FOUR.to_frame()
    by_pass = frame.groupby("number")
    assert (by_pass["speed_m_s"].nunique() == 1).all()
    assert (by_pass["axis_deg"].nunique() == 1).all()
    assert (by_pass.size() == 4).all()


def test_figures_can_be_reckoned_with():
    """Ground per turn is distance over turns, on every row."""
    frame = FOUR.to_frame()
    ratio = frame["distance_m"] / frame["turns"]
    np.testing.assert_allclose(ratio, frame["ground_per_turn_m"])
    assert pd.api.types.is_float_dtype(BARE.to_frame()["slip"])
