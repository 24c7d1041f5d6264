"""The reader's own position on the maps, and what is said where the browser gives none."""

from __future__ import annotations

import re
from pathlib import Path

import pytest
from browser import PHONE
from opening import serving, window
from test_backdrop import LAT, LON, RESULT
from test_page import SIZES, add
from test_page_parts import assert_fits, no_findings

from groundtruth.views import field_map_html

BUTTON = ".own-position button"


def says(page, text):
    page.wait_for_selector(f".own-position p:text('{text}')")


@pytest.mark.parametrize("size", [SIZES["laptop"], SIZES["phone"]], ids=["laptop", "phone"])
def test_the_page_shows_it_follows_it_and_stops(browser, tmp_path, size):
    at = {"latitude": LAT, "longitude": LON, "accuracy": 4}
    how = {"permissions": ["geolocation"], "geolocation": at}
    with serving(tmp_path) as server, window(browser, server, size, **how) as page:
        add(page, "track.gpx")
        page.click(BUTTON)
        says(page, "You are here, to within 13 ft.")
        marks = ".leaflet-own-position-pane path"
        assert page.locator(marks).count() == 2
        before = page.locator(marks).last.bounding_box()
        page.context.set_geolocation({**at, "longitude": LON + 1e-4})
        page.wait_for_function(
            "x => document.querySelectorAll('.leaflet-own-position-pane path')[1]"
            ".getBoundingClientRect().x > x + 3",
            arg=before["x"],
        )
        page.context.set_geolocation({**at, "latitude": LAT + 1})
        says(page, "mi from here.")
        # a degree of latitude, 111.1 km here (WGS 84)
        away = re.search(r"([\d.]+) mi", page.inner_text(".own-position p"))[1]
        assert float(away) == pytest.approx(69.0, abs=0.3)
        assert_fits(page)
        no_findings(page)
        page.click(BUTTON)
        assert page.locator(marks).count() == 0
        assert page.get_attribute(BUTTON, "aria-pressed") == "false"
        assert page.inner_text(".own-position p") == ""
        page.context.clear_permissions()
        page.context.grant_permissions([])
        page.focus(BUTTON)
        page.keyboard.press("Enter")
        says(page, "Your browser refuses the position")
        assert page.get_attribute(BUTTON, "aria-pressed") == "false"


@pytest.mark.parametrize("size", [(1280, 900), PHONE], ids=["laptop", "phone"])
def test_a_map_from_a_file_says_that_it_gets_none(browser, tmp_path, size):
    with browser.opened(field_map_html(RESULT), tmp_path, size) as opened:
        page = opened.page
        page.wait_for_selector("body.ready")
        page.click(BUTTON)
        says(page, "opened as a file gets no position")
        wide = page.evaluate("document.documentElement.scrollWidth - innerWidth")
        assert wide <= 0
        box = page.locator(".own-position p").bounding_box()
        assert box["x"] + box["width"] <= size[0]
        middle = [box["x"] + box["width"] / 2, box["y"] + box["height"] / 2]
        on_top = page.evaluate("([x, y]) => document.elementFromPoint(x, y).tagName", middle)
        assert on_top == "P"
        opened.assert_quiet()


def test_a_map_shows_it_where_the_browser_gives_it(browser, tmp_path):
    """As a browser does that asks for files too: the answer is played, in metres here."""
    from dataclasses import replace

    html = field_map_html(replace(RESULT, units="metric"))
    with browser.opened(html, tmp_path) as opened:
        page = opened.page
        page.wait_for_selector("body.ready")
        page.evaluate(
            """([latitude, longitude]) => Object.defineProperty(navigator, "geolocation", { value: {
              watchPosition(ok) {
                ok({ coords: { latitude, longitude, accuracy: 4.2 } });
                return 1; },
              clearWatch() { document.title = "cleared"; } } })""",
            [LAT, LON],
        )
        page.click(BUTTON)
        page.click(BUTTON)
        page.click(BUTTON)
        says(page, "You are here, to within 4 m.")
        assert page.title() == "cleared"
        page.screenshot(path=str(Path(tmp_path) / "map.png"))
        opened.assert_quiet()
