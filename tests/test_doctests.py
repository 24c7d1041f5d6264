"""The examples in the docstrings of the rooms that people calculate with give what they say."""

import doctest
import importlib
import pkgutil
from pathlib import Path

import pytest

import groundtruth

PACKAGE = Path(groundtruth.__file__).parent
ROOMS = ("seeding", "stats", "core/units")
SINGLE = ("core.crops", "core.counts", "core.measured")


def modules():
    """The modules of those rooms by name, packages themselves and bare tables left out."""
    for room in ROOMS:
        for found in pkgutil.iter_modules([str(PACKAGE / room)]):
            yield f"groundtruth.{room.replace('/', '.')}.{found.name}"
    yield from (f"groundtruth.{name}" for name in SINGLE)


WITHOUT_FUNCTIONS = {"groundtruth.core.units.constants", "groundtruth.stats.end_covariance"}


@pytest.mark.parametrize("name", sorted(set(modules()) - WITHOUT_FUNCTIONS))
def test_examples(name):
    module = importlib.import_module(name)
    results = doctest.testmod(module)
    assert results.failed == 0
    assert results.attempted > 0, "no example"
