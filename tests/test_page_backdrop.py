"""The grower's own fields behind the page's map and the maps that it makes, in real Chromium."""

from __future__ import annotations

import pytest
from opening import serving, window
from test_backdrop import FIELD, LOOK, PATH, feature, geojson
from test_page import SAMPLE, SIZES, add, block, counts, measured, paste, type_units
from test_page_parts import assert_fits, go_to, no_findings


@pytest.mark.parametrize("size", [SIZES["laptop"], SIZES["phone"]], ids=["laptop", "phone"])
def test_it_stands_behind_every_map_until_it_is_taken_away(browser, tmp_path, size):
    farm = geojson(
        feature("Polygon", [FIELD], name="Long <b>Piece</b>"), feature("LineString", PATH)
    )
    file = {"name": "farm.geojson", "mimeType": "application/geo+json", "buffer": farm.data}
    with serving(tmp_path) as server, window(browser, server, size) as page:
        add(page, "track.gpx")
        page.click("#backdrop summary")
        page.set_input_files("#add-backdrop", [{**file, "buffer": b"{}"}])
        page.wait_for_selector("#backdrop .trouble")
        page.troubles.clear()
        page.set_input_files("#add-backdrop", [file])
        page.wait_for_selector("#remove-backdrop")
        assert page.evaluate(LOOK)["drawn"]
        assert_fits(page)
        no_findings(page)
        type_units(page)
        paste(page, "#turns-1-0", block(counts()))
        measured(page)
        page.click("#save-run")
        page.wait_for_selector(".saved")
        for button, link in (("", ".saved a[href$='map.html']"), ("Season", "#season-map a")):
            if button:
                go_to(page, button)
                page.click("#make-map")
                page.wait_for_selector(link)
            with page.context.expect_page() as other:
                page.click(link)
            other.value.wait_for_selector(".backdrop-name", state="attached")
            seen = other.value.evaluate(LOOK)
            assert seen == {"drawn": True, "names": ["Long <b>Piece</b>"]}
            other.value.close()
        go_to(page, "Measure")
        page.reload()
        page.wait_for_selector("#map .leaflet-control-scale")
        assert page.evaluate(LOOK)["drawn"]
        page.click("#backdrop summary")
        page.click("#remove-backdrop")
        page.wait_for_selector("#remove-backdrop", state="detached")
        assert not page.evaluate(LOOK)["drawn"]
        assert not (tmp_path / ".page" / "backdrop.json").exists()


def test_a_track_is_no_backdrop(browser, tmp_path):
    with serving(tmp_path) as server, window(browser, server, SIZES["laptop"]) as page:
        add(page, "track.gpx")
        page.click("#backdrop summary")
        page.set_input_files("#add-backdrop", [str(SAMPLE / "track.gpx")])
        page.wait_for_selector("#backdrop .trouble:text('.geojson or .kml')")
        page.troubles.clear()
