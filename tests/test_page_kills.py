"""Server and browser are killed in the midst of each part of the page, and nothing typed is lost.

The server first, while more is typed to nobody; then, with another server, the browser. Each time
with SIGKILL, which leaves nobody time to put anything away.
"""

from __future__ import annotations

from contextlib import contextmanager
from pathlib import Path

import pytest
from browser import kill_browser, lasting
from opening import opened
from test_page import MACHINE, SIZES, add, kept, type_units
from test_page_parts import BENCH, record

__all__ = ["record"]
pytestmark = pytest.mark.skipif(not Path("/proc").is_dir(), reason="processes are found in /proc")

MEASURE = {f"#turns-{number}-{unit}": "93" for number in range(1, 9) for unit in (0, 1)}
SETTING = {
    "#set-crop": "beet",
    "#set-spacing": "1.75 in",
    "#bench-ground": "30.7 in",
    **{
        f"#bench-{what}-{row}": text
        for row, texts in enumerate(BENCH)
        for what, text in zip(("setting", "turns", "seeds"), texts, strict=True)
    },
    "#seed-lengths": "150, 150",
    "#stand-dropped": "20",
    "#stands-length-0": "10",
    "#stands-plants-0": "98",
}
PLAN = {
    "#plan-bed": "300 ft",
    "#plan-speed": "2 mph",
    "#plan-ground": "31 in",
    "#plan-count": "tenth",
    "#plan-within": "1.2",
}
SEASON = {
    "#run-1-note": "east end",
    "#run-2-soil": "wet, in the low corner",
    "#compare-way": "soil",
    "#compare-first": "dry",
    "#compare-second": "wet",
    "#change-day": "2027-05-01",
    "#change-kind": "wheel",
    "#change-note": "new rim",
}
PARTS = {
    "Measure": ({**MEASURE, **{f"#machine-{k}": v for k, v in MACHINE.items()}}, "#measure"),
    "Setting": (SETTING, "#choose"),
    "Plan": (PLAN, "#make-plan"),
    "Season": (SEASON, "#compare"),
}
ANSWERED = {
    "#measure": "#answer",
    "#choose": "#choose-out .blocks",
    "#make-plan": "#plan-out .blocks",
    "#compare": "#compare-out .blocks",
}


def shown(page, part):
    page.click(f"header nav button:text-is('{part}')")
    page.wait_for_selector({"Measure": "#turns-1-0", "Season": "#compare"}.get(part, "#part h1"))
    page.evaluate("document.querySelectorAll('details').forEach((one) => one.open = true)")


def typed(page, fields):
    for element, text in fields.items():
        if page.evaluate("(one) => document.querySelector(one).tagName", element) == "SELECT":
            page.select_option(element, text)
        else:
            page.fill(element, text)


def assert_shown(page, fields):
    assert {one: page.input_value(one) for one in fields} == fields


@pytest.mark.parametrize("part", PARTS)
def test_nothing_typed_is_lost(browser, tmp_path, record, part):
    fields, button = PARTS[part]
    third = -(-len(fields) // 3)
    first, second, last = (
        dict(list(fields.items())[at : at + third]) for at in range(0, 3 * third, third)
    )
    (tmp_path / "season.gpkg").write_bytes(record)
    width, height = SIZES["phone"]
    profile, how = tmp_path / "profile", {"viewport": {"width": width, "height": height}}

    @contextmanager
    def started():
        with lasting(browser, profile, locale="en-US", **how) as context:
            page = context.pages[0]
            page.goto(server.address)
            page.wait_for_selector("#drop")
            yield page

    server = opened(tmp_path)
    try:
        with started() as page:
            if part == "Measure":
                add(page, "track.gpx")
                type_units(page, 2)
            shown(page, part)
            typed(page, first)
            kept(page)
            server.kill()
            typed(page, second)
            page.wait_for_selector("#kept.away")
            server = opened(tmp_path, server.port)
            page = page.context.new_page()  # the window that a new start opens
            page.goto(server.address)
            page.wait_for_selector("#drop")
            shown(page, part)
            assert_shown(page, first | second)
            typed(page, last)
            kept(page)
            kill_browser(page, profile)
        with started() as page:
            shown(page, part)
            assert_shown(page, fields)
            page.click(button)
            page.wait_for_selector(ANSWERED[button], timeout=120_000)
    finally:
        server.kill()
