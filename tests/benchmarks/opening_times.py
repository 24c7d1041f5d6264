"""How long the page takes: from the command to the first page, to find the passes, to measure.

    python -m tests.benchmarks.opening_times --write docs/page.md

Beside each time on the page stands that of the command line for the same sample, each in a process
of its own as a person starts it, measured in the same run.
"""

from __future__ import annotations

import argparse
import shutil
import subprocess
import sys
import tempfile
import time
from collections import defaultdict
from pathlib import Path
from statistics import median

from playwright.sync_api import Page, sync_playwright

from .page import markdown_table, write_between

sys.path.insert(0, str(Path(__file__).parents[1]))
from opening import serving

SAMPLE = Path(__file__).parents[2] / "sample_tracks" / "dry-firm"
STEPS = ("start to first page", "find the passes", "measure")


def on_the_page(page: Page, folder: Path) -> list[float]:
    """Seconds of each step with the sample's track and sheet."""
    clock = [time.perf_counter()]
    with serving(folder) as server:
        page.goto(server.address)
        page.wait_for_selector("#drop")
        clock.append(time.perf_counter())
        page.set_input_files("#add-files", str(SAMPLE / "track.gpx"))
        page.wait_for_selector("#pass-8")
        clock.append(time.perf_counter())
        page.set_input_files("#add-files", str(SAMPLE / "turns.csv"))
        page.wait_for_selector("#counts td:text('–')")
        page.click("text=More about machine and run")
        page.fill("#machine-time_zone", "America/Chicago")
        begun = time.perf_counter()
        page.click("#measure")
        page.wait_for_selector("#answer")
        return [clock[1] - clock[0], clock[2] - clock[1], time.perf_counter() - begun]


def on_the_command_line(folder: Path) -> list[float]:
    """Seconds of the commands that answer the same."""
    spent = []
    run = ["measure", str(SAMPLE / "run.toml"), "--out", str(folder)]
    for command in (["--help"], ["inspect", str(SAMPLE / "track.gpx")], run):
        begun = time.perf_counter()
        subprocess.run(
            [sys.executable, "-m", "groundtruth", *command], check=True, capture_output=True
        )
        spent.append(time.perf_counter() - begun)
    return spent


def main() -> None:
    """Print the table."""
    parser = argparse.ArgumentParser(description=__doc__)
    parser.add_argument("--times", type=int, default=5)
    parser.add_argument("--write", type=Path, help="put the table between the markers of a page")
    args = parser.parse_args()
    seen = defaultdict(list)
    with sync_playwright() as playwright:
        chromium = playwright.chromium.launch(
            executable_path=shutil.which("chromium"), args=["--no-sandbox"]
        )
        for _ in range(args.times):
            with tempfile.TemporaryDirectory() as folder:
                context = chromium.new_context(locale="en-US")
                spent = on_the_page(context.new_page(), Path(folder))
                context.close()
                typed = on_the_command_line(Path(folder))
            for step, one, other in zip(STEPS, spent, typed, strict=True):
                seen[step].append((one, other))
        chromium.close()
    rows = [
        [step, *(f"{median(p[i] for p in pairs):.1f}" for i in (0, 1))]
        for step, pairs in seen.items()
    ]
    text = markdown_table(("median seconds", "page", "command"), rows)
    print(text)
    if args.write:
        write_between(args.write, text, "times")


if __name__ == "__main__":
    main()
