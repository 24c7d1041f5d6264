"""What the README shows is what the program does."""

from __future__ import annotations

import re
import shlex
from pathlib import Path

import pytest

from groundtruth.cli import main as cli

ROOT = Path(__file__).parents[1]
README = (ROOT / "README.md").read_text(encoding="utf-8")


def commands():
    """Every groundtruth command in the README's shell blocks that works on a sample."""
    for block in re.findall(r"```sh\n(.*?)```", README, re.S):
        for line in block.splitlines():
            if "groundtruth " in line and "sample_tracks" in line:
                yield line.split("groundtruth ", 1)[1]


def test_the_quoted_output_is_the_real_one(tmp_path, monkeypatch, capsys):
    monkeypatch.chdir(ROOT)
    quoted = re.search(r"```text\n(.*?)```", README, re.S)[1].splitlines()
    cli.main(["measure", "sample_tracks/wet-soil/run.toml", "--out", str(tmp_path)])
    shown = [line.strip() for line in capsys.readouterr().out.splitlines()]
    assert all(line in shown for line in quoted), shown[:4]


def test_the_commands_work_as_written(tmp_path, monkeypatch):
    monkeypatch.chdir(ROOT)
    found = list(commands())
    assert len(found) >= 3
    for command in found:
        words = [w.replace("results", str(tmp_path), 1) if w.startswith("results") else w
                 for w in shlex.split(command)]  # fmt: skip
        assert cli.main(words) == 0, command
    assert (tmp_path / "card.html").stat().st_size > 1000


@pytest.mark.parametrize("target", sorted(set(re.findall(r"\]\(([\w./-]+)\)", README))))
def test_links_lead_somewhere(target):
    assert (ROOT / target).exists()
