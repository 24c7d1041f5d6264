"""The scripts of our own pages hold what their types say, by the TypeScript compiler."""

from __future__ import annotations

import os
import shutil
import subprocess
from pathlib import Path

import pytest

PACKAGE = Path(__file__).resolve().parents[1] / "groundtruth"
PROJECTS = sorted((Path(__file__).parent / "scripts").rglob("jsconfig.json"))
"""The pages; and the service worker, which lives among other names than a page."""
OTHERS = {"idb.js", "leaflet.js"}


@pytest.fixture(scope="module")
def compiler():
    found = shutil.which("tsc")
    if found is None:
        if os.environ.get("CI"):
            pytest.fail("no TypeScript compiler found; CI must have one")
        pytest.skip("no TypeScript compiler found")
    return found


@pytest.mark.parametrize("project", PROJECTS, ids=lambda one: one.parent.name)
def test_scripts_hold_what_their_types_say(compiler, project):
    found = subprocess.run([compiler, "--project", str(project)], capture_output=True, text=True)
    assert (found.returncode, found.stdout) == (0, "")


def test_every_script_of_ours_is_looked_at(compiler):
    seen = set()
    for project in PROJECTS:
        listing = [compiler, "--project", str(project), "--listFilesOnly"]
        said = subprocess.run(listing, capture_output=True, text=True, check=True).stdout
        seen |= {Path(line) for line in said.splitlines() if line.endswith(".js")}
    ours = {file for file in PACKAGE.rglob("*.js") if file.name not in OTHERS}
    assert len(ours) > 40
    assert ours <= seen
