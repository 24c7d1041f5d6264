"""A strip of the track marked as a pass, in real Chromium: by taps, by keyboard, and taken back."""

from __future__ import annotations

import json
import re

import pytest
from opening import opened, serving, window
from test_page import MACHINE, SIZES, add, block, counts, kept, measured, paste, type_units
from test_page_parts import assert_fits, no_findings

from groundtruth.app.measure import MeasureRequest, measured_run_for


def tap_at_label(page, number):
    """Tap where a pass begins: there its label's corner stands."""
    label = page.locator(f".pass-number:has(span:text-is('{number}'))").bounding_box()
    page.mouse.click(label["x"] + 1, label["y"] + 1)


@pytest.mark.parametrize("size", [SIZES["laptop"], SIZES["phone"]], ids=["laptop", "phone"])
def test_two_taps_make_a_pass_that_is_measured_saved_and_restored(browser, tmp_path, size):
    server = opened(tmp_path)
    with window(browser, server, size) as page:
        add(page, "track.gpx")
        type_units(page)
        rows = counts()
        paste(page, "#turns-1-0", block(rows))
        for name, text in MACHINE.items():
            page.fill(f"#machine-{name}", text)
        whole = re.search(r"([\d.]+) in", measured(page))[1]
        page.click("#mark-strip")
        page.locator("#map").scroll_into_view_if_needed()
        tap_at_label(page, 5)
        page.wait_for_selector("#strip-said:text('other end')")
        tap_at_label(page, 6)
        page.wait_for_selector("#strip-said:text('ft')")
        said = page.inner_text("#strip-said")
        on = re.search(r"lies on pass (\d)", said)[1]
        assert on in "56"
        assert_fits(page)
        no_findings(page)
        page.click("#strip-take")
        page.wait_for_selector("#pass-9")
        assert page.is_checked(f"#strike-{on}")
        assert "marked by you" in page.inner_text("#pass-9")
        assert page.query_selector("#strike-9") is None
        for unit, turns in enumerate(rows[int(on)]):
            page.fill(f"#turns-9-{unit}", turns)
        assert_fits(page)
        again = re.search(r"([\d.]+) in", measured(page))[1]
        assert abs(float(again) - float(whole)) < 0.1
        page.click("#save-run")
        page.wait_for_selector(".saved")
        kept(page)
    server.kill()
    (folder,) = (p for p in tmp_path.iterdir() if p.is_dir() and p.name != ".page")
    lines = (folder / "turns.csv").read_text().splitlines()
    assert lines[0].startswith("track_pass,start,end,unit,turns")
    strip = [line for line in lines if line.startswith("strip 1,2027-04-27T13:")]
    assert len(strip) == 4
    result = measured_run_for(MeasureRequest(run=folder / "run.toml")).result
    shown = json.loads((folder / "result.json").read_text())
    assert result.ground_per_turn.value == shown["ground_per_turn_m"]
    assert {p.number for p in result.passes} == {*range(1, 10)} - {int(on)}
    with serving(tmp_path) as server, window(browser, server, size) as page:
        page.wait_for_selector("#pass-9")
        assert page.input_value("#turns-9-3") == rows[int(on)][3]
        page.click("#back-9")
        page.wait_for_selector("#pass-9", state="detached")
        kept(page)
        page.reload()
        page.wait_for_selector("#pass-8")
        assert page.query_selector("#pass-9") is None


def test_a_strip_is_marked_and_taken_back_by_keyboard(browser, tmp_path):
    with serving(tmp_path) as server, window(browser, server, SIZES["laptop"]) as page:
        add(page, "track.gpx")
        page.click("text=More about machine and run")
        page.fill("#machine-time_zone", "America/Chicago")
        page.focus("#mark-strip")
        page.keyboard.press("Enter")
        assert page.evaluate("document.activeElement.id") == "strip-from"
        page.keyboard.type("08:08:46")
        page.keyboard.press("Tab")
        page.keyboard.type("08:12:55")
        page.keyboard.press("Enter")
        page.wait_for_selector("#strip-panel .trouble:text('not straight')")
        page.fill("#strip-to", "08:09:55")
        page.keyboard.press("Enter")
        page.wait_for_selector("#pass-9")
        assert page.is_checked("#strike-1")
        assert page.evaluate("document.activeElement.id") == "turns-9-0"
        numbers = [row.inner_text() for row in page.locator(".passes tbody th").all()]
        assert sorted(numbers[:2]) == ["1", "9"]  # in order of time
        page.focus("#back-9")
        page.keyboard.press("Enter")
        page.wait_for_selector("#pass-9", state="detached")
        assert page.evaluate("document.activeElement.id") == "mark-strip"
        page.troubles[:] = [t for t in page.troubles if "status of 422" not in t]


def test_a_strip_of_another_track_says_that_it_is_none(browser, tmp_path):
    with serving(tmp_path) as server, window(browser, server, SIZES["phone"]) as page:
        add(page, "track.gpx")
        page.click("#mark-strip")
        page.fill("#strip-from", "2027-04-27T13:08:46Z")
        page.fill("#strip-to", "2027-04-27T13:09:55Z")
        page.click("#strip-take")
        page.wait_for_selector("#pass-9")
        page.click(".files button")
        other = "old-tyres"
        page.set_input_files("#add-files", [f"sample_tracks/{other}/track.gpx"])
        page.wait_for_selector(".strips .trouble:text('no longer a pass')")
        assert "outside the recording" in page.inner_text(".strips .trouble")
        assert_fits(page)
        page.click(".strips .trouble button")
        page.wait_for_selector(".strips .trouble", state="detached")
