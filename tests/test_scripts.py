"""The scripts of our own pages hold what their types say, by the TypeScript compiler."""

from __future__ import annotations

import os
import shutil
import subprocess
from pathlib import Path

import pytest

CONFIG = Path(__file__).with_name("jsconfig.json")


@pytest.fixture(scope="module")
def compiler():
    found = shutil.which("tsc")
    if found is None:
        if os.environ.get("CI"):
            pytest.fail("no TypeScript compiler found; CI must have one")
        pytest.skip("no TypeScript compiler found")
    return found


def test_scripts_hold_what_their_types_say(compiler):
    found = subprocess.run([compiler, "--project", str(CONFIG)], capture_output=True, text=True)
    assert (found.returncode, found.stdout) == (0, "")
