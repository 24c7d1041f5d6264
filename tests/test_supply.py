"""What comes from others: the vendored library is the published one, versions are bounded."""

from __future__ import annotations

import re
import tomllib
from base64 import b64encode
from hashlib import sha256
from importlib.metadata import version
from pathlib import Path

import pytest
from packaging.requirements import Requirement

ROOT = Path(__file__).parents[1]
PROJECT = tomllib.loads((ROOT / "pyproject.toml").read_text(encoding="utf-8"))["project"]
PINS = dict(
    line.split("==")
    for line in (ROOT / "tests" / "constraints.txt").read_text(encoding="utf-8").splitlines()
    if not line.startswith("#")
)

LEAFLET = {
    "leaflet.js": "20nQCchB9co0qIjJZRGuk2/Z9VM+kNiyxNV1lvTlZBo=",
    "leaflet.css": "p4NxAoJBhIIN+hmNHrzRCf9tD/miZyoHS5obTRR9BMY=",
}
"""Subresource integrity of version 1.9.4 as the library's own download page gives it (from memory;
the files were taken from the published package)."""


@pytest.mark.parametrize("name", LEAFLET)
def test_the_vendored_library_is_the_published_one(name):
    data = (ROOT / "groundtruth" / "views" / "map" / "leaflet" / name).read_bytes()
    assert b64encode(sha256(data).digest()).decode() == LEAFLET[name]
    if name.endswith("js"):
        assert b"Leaflet 1.9.4," in data[:60]


def requirements():
    extras = PROJECT["optional-dependencies"].values()
    return [Requirement(one) for words in (PROJECT["dependencies"], *extras) for one in words]


def test_every_dependency_is_bounded_pinned_for_the_tests_and_told_why():
    """A bound below, a reason beside it, a version that satisfies it in the lock file."""
    text = (ROOT / "pyproject.toml").read_text(encoding="utf-8")
    for one in requirements():
        assert one.specifier, one
        pin = {name.lower().replace("_", "-"): v for name, v in PINS.items()}[one.name.lower()]
        assert one.specifier.contains(pin), one
    table = text[text.index("dependencies = [") : text.index("[project.scripts]")]
    for line in re.findall(r'^    "[a-z].*', table, re.M):
        assert " # " in line, line


def test_the_versions_here_satisfy_the_bounds():
    for one in requirements():
        if one.marker is None or one.marker.evaluate():
            assert one.specifier.contains(version(one.name)), one
