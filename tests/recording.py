"""Drive the recorder's page in real Chromium: a host, a clock, positions and hands."""

from __future__ import annotations

import threading
from collections.abc import Iterator, Sequence
from contextlib import contextmanager
from functools import partial
from http.server import SimpleHTTPRequestHandler, ThreadingHTTPServer
from math import isnan
from pathlib import Path
from typing import Any

from groundtruth.core.run import Run

FROM_2001_MS = 978_307_200_000
"""2001-01-01T00:00:00Z, the reference date of Apple's clocks [NSDate, Foundation, from memory]."""

MOCK = """
const ahead = %d;
const RealDate = Date;
let now = RealDate.now();
window.Date = class extends RealDate {
  constructor(...given) { given.length ? super(...given) : super(now); }
  static now() { return now; }
};
window.setNow = (ms) => { now = ms; };
const watching = new Map();
Object.defineProperty(navigator, "geolocation", { value: {
  watchPosition(heard, failed) { watching.set(watching.size + 1, { heard, failed });
    return watching.size; },
  clearWatch(id) { watching.delete(id); },
}});
const orNull = (value) => value === undefined ? null : value;
window.hear = ([time, latitude, longitude, height, speed, accuracy]) => {
  const coords = { latitude, longitude, accuracy: orNull(accuracy), altitude: orNull(height),
    speed: orNull(speed) };
  const timestamp = time - ahead;
  for (const { heard } of watching.values()) heard({ timestamp, coords });
};
window.refusePositions = () => {
  for (const { failed } of watching.values()) failed({ code: 1, PERMISSION_DENIED: 1, TIMEOUT: 3 });
};
window.ride = (fixes) => { for (const fix of fixes) { setNow(fix[0]); hear(fix); } };
window.shared = [];
"""
"""A clock that stands until it is set, and positions that come when a test says so."""


@contextmanager
def hosted(folder: Path) -> Iterator[tuple[str, ThreadingHTTPServer]]:
    """The folder on http://127.0.0.1, trusted like https [Secure Contexts, W3C, 3.1]."""

    class Quiet(SimpleHTTPRequestHandler):
        def log_message(self, *_: Any) -> None:
            pass

    server = ThreadingHTTPServer(("127.0.0.1", 0), partial(Quiet, directory=str(folder)))
    thread = threading.Thread(target=server.serve_forever, daemon=True)
    thread.start()
    try:
        yield f"http://127.0.0.1:{server.server_port}/", server
    finally:
        server.shutdown()
        server.server_close()


def fixes_of(run: Run) -> list[list[float | None]]:
    """The run's fixes as the mock takes them: ms, degrees, m, m/s, m; None where not recorded."""
    track = run.track
    columns = (
        track.time_s * 1000,
        track.latitude_deg,
        track.longitude_deg,
        track.height_m,
        track.speed_m_s,
        track.accuracy_m,
    )
    return [
        [None if isnan(value) else float(value) for value in row]
        for row in zip(*columns, strict=True)
    ]


class Hands:
    """Somebody who walks along and touches the page."""

    def __init__(self, page: Any, fixes: Sequence[Sequence[float | None]]) -> None:
        self.page, self.fixes, self.at = page, list(fixes), 0

    def ride_to(self, instant_s: float) -> None:
        """Let positions come until an instant, and stand there with the clock on it."""
        stop = self.at
        while stop < len(self.fixes) and (self.fixes[stop][0] or 0) <= instant_s * 1000:
            stop += 1
        self.page.evaluate("fixes => ride(fixes)", self.fixes[self.at : stop])
        self.at = stop
        self.page.evaluate("ms => setNow(ms)", instant_s * 1000)

    def press(self, words: str) -> None:
        """Touch a button by its words."""
        self.page.get_by_role("button", name=words, exact=True).click()

    def choose(self, what: str, value: str) -> None:
        """Tap a bed, setting or crop."""
        self.page.locator("summary", has_text=what).first.click()
        self.page.locator(".chip", has_text=value).first.click()
        self.page.locator("summary strong", has_text=value).wait_for()

    def count(self, unit: str, reading: str) -> None:
        """Type a counter's reading."""
        self.page.get_by_label(f"Counter of unit {unit}", exact=True).fill(reading)

    def saved(self, words: str, folder: Path) -> Path:
        """Touch a button that saves a file; where the file went."""
        with self.page.expect_download() as caught:
            self.press(words)
        place = folder / caught.value.suggested_filename
        caught.value.save_as(place)
        return place
