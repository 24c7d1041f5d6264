"""`groundtruth open` in a process of its own, and a window of real Chromium on it."""

from __future__ import annotations

import os
import re
import subprocess
import sys
from collections.abc import Iterator
from contextlib import contextmanager
from dataclasses import dataclass
from pathlib import Path
from typing import Any


@dataclass
class Opened:
    """A running server: its process, address and secret."""

    process: subprocess.Popen[str]
    port: int
    secret: str

    @property
    def address(self) -> str:
        return f"http://127.0.0.1:{self.port}/#{self.secret}"

    def kill(self) -> None:
        """End it without warning, as a power cut does."""
        self.process.kill()
        self.process.wait()
        if self.process.stdout is not None:
            self.process.stdout.close()


def opened(folder: Path, port: int = 0) -> Opened:
    """A server that keeps everything below a folder."""
    process = subprocess.Popen(
        [
            *(sys.executable, "-m", "groundtruth", "open", "--no-browser", "--port", str(port)),
            *("--folder", str(folder), "--season", str(folder / "season.gpkg")),
        ],
        stdout=subprocess.PIPE,
        stderr=subprocess.STDOUT,
        text=True,
        env={**os.environ, "PYTHONPATH": str(Path(__file__).parents[1])},
    )
    assert process.stdout is not None
    said = process.stdout.readline()
    found = re.search(r"http://127\.0\.0\.1:(\d+)/#(\S+)", said)
    if not found:
        process.kill()
        raise AssertionError(said + process.stdout.read())
    return Opened(process, int(found[1]), found[2])


@contextmanager
def serving(folder: Path) -> Iterator[Opened]:
    """A server that is ended after the block."""
    server = opened(folder)
    try:
        yield server
    finally:
        server.kill()


@contextmanager
def window(browser: Any, server: Opened, size: tuple[int, int], **how: Any) -> Iterator[Any]:
    """A window on the page. It may ask no other host, and no script may complain."""
    context = browser._chromium.new_context(
        viewport={"width": size[0], "height": size[1]}, locale=how.pop("locale", "en-US"), **how
    )
    troubles: list[str] = []
    own = (f"http://127.0.0.1:{server.port}/", "data:")
    page = context.new_page()
    page.on("pageerror", lambda error: troubles.append(str(error)))
    page.on("dialog", lambda dialog: (troubles.append(dialog.message), dialog.dismiss()))
    page.on("request", lambda r: None if r.url.startswith(own) else troubles.append(r.url))
    page.troubles = troubles
    try:
        page.goto(server.address)
        page.wait_for_selector("#drop")
        yield page
        assert troubles == []
    finally:
        context.close()
