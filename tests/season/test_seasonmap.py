"""The season's map in headless Chromium without a network."""

import json
import re
from dataclasses import replace

import pytest
from browser import LAPTOP, PAYLOADS, PHONE, browser, sheets  # noqa: F401
from shapely import Polygon
from test_record import run_of

from groundtruth.beds import Anomaly, AnomalyKind, BlockBed
from groundtruth.core.measured import Measured
from groundtruth.season import add_run
from groundtruth.season.query import BedSowing, Season, read_season
from groundtruth.season.slip_along import StripPart
from groundtruth.views.map.season_page import season_map_html, season_map_of


def made_season(passes, *, beds=20, text=lambda t: t, days=12):
    """A season to draw: beds side by side, each sown again and again. Invented figures."""
    sowings = []
    crops = ("beet", "leek", "dill", "chard")

    def ring(bed):
        block, place = divmod(bed, beds)
        lon, lat = -41.3 + place * 2e-5, 43.5 + block * 1.4e-3
        east, north = lon + 1.6e-5, lat + 1e-3
        return Polygon([(lon, lat), (east, lat), (east, north), (lon, north)])

    many = max(1, -(-passes // days))
    for i in range(passes):
        day, bed = divmod(i, many)
        ground = Measured(0.64 + 0.003 * (i % 17), 0.008)
        sowings.append(
            BedSowing(
                bed=text(f"N{bed + 1}"),
                block=text("A"),
                day=f"2027-{4 + day // 28:02d}-{day % 28 + 1:02d}",
                crop=text(crops[(day + bed) % 4]),
                setting=text(f"hole {3 + day % 5}"),
                length_m=88.0 + i % 7,
                area_m2=114.0,
                row_length_m=352.0,
                ground_per_turn=None if i % 31 == 3 else ground,
                slip=None if i % 31 == 3 else Measured(0.01 + 0.005 * (i % 23), 0.02),
                sure=0.9,
                run="run",
                number=i,
                outline=ring(bed),
            )
        )
    laid_out = [
        BlockBed(
            name=text(f"N{bed + 1}"), block=text("A"), place=bed + 1, outline=ring(bed),
            mapped=False, sowings=0,
        )
        for bed in range(many + 1)
    ]  # fmt: skip
    return Season(
        runs=(),
        row_units=(),
        changes=(),
        sowings=tuple(sowings),
        sown=(),
        anomalies=(
            Anomaly(
                kind=AnomalyKind.SOWN_TWICE, day="2027-04-02", block=text("A"), bed=text("N2"),
                run="key", passes=(2,), sure=0.9,
            ),
        ),
        beds=tuple(laid_out),
        units="metric",
    )  # fmt: skip


@pytest.mark.parametrize("size", [LAPTOP, PHONE], ids=["laptop", "phone"])
def test_it_opens_quietly_and_answers(browser, season, tmp_path, size):  # noqa: F811
    add_run(season, run_of(1, passes=6))
    add_run(season, run_of(40, passes=6))
    with browser.opened(season_map_html(season), tmp_path, size) as opened:
        page = opened.page
        page.wait_for_selector("body.ready")
        assert page.text_content("h1") == "The season"
        assert "12 passes on 6 beds, 2 days" in page.text_content("header")
        modes = page.eval_on_selector_all("#mode option", "all => all.map(o => o.textContent)")
        assert modes == ["Crop", "Setting", "Date", "Slip", "Ground per turn"]
        names = [b.name for b in read_season(season).beds]
        if size == PHONE:
            page.click("#panel-button")
        page.fill("#find", names[2].lower())
        page.press("#find", "Enter")
        popup = page.wait_for_selector(".leaflet-popup .details")
        says = popup.text_content()
        assert f"Bed {names[2]}" in says
        assert says.count("Sown") == 2
        assert page.evaluate("document.documentElement.scrollWidth") <= size[0]
        opened.assert_quiet()


def test_slip_along_the_passes_is_drawn_and_told(browser, tmp_path):  # noqa: F811
    whole = made_season(12, days=1)
    parts = tuple(
        StripPart(sowing=i, outline=s.outline, slip=Measured(slip, 0.01))
        for i, s in enumerate(whole.sowings)
        for slip in (0.03, 0.13)
    )
    with browser.opened(
        season_map_of(replace(whole, strip_parts=parts), "metric"), tmp_path
    ) as opened:
        page = opened.page
        page.wait_for_selector("body.ready")
        page.select_option("#mode", label="Slip along the pass")
        assert page.text_content("#legend-title") == "Slip on parts of a pass, %"
        page.fill("#find", "N3")
        page.press("#find", "Enter")
        assert "Slip along, from its start3.0, 13.0 %" in page.text_content(".details")
        opened.assert_quiet()


def test_every_way_to_colour_has_its_legend_and_days_can_be_hidden(browser, tmp_path):  # noqa: F811
    page_text = season_map_of(made_season(60), "us")
    with browser.opened(page_text, tmp_path) as opened:
        page = opened.page
        page.wait_for_selector("body.ready")

        def labels():
            return page.eval_on_selector_all(
                "#legend-classes li", "all => all.map(o => o.textContent)"
            )

        assert labels() == ["beet", "chard", "dill", "leek", "not sown"]
        page.select_option("#mode", label="Slip")
        assert page.text_content("#legend-title") == "Slip, % of the ground covered"
        assert labels()[0].startswith("under ")
        assert "not known" in labels()
        page.select_option("#mode", label="Ground per turn")
        assert page.text_content("#legend-title") == "Ground per gear turn, in"
        page.select_option("#mode", label="Date")
        assert labels()[0].startswith("1 April 2027")

        def painted():
            page.wait_for_timeout(100)  # the canvas is painted in the next frame
            return page.evaluate(
                """() => {
                  const canvas = document.querySelector('#map canvas');
                  const all = canvas.getContext('2d').getImageData(
                    0, 0, canvas.width, canvas.height).data;
                  const colours = new Set();
                  for (let i = 0; i < all.length; i += 4) {
                    if (all[i + 3] === 255) {
                      colours.add([all[i], all[i + 1], all[i + 2]].join());
                    }
                  }
                  return [...colours];
                }"""
            )

        viridis = "68,1,84"  # the last days lie on top
        assert viridis in painted()
        page.click("#none")
        assert viridis not in painted()
        page.click("#all")
        assert viridis in painted()
        page.click("#anomalies button")
        page.wait_for_selector(".leaflet-popup .details")
        assert "Bed N2" in page.text_content(".details")
        opened.assert_quiet()


def test_a_name_that_fits_several_beds_lists_them_and_an_unknown_one_says_so(browser, tmp_path):  # noqa: F811
    with browser.opened(season_map_of(made_season(240), "metric"), tmp_path) as opened:
        page = opened.page
        page.wait_for_selector("body.ready")
        page.fill("#find", "n1")
        page.press("#find", "Enter")
        assert page.text_content("#found") == "Bed N1"  # whole name first
        page.fill("#find", "n")
        page.press("#find", "Enter")
        assert page.text_content("#found p") == "21 beds:"
        page.click("#found button >> nth=2")
        box = page.locator(".details").last  # the one before fades
        assert "Bed N3" in box.text_content()
        box.locator(".beside button").last.click()
        assert "Bed N4" in box.text_content()
        page.keyboard.press("Escape")
        page.fill("#find", "zz")
        page.press("#find", "Enter")
        assert page.text_content("#found") == "No bed of that name."


@pytest.mark.parametrize("payload", PAYLOADS.values(), ids=PAYLOADS)
def test_text_of_files_is_only_ever_shown(browser, tmp_path, payload):  # noqa: F811
    page_text = season_map_of(made_season(12, text=lambda t: payload + t), "metric")
    with browser.opened(page_text, tmp_path) as opened:
        opened.page.wait_for_selector("body.ready")
        opened.page.click("#anomalies button")
        opened.page.wait_for_timeout(50)
        opened.assert_quiet()


def test_two_thousand_passes_stay_small_and_all_are_drawn(browser, tmp_path):  # noqa: F811
    """Size here; how long it takes to open is in docs/season.md, from the benchmark."""
    page_text = season_map_of(made_season(2000), "metric")
    assert len(page_text.encode()) < 5_000_000
    with browser.opened(page_text, tmp_path) as opened:
        opened.page.wait_for_selector("body.ready")
        assert "2000 passes" in opened.page.text_content("header")
        opened.assert_quiet()


def test_it_prints_on_one_sheet(browser, tmp_path):  # noqa: F811
    with browser.opened(season_map_of(made_season(60), "metric"), tmp_path) as opened:
        opened.page.wait_for_selector("body.ready")
        assert sheets(opened.page.pdf(format="A4")) == 1


def test_on_paper_every_bed_has_its_name_and_what_was_sown_last(browser, tmp_path):  # noqa: F811
    with browser.opened(season_map_of(made_season(60), "metric"), tmp_path) as opened:
        page = opened.page
        page.wait_for_selector("body.ready")
        page.evaluate("dispatchEvent(new Event('beforeprint'))")
        says = page.locator("#sheets text").all_text_contents()
        named = sorted(int(line.split()[0][1:]) for line in says if line != "N")
        assert named == [1, 2, 3, 4, 5, 6]
        assert any(line.startswith("N2 ! ") for line in says)
        assert any(line == "N6 not sown" for line in says)
        assert any(line.startswith("N1 ") and line.endswith("12 April 2027") for line in says)
        assert "sown twice" in page.text_content("#sheets .odd-list")
        shapes = page.locator("#sheets polygon").count()
        assert shapes == 6 + 60
        page.evaluate("dispatchEvent(new Event('afterprint'))")
        assert page.locator("#sheets *").count() == 0
        opened.assert_quiet()


def test_two_hundred_beds_are_printed_on_sheets_that_hold_them(browser, tmp_path):  # noqa: F811
    with browser.opened(season_map_of(made_season(2000), "metric"), tmp_path) as opened:
        page = opened.page
        page.wait_for_selector("body.ready")
        page.evaluate("dispatchEvent(new Event('beforeprint'))")
        titles = page.locator("#sheets .block-sheet h2").all_text_contents()
        assert titles == [f"A, part {i} of 3" for i in (1, 2, 3)]
        page_mm = 297 - 24
        tall = page.eval_on_selector_all(
            "#sheets svg", "all => all.map(s => s.viewBox.baseVal.height)"
        )
        assert max(tall) < page_mm
        opened.assert_quiet()


def test_an_empty_season_is_a_page_too(browser, tmp_path):  # noqa: F811
    empty = replace(made_season(1), sowings=(), beds=(), anomalies=())
    with browser.opened(season_map_of(empty, "metric"), tmp_path) as opened:
        opened.page.wait_for_selector("body.ready")
        opened.assert_quiet()


def test_the_page_asks_for_nothing_and_allows_nothing_else(season):
    add_run(season, run_of(1))
    text = season_map_html(season)
    assert "default-src 'none'" in text
    block = re.search(r'(?s)id="map-data">(.*?)</script>', text)
    assert len(json.loads(block[1])["strips"]) == 3
