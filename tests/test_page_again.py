"""A run that was kept, dropped back onto the page in real Chromium, gives its figure again."""

from __future__ import annotations

import json

import pytest
from opening import serving, window
from test_page import MACHINE, SAMPLE, SIZES, add, block, counts, kept, measured, paste, type_units
from test_page_parts import assert_fits, no_findings


@pytest.mark.parametrize("size", [SIZES["laptop"], SIZES["phone"]], ids=["laptop", "phone"])
def test_a_saved_run_dropped_back_in_has_machine_crops_counts_and_figure(browser, tmp_path, size):
    with serving(tmp_path) as server, window(browser, server, size) as page:
        add(page, "track.gpx")
        type_units(page)
        rows = counts()
        paste(page, "#turns-1-0", block(rows))
        page.check("#strike-8")
        for name, text in MACHINE.items():
            page.fill(f"#machine-{name}", text)
        page.fill("#machine-name", "the blue one")
        page.fill("#machine-farm", "Tindlewick")
        page.fill("#machine-field", "Long Piece")
        page.click("text=More about machine and run")
        page.fill("#machine-tyre_pressure", "18")
        page.press("#machine-tyre_pressure", "Tab")
        assert page.input_value("#machine-tyre_pressure") == "18 psi"
        page.select_option("#machine-moisture", "moist")
        page.select_option("#machine-texture", "sandy loam")
        page.fill("#crop-crop-0", "beet")
        page.fill("#crop-spacing-0", "1.75 in")
        page.click("#mark-strip")
        page.fill("#strip-from", "2027-04-27T13:13:27Z")
        page.fill("#strip-to", "2027-04-27T13:14:35Z")
        page.click("#strip-take")
        page.wait_for_selector("#pass-9")
        for unit, turns in enumerate(rows[3]):
            page.fill(f"#turns-9-{unit}", turns)
        said = measured(page)
        page.click("#save-run")
        page.wait_for_selector(".saved")
        (folder,) = (p for p in tmp_path.iterdir() if p.is_dir() and p.name != ".page")
        before = {p.name: p.read_bytes() for p in folder.iterdir()}
        result = json.loads(before["result.json"])
        assert (result["farm"], result["field"]) == ("Tindlewick", "Long Piece")
        assert result["seeder"]["name"] == "the blue one"
        assert result["soil"] == {"moisture": "moist", "texture": "sandy loam"}
        page.click("#new-run")
        page.wait_for_selector("#counts .empty")
        for name in (*MACHINE, "name", "farm"):
            page.fill(f"#machine-{name}", "")
        page.fill("#crop-crop-0", "")
        type_other = "#machine-tyre_pressure"
        if not page.is_visible(type_other):
            page.click("text=More about machine and run")
        page.fill(type_other, "")
        # the description alone says what else it needs
        page.set_input_files("#add-files", [str(folder / "run.toml")])
        page.wait_for_selector("#files-wanted:text('track.gpx, turns.csv')")
        assert page.input_value("#machine-name") == "the blue one"
        assert_fits(page)
        others = [str(folder / name) for name in before if name != "run.toml"]
        page.set_input_files("#add-files", others)
        page.wait_for_selector("#pass-9")
        page.wait_for_selector("#files-wanted", state="detached")
        assert page.is_checked("#strike-3")
        assert page.is_checked("#strike-8")
        assert page.input_value("#turns-9-2") == rows[3][2]
        assert page.input_value("#machine-moisture") == "moist"
        assert page.input_value("#crop-crop-0") == "beet"
        assert measured(page).split("\n")[0] == said.split("\n")[0]
        assert_fits(page)
        no_findings(page)
        page.click("#save-run")
        page.wait_for_selector(".saved")
        kept(page)
        page.reload()
        page.wait_for_selector("#pass-9")
        assert page.input_value("#machine-field") == "Long Piece"
    folders = sorted(tmp_path.glob("2*"))
    assert len(folders) == 2
    for name in ("run.toml", "turns.csv", "track.gpx"):
        assert (folders[1] / name).read_bytes() == before[name]


def test_a_run_by_hand_keeps_its_sheet_and_what_is_wrong_is_said(browser, tmp_path):
    with serving(tmp_path) as server, window(browser, server, SIZES["laptop"]) as page:
        names = [str(SAMPLE / name) for name in ("turns.csv", "track.gpx", "run.toml")]
        page.set_input_files("#add-files", names)
        page.wait_for_selector("#map .leaflet-control-scale")
        page.wait_for_selector(".files li:nth-child(2)")
        assert page.input_value("#machine-wheel_circumference") == "71.5 in ± 0.08 in"
        assert page.input_value("#crop-crop-1") == "spinach"
        assert "sheet of turns" in page.inner_text(".files")
        shown = measured(page)
        assert "Slip" in shown
        page.set_input_files(
            "#add-files", [{"name": "run.toml", "mimeType": "", "buffer": b"[seeder]\nwheel = 3\n"}]
        )
        page.wait_for_selector("#drop .trouble:text('turns is missing'), #drop .trouble")
        assert "run.toml" in page.inner_text("#drop .trouble")
        page.troubles[:] = [t for t in page.troubles if "status of 422" not in t]
