"""Errors tell the place apart from the words, and say both in one line."""

from __future__ import annotations

import copy
import pickle

import pytest

from groundtruth.core.errors import GroundtruthError, QuantityError, TrackFileError


@pytest.mark.parametrize(
    ("place", "said"),
    [
        ({}, "is empty"),
        ({"file": "a.csv"}, "a.csv: is empty"),
        ({"file": "a.csv", "line": 3, "column": "turns", "cell": " "}, "a.csv, line 3: is empty"),
        ({"file": "a.gpx", "point": 17}, "a.gpx, point 17: is empty"),
        ({"line": 3}, "line 3: is empty"),
    ],
)
def test_the_sentence_begins_with_the_place(place, said):
    error = GroundtruthError("is empty", **place)
    assert str(error) == said
    assert error.reason == "is empty"
    for name in ("file", "line", "point", "column", "cell"):
        assert getattr(error, name) == place.get(name, None if name in ("line", "point") else "")


@pytest.mark.parametrize("again", [copy.copy, lambda one: pickle.loads(pickle.dumps(one))])
def test_an_error_passes_between_processes(again):
    error = QuantityError("no unit", file="run.toml", line=2, column="length", cell="3")
    other = again(error)
    assert (type(other), str(other), vars(other)) == (type(error), str(error), vars(error))


def test_errors_of_input_are_value_errors():
    assert issubclass(TrackFileError, ValueError)
