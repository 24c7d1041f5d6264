"""Fixtures of the season's tests."""

import sys
from pathlib import Path

import pytest

sys.path.append(str(Path(__file__).parents[1]))


@pytest.fixture
def season(tmp_path):
    """Where a record may be made."""
    return tmp_path / "season.gpkg"
