"""The co-op of the documentation, walked by its own shell script; days of our own simulator."""

import os
import re
import shutil
import subprocess
import sys
from pathlib import Path

import pytest

pytestmark = pytest.mark.whole_days

DOCS = Path(__file__).parents[2] / "docs"
SCRIPT = DOCS / "many-farms-walkthrough.sh"


@pytest.fixture(scope="module")
def walked(server, tmp_path_factory):
    """What the script printed."""
    with server.connect("postgres") as db:
        db.execute("CREATE DATABASE coop")
    for service, role in (("coop-admin", "postgres"), ("coop", "coop"), ("quillfen", "farm_017")):
        server.add_service(service, database="coop", role=role)
    folder = tmp_path_factory.mktemp("walk")
    programs = folder / "bin"
    programs.mkdir()
    for name, words in (("groundtruth", "-m groundtruth"), ("python3", "")):
        (programs / name).write_text(f'#!/bin/sh\nexec "{sys.executable}" {words} "$@"\n')
        (programs / name).chmod(0o755)
    path = os.pathsep.join((str(programs), str(server.binaries), os.environ["PATH"]))
    done = subprocess.run(
        [shutil.which("sh"), SCRIPT, folder],
        env={
            **os.environ,
            "PATH": path,
            "PYTHONPATH": str(DOCS.parent),
            "PGSERVICEFILE": str(server.service_file),
        },
        capture_output=True,
        text=True,
        timeout=600,
    )
    assert done.returncode == 0, done.stderr
    return done.stdout


def test_the_exports_are_asked_together(walked):
    _, _, answer = walked.partition("ground_per_turn_u_m")
    assert 0 < answer.index("Overmarsh") < answer.index("Quillfen")


def test_the_second_load_adds_nothing_and_the_farm_sees_its_own(walked):
    assert "coop: 2 runs and" in walked
    assert "2 runs new, 0 put right" in walked
    assert "0 runs new, 0 put right" in walked
    assert walked.splitlines()[-1].startswith("Quillfen|1|")


COMMAND = re.compile(r"(?m)^ *groundtruth (?:(?:season|fleet) (?:--season \S+ )?)?\w+")


def commands(text):
    """What groundtruth is asked for in a script or on a page."""
    return {re.sub(r" --season \S+|^ +", "", found) for found in COMMAND.findall(text)}


def test_the_page_shows_commands_that_the_script_runs():
    shown = commands((DOCS / "many-farms.md").read_text(encoding="utf-8"))
    assert len(shown) == 5
    assert shown <= commands(SCRIPT.read_text(encoding="utf-8"))
