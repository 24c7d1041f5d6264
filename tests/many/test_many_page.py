"""docs/many.md tells the truth: its commands start a scheduler and workers behind TLS."""

from __future__ import annotations

import os
import re
import shlex
import shutil
import subprocess
import sys
from pathlib import Path

import pytest
from data_sets import rows
from elsewhere import SETTINGS, ended, free_port, waited
from small_runs import small_runs

from groundtruth.cli.main import build_parser

PAGE = (Path(__file__).parents[2] / "docs" / "many.md").read_text(encoding="utf-8")
(INSTALL,) = re.findall(r"(?m)^    (pip install .*)$", PAGE)
CERTIFICATES, EXPORTS, STARTS, COMMAND = re.findall(r"(?s)```sh\n(.*?)```", PAGE)


def test_the_settings_of_the_page_are_those_tested_here():
    said = dict(re.findall(r"(?m)^export (\w+)=(\S+)$", EXPORTS))
    assert said == SETTINGS


def test_the_page_names_every_option():
    commands = build_parser()._subparsers._group_actions[0].choices
    (row,) = (choice for name, choice in commands.items() if name == "many")
    options = {o for action in row._actions for o in action.option_strings if o.startswith("--")}
    assert {o for o in options if o not in PAGE} <= {"--help"}


def words(line, port, **other):
    """A command of the page on this computer, its port a free one."""
    line = line.replace("HOST", "127.0.0.1").replace("8786", str(port))
    for old, new in other.items():
        assert old in line
        line = line.replace(old, new)
    return [sys.executable, "-m", *shlex.split(line)]


@pytest.mark.whole_days
@pytest.mark.skipif(not shutil.which("openssl"), reason="makes certificates with OpenSSL")
def test_the_commands_of_the_page_measure_behind_tls(tmp_path):
    subprocess.run(["sh", "-ec", CERTIFICATES], cwd=tmp_path, check=True, capture_output=True)
    small_runs(tmp_path / "FOLDER", [f"day-{n}" for n in range(4)], days=2)
    port, environment = free_port(), {**os.environ, **SETTINGS}
    scheduler_line, worker_line = STARTS.splitlines()
    here = {"--port": "--host tls://127.0.0.1 --port"}
    processes = []
    try:
        for place, (line, other) in enumerate(
            ((scheduler_line, here), (worker_line, {"--nworkers 8": "--nworkers 1"}))
        ):
            with (tmp_path / f"{place}.log").open("wb") as log:
                processes.append(
                    subprocess.Popen(
                        words(line, port, **other),
                        cwd=tmp_path, env=environment, stdout=log, stderr=log,
                    )
                )  # fmt: skip
        waited(lambda: "Registered to" in (tmp_path / "1.log").read_text(encoding="utf-8"))

        def many(line):
            return subprocess.run(
                words(line, port), cwd=tmp_path, capture_output=True, text=True, check=False
            )

        done = many(COMMAND)
        assert done.returncode == 0, done.stderr
        assert [row["status"] for row in rows(tmp_path / "FLEET")] == ["measured"] * 4

        # without a certificate, or with one of another authority, nobody gets in
        small_runs(tmp_path / "more", ["day-4"], days=1)
        plain = f"groundtruth many more --out FLEET --scheduler tcp://127.0.0.1:{port}"
        (tmp_path / "other").mkdir()
        subprocess.run(["sh", "-ec", CERTIFICATES], cwd=tmp_path / "other", check=True,
                       capture_output=True)  # fmt: skip
        foreign = COMMAND.replace("FOLDER", "more")
        for name in ("cert.pem", "key.pem"):
            foreign = foreign.replace(name, f"other/{name}")
        for line in (plain, foreign):
            refused = many(line)
            assert refused.returncode == 2
            assert "does not answer" in refused.stderr
    finally:
        for process in processes:
            ended(process)
