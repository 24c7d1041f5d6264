"""The run that most tests of measuring start from, read once."""

from pathlib import Path

import pytest

import groundtruth

DRY = Path(__file__).parents[2] / "sample_tracks" / "dry-firm" / "run.toml"


@pytest.fixture(scope="module")
def run():
    return groundtruth.read_run(DRY)


@pytest.fixture(scope="module")
def passes(run):
    return groundtruth.find_passes(run.track)
