"""Open pages in headless Chromium without a network and record whatever they try.

Tests that use the fixture `browser` are skipped where no Chromium is found, but fail when CI is
set, so that a missing browser cannot make the checks vanish unnoticed.
"""

from __future__ import annotations

import os
import re
import shutil
import signal
from collections.abc import Iterator
from contextlib import contextmanager, suppress
from dataclasses import dataclass, field
from pathlib import Path
from typing import Any

import pytest

NAMES = ("chromium", "chromium-browser", "google-chrome", "chrome")
FLAGS = [
    "--disable-gpu",
    "--disable-quic",
    "--no-first-run",
    "--disable-background-networking",
    "--disable-component-update",
    "--disable-sync",
]
LAPTOP = (1366, 768)
PHONE = (390, 844)


@dataclass
class Opened:
    """A page and what it did: requests beyond its own file, console lines, errors, dialogs."""

    page: Any
    requests: list[str] = field(default_factory=list)
    console: list[str] = field(default_factory=list)
    errors: list[str] = field(default_factory=list)
    dialogs: list[str] = field(default_factory=list)

    def hear(self, line: str) -> None:
        """Keep a console line, unless the tests' own reading of the canvas caused it."""
        if "willReadFrequently" not in line:
            self.console.append(line)

    def assert_quiet(self) -> None:
        """Nothing was asked of a network, no script complained, nobody was asked anything."""
        assert self.requests == []
        assert self.console == []
        assert self.errors == []
        assert self.dialogs == []


class Browser:
    """A running Chromium."""

    def __init__(self, chromium: Any, path: str) -> None:
        self._chromium, self.path = chromium, path

    @contextmanager
    def opened(
        self, html: str, folder: Path, size: tuple[int, int] = LAPTOP, *, touch: bool = False
    ) -> Iterator[Opened]:
        """The page from a file, as a person opens it by a double click, with the network off."""
        file = folder / "page.html"
        file.write_text(html, encoding="utf-8")
        context = self._chromium.new_context(
            viewport={"width": size[0], "height": size[1]}, offline=True, has_touch=touch
        )
        try:
            page = context.new_page()
            opened = Opened(page)

            def requested(request: Any) -> None:
                if request.url != file.as_uri():
                    opened.requests.append(request.url)

            def asked(dialog: Any) -> None:
                opened.dialogs.append(dialog.message)
                dialog.dismiss()

            page.on("request", requested)
            page.on("console", lambda line: opened.hear(line.text))
            page.on("pageerror", lambda error: opened.errors.append(str(error)))
            page.on("dialog", asked)
            page.goto(file.as_uri())
            yield opened
        finally:
            context.close()


@pytest.fixture(scope="module")
def browser() -> Iterator[Browser]:
    """A Chromium for the tests of a module; its event loop ends with the module."""
    path = next(filter(None, map(shutil.which, NAMES)), None)
    if path is None:
        if os.environ.get("CI"):
            pytest.fail("no Chromium found; CI must have one")
        pytest.skip("no Chromium found")
    from playwright.sync_api import sync_playwright

    as_root = hasattr(os, "geteuid") and os.geteuid() == 0
    with sync_playwright() as playwright:
        chromium = playwright.chromium.launch(
            executable_path=path, args=[*FLAGS, *(["--no-sandbox"] if as_root else [])]
        )
        yield Browser(chromium, path)
        chromium.close()


@contextmanager
def lasting(browser: Browser, profile: Path, **how: Any) -> Iterator[Any]:
    """A Chromium of its own that keeps its profile, so that it can be killed and started again."""
    as_root = hasattr(os, "geteuid") and os.geteuid() == 0
    context = browser._chromium.browser_type.launch_persistent_context(
        profile,
        executable_path=browser.path,
        args=[*FLAGS, *(["--no-sandbox"] if as_root else [])],
        **how,
    )
    yield context
    with suppress(Exception):  # it was killed
        context.close()


def kill_browser(page: Any, profile: Path) -> None:
    """End the Chromium that keeps this profile without warning, and wait until it is gone."""
    for entry in Path("/proc").iterdir():
        if entry.name.isdigit():
            try:
                words = (entry / "cmdline").read_bytes().split(b"\0")
            except OSError:
                continue
            mine = f"--user-data-dir={profile}".encode() in words
            if mine and not any(word.startswith(b"--type=") for word in words):
                os.kill(int(entry.name), signal.SIGKILL)
                page.wait_for_event("close")
                return
    raise AssertionError("the browser is not among the processes")


def no_findings(page: Any) -> None:
    """Nothing that axe-core finds against the rules of WCAG 2, with all that folds unfolded."""
    axe = pytest.importorskip("axe_playwright_python.sync_playwright").Axe()
    page.evaluate("document.querySelectorAll('details').forEach((one) => one.open = true)")
    found = axe.run(page)
    assert found.violations_count == 0, found.generate_report()


def keyed_to(page: Any, element: str, most: int = 150) -> None:
    """Go to what a selector names with the Tab key alone."""
    for _ in range(most):
        if page.evaluate("one => document.activeElement?.matches(one)", element):
            return
        page.keyboard.press("Tab")
    raise AssertionError(f"{element} is not reached by keyboard")


def sheets(pdf: bytes) -> int:
    """Number of pages of a PDF (ISO 32000-1, 7.7.3.3: each has a dictionary of type Page)."""
    return len(re.findall(rb"/Type\s*/Page\b", pdf))


PAYLOADS = {
    "template": "{{7*7}}{% raw %}{{ ''.__class__ }}",
    "script": "<script>alert(1)</script>",
    "end of script": "</script><script>alert(1)</script>",
    "end of style": "</style></title><svg onload=alert(1)>",
    "image": "<img src=x onerror=alert(1)>",
    "attribute": "\" autofocus onfocus=alert(1) x='",
    "backtick": "`${alert(1)}`",
    "comment": "<!--<script>",
    "entity": "&lt;b&gt;&#60;&amp;",
    "markup": "[bold red]x[/bold red][link=y]",
    "bidi": "a\u202eb\u2066c\u200f",
    "control": "\x1b[31mred\x07\x00\x7f\x9b2J",
    "lines": "a\nb\r\u2028c",
    "surrogate": "\ud800x",
}
"""Texts that a file may hold and that must only ever be shown, by what they try."""
