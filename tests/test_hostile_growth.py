"""Inputs that once took minutes or gigabytes: the whole command ends within plain limits.

The limits are those of the operating system, a hundred times what the command takes; they tell
growth with the square of the input from growth with the input.
"""

from __future__ import annotations

import subprocess
import sys
from pathlib import Path

import pytest

resource = pytest.importorskip("resource")

MEMORY = 4 << 30
SECONDS = 60


def limited() -> None:
    resource.setrlimit(resource.RLIMIT_CPU, (SECONDS, SECONDS))
    resource.setrlimit(resource.RLIMIT_AS, (MEMORY, MEMORY))


def run_in(folder: Path, *words: str) -> subprocess.CompletedProcess[str]:
    return subprocess.run(
        [sys.executable, "-m", "groundtruth", *words],
        cwd=folder,
        capture_output=True,
        text=True,
        preexec_fn=limited,
        check=False,
        timeout=600,
    )


def fix(second: int, north: float) -> str:
    day, rest = divmod(second, 86_400)
    month, day = divmod(day, 28)
    clock = f"{rest // 3600:02d}:{rest // 60 % 60:02d}:{rest % 60:02d}"
    time = f"{2026 + month // 12}-{month % 12 + 1:02d}-{day + 1:02d}T{clock}Z"
    return f'<trkpt lat="{48.7 + north:.7f}" lon="7.1"><time>{time}</time></trkpt>'


def track(comment: str, every_s: int, count: int) -> str:
    fixes = "".join(fix(k * every_s, 1e-5 * (k % 40)) for k in range(count))
    return f'<gpx version="1.1">{comment}<trk><trkseg>{fixes}</trkseg></trk></gpx>'


def crops(count: int) -> str:
    return "crop,spacing\n" + "".join(f"crop {k},5 cm\n" for k in range(count))


@pytest.mark.whole_days
@pytest.mark.parametrize(
    ("content", "words"),
    [
        (track("<!--" + "</trkpt>" * 128_000 + "-->", 1, 300), ("inspect", "input")),
        (track("<!--" + "</gpx>" * 128_000, 1, 300), ("inspect", "input")),
        (track("", 1800, 4_000), ("inspect", "input")),
        (track("", 1800, 40_000), ("inspect", "input")),
        (crops(19_900), ("target", "--ground-per-turn", "60 cm", "--crops", "input")),
    ],
    ids=["closing tags in a comment", "a comment without end", "4,000 half hours",
         "40,000 half hours", "19,900 crops"],
)  # fmt: skip
def test_the_command_ends_within_plain_limits(tmp_path, content, words):
    (tmp_path / "input").write_text(content)
    ended = run_in(tmp_path, *words)
    assert ended.returncode in (0, 2), ended.stderr[-400:]
    assert "Traceback" not in ended.stderr
    if ended.returncode == 2:
        assert ended.stderr.count("\n") == 1, ended.stderr
