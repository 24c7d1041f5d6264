"""The map: offline, literal about every text, usable at laptop and phone width."""

from __future__ import annotations

import base64
import hashlib
import json
import re
from dataclasses import replace
from html.parser import HTMLParser
from importlib.resources import files
from itertools import pairwise
from math import isclose

import pytest
from browser import LAPTOP, PAYLOADS, PHONE, Browser, sheets
from factories import make_result
from geographiclib.geodesic import Geodesic

from groundtruth.core.findings import Finding, FindingKind
from groundtruth.core.measured import Measured
from groundtruth.core.result import CellReason, CellVerdict, Judgement
from groundtruth.core.safe_text import visible
from groundtruth.views.doubts import passes_in_doubt
from groundtruth.views.map.classes import PUOR_5, SLIP_LIMITS, UNSURE, VIRIDIS_5
from groundtruth.views.map.drawing import drawn_line, packed
from groundtruth.views.map.run_data import MOST_FIXES, legend_for, run_map_data, shown_value
from groundtruth.views.map.run_page import field_map_html
from groundtruth.views.sentences.measurement import warning_sentences, watch_sentences
from groundtruth.views.tables.result import passes_by_unit_table

ONE = make_result()
FOUR = make_result(units=("1", "2", "3", "4"), lagging="3", passes=12, shown_in="metric")

GEOD = Geodesic.WGS84


# Lines ----------------------------------------------------------------------------------------


def _arc(line, sagitta_m):
    """The pass laid on a parabola of this sagitta, to the left of its axis, by geodesics."""
    (lon0, lat0), (lon1, lat1) = line.axis
    way = GEOD.Inverse(lat0, lon0, lat1, lon1)
    places = []
    for i in range(101):
        share = i / 100
        on_axis = GEOD.Direct(lat0, lon0, way["azi1"], way["s12"] * share)
        offset_m = sagitta_m * 4 * share * (1 - share)
        place = GEOD.Direct(on_axis["lat2"], on_axis["lon2"], on_axis["azi2"] - 90, offset_m)
        places.append((place["lon2"], place["lat2"]))
    return replace(
        line,
        time_s=tuple(float(i) for i in range(101)),
        longitude_deg=tuple(p[0] for p in places),
        latitude_deg=tuple(p[1] for p in places),
    )


def _apart_m(a, b):
    return GEOD.Inverse(a[1], a[0], b[1], b[0])["s12"]


@pytest.mark.parametrize("sagitta_m", [-5.5, 3.5, 5.5])
def test_a_bowed_bed_is_drawn_bowed(sagitta_m):
    """geographiclib is the outside check: the drawn line passes within 5 cm of the bow's middle."""
    line = _arc(ONE.lines[0], sagitta_m)
    drawn = drawn_line(line)
    middle = (line.longitude_deg[50], line.latitude_deg[50])
    assert _apart_m(drawn[len(drawn) // 2], middle) < 0.05
    assert _apart_m(drawn[0], line.axis[0]) < 0.05
    assert _apart_m(drawn[-1], line.axis[1]) < 0.05


def test_a_jump_bends_no_line():
    """A third of the fixes shifted by 9 m, as when signals come off a wall: still the bow."""
    line = _arc(ONE.lines[0], 0.0)
    jumped = tuple(v + (8e-5 if 65 <= i < 95 else 0) for i, v in enumerate(line.latitude_deg))
    assert len(drawn_line(replace(line, latitude_deg=jumped))) == 2


def test_a_bow_within_the_wander_of_a_phone_is_drawn_straight():
    line = _arc(ONE.lines[0], 1.0)
    drawn = drawn_line(line)
    assert len(drawn) == 2
    for end, place in zip(line.axis, drawn, strict=True):
        assert _apart_m(end, place) < 0.001


def test_a_pass_over_the_date_line_is_short():
    line = replace(
        ONE.lines[0],
        axis=((179.9995, -17.0), (-179.9995, -17.0)),
        longitude_deg=(),
        latitude_deg=(),
        time_s=(),
    )
    (start, _), (end, _) = drawn_line(line)
    assert isclose(end - start, 0.001, rel_tol=1e-9)


def test_a_pass_without_length_is_a_point():
    line = replace(ONE.lines[0], axis=((7.0, 48.0), (7.0, 48.0)))
    assert drawn_line(line) == [(7.0, 48.0)]


def test_packed_places_come_back_within_a_centimetre():
    places = list(ONE.fixes[:200])
    lon, lat = (round(v * 1e7) for v in places[0])
    steps = packed(places, places[0])
    for place, east, north in zip(places, steps[::2], steps[1::2], strict=True):
        lon, lat = lon + east, lat + north
        assert _apart_m((lon / 1e7, lat / 1e7), place) < 0.01


def test_a_long_day_is_thinned_and_says_so():
    many = replace(ONE, fixes=((7.1, 48.7),) * (2 * MOST_FIXES + 1))
    data = run_map_data(many, tiles=False)
    assert data["fixesStep"] == 3
    assert len(data["fixes"]) <= 2 * MOST_FIXES


# Colours --------------------------------------------------------------------------------------


def _lab(colour: str) -> tuple[float, float, float]:
    """CIE L*a*b* (D65) of an sRGB colour [IEC 61966-2-1:1999, 5.2; CIE 15:2004, 8.2.1]."""
    rgb = [int(colour[i : i + 2], 16) / 255 for i in (1, 3, 5)]
    r, g, b = (v / 12.92 if v <= 0.04045 else ((v + 0.055) / 1.055) ** 2.4 for v in rgb)
    x = (0.4124 * r + 0.3576 * g + 0.1805 * b) / 0.9505
    y = 0.2126 * r + 0.7152 * g + 0.0722 * b
    z = (0.0193 * r + 0.1192 * g + 0.9505 * b) / 1.0890
    fx, fy, fz = (
        v ** (1 / 3) if v > (6 / 29) ** 3 else v * (29 / 6) ** 2 / 3 + 4 / 29 for v in (x, y, z)
    )
    return 116 * fy - 16, 500 * (fx - fy), 200 * (fy - fz)


def test_lab_of_known_colours():
    """Published: sRGB red is L* 53.24, a* 80.09, b* 67.20 under D65 (from memory)."""
    assert _lab("#ff0000") == pytest.approx((53.24, 80.09, 67.20), abs=0.05)
    assert _lab("#ffffff")[0] == pytest.approx(100, abs=0.01)


def test_slip_classes_differ_in_lightness_alone():
    """So every eye sees their order, and a grey print too."""
    lightness = [_lab(colour)[0] for colour in VIRIDIS_5]
    steps = [a - b for a, b in pairwise(lightness)]
    assert min(steps) > 12


def test_ground_classes_keep_apart_without_red_against_green():
    """Mirrored classes lie on opposite sides of blue and yellow, which red-green blind eyes see."""
    lab = [_lab(colour) for colour in PUOR_5]
    assert lab[0][0] < lab[1][0] < lab[2][0] > lab[3][0] > lab[4][0]
    for low, high in ((lab[0], lab[4]), (lab[1], lab[3])):
        assert low[2] < -10
        assert high[2] > 10


def _with_slip(*values):
    figure = ONE.passes[0]
    return [
        replace(figure, ground_per_turn=Measured(0.6 / (1 - v), 0.006), slip=Measured(v, 0.01))
        for v in values
    ]


@pytest.mark.parametrize(
    ("slips", "expected"),
    [
        ([-0.1], 0),
        ([0.0199], 0),
        ([0.02], 1),
        ([0.0499], 1),
        ([0.05], 2),
        ([0.1199], 3),
        ([0.12], 4),
        ([0.5], 4),
        ([], None),
        ([0.01, 0.01, 0.3], 0),
        ([0.01, 0.03, 0.07, 0.3], 1),
        ([0.06, 0.3], 2),
    ],
)
def test_class_of_a_pass(slips, expected):
    assert legend_for(ONE).class_of(shown_value(_with_slip(*slips), ONE)) == expected


def test_a_pass_without_slip_on_a_map_of_slip_has_no_class():
    unknown = replace(ONE.passes[0], slip=None)
    assert legend_for(ONE).class_of(shown_value([unknown], ONE)) is None


@pytest.mark.parametrize(("std", "said"), [(0.0499, True), (0.0501, False)])
def test_a_colour_claims_no_more_than_is_known(std, said):
    figure = replace(ONE.passes[0], slip=Measured(0.04, std))
    assert legend_for(ONE).class_of(shown_value([figure], ONE)) == (1 if said else UNSURE)
    bare = make_result(slip=False)
    metres = bare.ground_per_turn.value
    figure = replace(bare.passes[0], ground_per_turn=Measured(metres, std * metres))
    assert legend_for(bare).class_of(shown_value([figure], bare)) == (2 if said else UNSURE)


def test_legends_name_unit_and_open_classes():
    slip = legend_for(ONE)
    assert "%" in slip.title
    assert slip.limits == SLIP_LIMITS
    assert slip.labels == ("under 2", "2 to 5", "5 to 8", "8 to 12", "12 and over")
    us, metric = (legend_for(make_result(slip=False, shown_in=u)) for u in ("us", "metric"))
    assert us.title.endswith(", in")
    assert metric.title.endswith(", cm")
    # 0.6387 m is 25.146 in; limits are 3 and 1 per cent off
    assert us.labels[0] == "under 24.39"
    assert us.labels[2] == "24.89 to 25.40"
    assert metric.labels[4] == "65.79 and over"


# The page without a browser -------------------------------------------------------------------


def test_the_library_is_the_published_one():
    """Hashes of version 1.9.4 as its makers print them for use in web pages."""
    published = {
        "leaflet.js": "20nQCchB9co0qIjJZRGuk2/Z9VM+kNiyxNV1lvTlZBo=",
        "leaflet.css": "p4NxAoJBhIIN+hmNHrzRCf9tD/miZyoHS5obTRR9BMY=",
    }
    for name, digest in published.items():
        text = files("groundtruth.views.map").joinpath("leaflet", name).read_bytes()
        assert base64.b64encode(hashlib.sha256(text).digest()).decode() == digest


class _Links(HTMLParser):
    """Every attribute through which a page can ask for something."""

    def __init__(self):
        super().__init__()
        self.found = []

    def handle_starttag(self, tag, attrs):
        asking = {"src", "href", "srcset", "data", "action", "poster", "background", "xlink:href"}
        self.found += [(tag, name, value) for name, value in attrs if name in asking]


def test_the_page_points_nowhere():
    html = field_map_html(ONE)
    links = _Links()
    links.feed(html)
    assert links.found == []
    assert not re.search(r"url\(\s*['\"]?(?!data:|#)[a-z]", html)
    assert "sourceMappingURL" not in html
    assert "unsafe" not in re.search(r'Content-Security-Policy" content="([^"]*)', html)[1]
    assert "img-src 'none'" in html
    assert "Redistribution and use in source and binary forms" in html


def test_tiles_open_one_door_only():
    policy = re.search(r'Security-Policy" content="([^"]*)', field_map_html(ONE, tiles=True))[1]
    assert "img-src https://tile.openstreetmap.org;" in policy
    assert policy.count("http") == 1


def test_the_same_result_gives_the_same_page():
    assert field_map_html(make_result()) == field_map_html(make_result())


@pytest.mark.parametrize("payload", PAYLOADS.values(), ids=PAYLOADS)
def test_data_cannot_leave_its_block(payload):
    html = field_map_html(make_result(text=lambda text: payload + text))
    block = re.search(r'<script type="application/json" id="map-data">(.*?)</script>', html, re.S)
    assert not re.search(r"[<>&\u2028]", block[1])
    data = json.loads(block[1])
    assert dict(data["passes"][0]["facts"])["Crop"].startswith(visible(payload, 60))


# In a browser ---------------------------------------------------------------------------------

COLOUR_PIXELS = """(colours) => {
  const canvas = document.querySelector("#map canvas");
  const { data } = canvas.getContext("2d").getImageData(0, 0, canvas.width, canvas.height);
  let found = 0;
  for (let i = 0; i < data.length; i += 4) {
    if (colours.some(([r, g, b]) => data[i] === r && data[i+1] === g && data[i+2] === b)
        && data[i+3] === 255) found += 1;
  }
  return found;
}"""
CLASS_COLOURS = [[int(c[i : i + 2], 16) for i in (1, 3, 5)] for c in VIRIDIS_5]
INK = [[0x17, 0x26, 0x2B]]


def _ready(opened):
    opened.page.wait_for_selector("body.ready", timeout=10_000)
    return opened.page


def _coloured(page):
    page.wait_for_timeout(150)
    return page.evaluate(COLOUR_PIXELS, CLASS_COLOURS)


def test_the_harness_sees_what_it_should(browser: Browser, tmp_path):
    """A page that does all that the maps must not do is caught at each of them."""
    bad = "<!doctype html><script>alert(2); console.log('x'); fetch('http://127.0.0.1:9/a')"
    with browser.opened(bad + "; null.x</script>", tmp_path) as opened:
        opened.page.wait_for_timeout(200)
        assert opened.dialogs == ["2"]
        assert opened.requests == ["http://127.0.0.1:9/a"]
        assert "x" in opened.console
        assert opened.errors


@pytest.mark.parametrize("size", [LAPTOP, PHONE], ids=["laptop", "phone"])
@pytest.mark.parametrize("result", [ONE, FOUR, make_result(slip=False)], ids=["1", "4", "no slip"])
def test_the_map_opens_offline(browser: Browser, tmp_path, result, size):
    with browser.opened(field_map_html(result), tmp_path, size) as opened:
        page = _ready(opened)
        page.wait_for_timeout(200)
        opened.assert_quiet()
        assert page.title() == "Quillfen Farm, north strip, 12 May 2026: map of the passes"
        scale = page.inner_text(".leaflet-control-scale-line")
        assert scale.endswith(" m" if result.units == "metric" else " ft")
        assert page.locator(".north").is_visible()
        assert page.locator("#legend-classes li").count() == 5
        overflow = page.evaluate("document.documentElement.scrollWidth - innerWidth")
        assert overflow <= 0
        box, stage = page.locator(".pass-label").first.bounding_box(), page.locator("#map")
        whole = stage.bounding_box()
        assert whole["x"] < box["x"] < whole["x"] + whole["width"]
        assert whole["y"] < box["y"] < whole["y"] + whole["height"]


@pytest.mark.parametrize("payload", PAYLOADS.values(), ids=PAYLOADS)
def test_every_text_is_shown_as_it_is_written(browser: Browser, tmp_path, payload):
    result = make_result(units=("1", "2"), passes=2, text=lambda text: payload + text)
    shown = visible(payload)
    with browser.opened(field_map_html(result), tmp_path) as opened:
        page = _ready(opened)
        assert shown in page.text_content("h1")
        assert shown in page.title()
        assert shown in page.text_content("#passes")
        page.click("#passes button")
        page.wait_for_selector(".details")
        words = page.text_content(".details")
        assert words.count(shown) == 5  # bed, crop, setting and both row units
        page.hover("#passes li:nth-child(2) button")
        page.wait_for_timeout(50)
        opened.assert_quiet()


def test_passes_are_layers_of_their_own(browser: Browser, tmp_path):
    with browser.opened(field_map_html(ONE), tmp_path) as opened:
        page = _ready(opened)
        everything = _coloured(page)
        assert everything > 1000
        page.uncheck("#passes li:nth-child(4) input")
        without_one = _coloured(page)
        assert 0.8 * everything < without_one < everything
        page.click("#none")
        assert _coloured(page) == 0
        assert page.locator(".pass-label").count() == 0
        page.check("#passes li:nth-child(4) input")
        assert 0 < _coloured(page) < 0.3 * everything
        page.click("#all")
        assert _coloured(page) == pytest.approx(everything, rel=0.01)  # crossings differ
        opened.assert_quiet()


def test_raw_fixes_are_off_at_first(browser: Browser, tmp_path):
    with browser.opened(field_map_html(ONE), tmp_path) as opened:
        page = _ready(opened)
        assert not page.is_checked("#fixes")
        page.click("#none")
        blank = "() => document.querySelector('#map canvas').getContext('2d')" + (
            ".getImageData(0, 0, 3000, 2000).data.filter((v, i) => i % 4 === 3 && v > 0).length"
        )
        page.wait_for_timeout(150)
        assert page.evaluate(blank) == 0
        page.check("#fixes")
        page.wait_for_timeout(150)
        assert page.evaluate(blank) > 1000
        page.uncheck("#fixes")
        page.wait_for_timeout(150)
        assert page.evaluate(blank) == 0
        opened.assert_quiet()


def test_a_tap_beside_a_pass_opens_what_is_known_of_it(browser: Browser, tmp_path):
    result = make_result(passes=1)
    with browser.opened(field_map_html(result), tmp_path, PHONE, touch=True) as opened:
        page = _ready(opened)
        box = page.locator("#map").bounding_box()
        middle = box["x"] + box["width"] / 2, box["y"] + box["height"] / 2
        page.touchscreen.tap(middle[0], middle[1] + 14)
        words = page.locator(".details").inner_text(timeout=3000)
        for text in ("Pass 1", "N1", "beetroot", "D4", "towards east", " in", " ± ", " %"):
            assert text in words
        figure = result.passes[0]
        assert f"{figure.ground_per_turn.value / 0.0254:.2f}" in words
        page.touchscreen.tap(middle[0], box["y"] + box["height"] - 30)
        page.wait_for_timeout(400)
        assert page.locator(".details").count() == 0
        opened.assert_quiet()


def test_the_keyboard_reaches_a_pass_and_comes_back(browser: Browser, tmp_path):
    with browser.opened(field_map_html(ONE), tmp_path) as opened:
        page = _ready(opened)
        page.focus("#passes li:nth-child(3) button")
        page.keyboard.press("Enter")
        page.wait_for_selector(".details")
        focused = "document.activeElement.className"
        assert page.evaluate(focused) == "details"
        page.keyboard.press("Escape")
        page.wait_for_timeout(400)
        assert page.locator(".details").count() == 0
        assert "Pass 3" in page.evaluate("document.activeElement.textContent")
        opened.assert_quiet()


def test_on_a_phone_the_list_folds_away(browser: Browser, tmp_path):
    with browser.opened(field_map_html(FOUR), tmp_path, PHONE, touch=True) as opened:
        page = _ready(opened)
        assert not page.locator("#passes").is_visible()
        page.tap("#panel-button")
        assert page.locator("#passes").is_visible()
        assert page.get_attribute("#panel-button", "aria-expanded") == "true"
        small = page.evaluate(
            """() => [...document.querySelectorAll("button, label, .leaflet-bar a")]
              .filter((e) => e.offsetParent)
              .map((e) => [e.textContent || e.className, e.getBoundingClientRect()])
              .filter(([, box]) => box.width < 44 || box.height < 44)
              .map(([name]) => name)"""
        )
        assert small == []  # 44 px: WCAG 2.1, success criterion 2.5.5
        page.tap("#passes li:nth-child(3) button")
        page.wait_for_selector(".details")
        assert not page.locator("#passes").is_visible()
        opened.assert_quiet()


def test_an_online_background_stays_away_quietly(browser: Browser, tmp_path):
    with browser.opened(field_map_html(ONE, tiles=True), tmp_path) as opened:
        page = _ready(opened)
        page.wait_for_timeout(300)
        assert _coloured(page) > 1000
        assert opened.errors == []
        assert opened.dialogs == []
        assert opened.requests
        assert {u.split("/")[2] for u in opened.requests} == {"tile.openstreetmap.org"}
        assert "OpenStreetMap contributors" in page.inner_text(".attribution")


@pytest.mark.parametrize("paper", ["A4", "Letter"])
def test_it_prints_on_one_sheet(browser: Browser, tmp_path, paper):
    with browser.opened(field_map_html(FOUR), tmp_path) as opened:
        page = _ready(opened)
        assert sheets(page.pdf(format=paper)) == 1
        opened.assert_quiet()


def test_an_empty_result_still_opens(browser: Browser, tmp_path):
    empty = replace(ONE, lines=(), fixes=())
    with browser.opened(field_map_html(empty), tmp_path) as opened:
        page = _ready(opened)
        page.click("#passes button")
        page.wait_for_timeout(100)
        opened.assert_quiet()


def test_a_pass_that_is_too_unsure_is_grey(browser: Browser, tmp_path):
    unsure = replace(ONE.passes[0], slip=Measured(-0.2, 0.11))
    result = replace(ONE, passes=(unsure, *ONE.passes[1:]))
    with browser.opened(field_map_html(result), tmp_path) as opened:
        page = _ready(opened)
        assert page.locator("#legend-classes li").last.inner_text() == "too unsure"
        grey = "getComputedStyle(document.querySelector('#passes .swatch')).backgroundColor"
        assert page.evaluate(grey) == "rgb(180, 186, 187)"
        assert "−20.0 ± 21.6 %" in page.inner_text("#passes li:first-child")
        opened.assert_quiet()


def test_a_pass_that_was_not_counted_is_dashed(browser: Browser, tmp_path):
    result = replace(ONE, passes=ONE.passes[1:])
    with browser.opened(field_map_html(result), tmp_path) as opened:
        page = _ready(opened)
        assert page.locator("#legend-classes li").last.inner_text() == "not measured"
        assert "not measured" in page.inner_text("#passes li:first-child")
        page.click("#passes li:first-child button")
        assert "none counted" in page.inner_text(".details")
        opened.assert_quiet()


DOUBTED = replace(
    make_result(units=("1", "2")),
    findings=(Finding(kind=FindingKind.TOO_UNSURE, passes=(3,)),),
    cells=(
        CellVerdict(
            number=5,
            unit="2",
            line=11,
            turns=85.0,
            verdict=Judgement.LEFT_OUT,
            reason=CellReason.GROUND,
            expected=(184.0, 187.0),
            suggestion=185.0,
        ),
    ),
)


def test_doubt_stands_on_the_map_and_in_the_tables(browser: Browser, tmp_path):
    assert passes_in_doubt(DOUBTED) == {3, 5}
    table = passes_by_unit_table(DOUBTED)
    assert [table.rows[i][0] for i in sorted(table.marked)] == ["3", "5"]
    with browser.opened(field_map_html(DOUBTED), tmp_path) as opened:
        page = _ready(opened)
        told = page.locator(".heed li").all_inner_texts()
        assert told == [*watch_sentences(DOUBTED), *warning_sentences(DOUBTED)]
        assert any("pass 5, unit 2: 85 turns" in line for line in told)
        marked = page.locator("#passes li", has=page.locator(".doubt"))
        assert [t.split()[1] for t in marked.all_inner_texts()] == ["3", "5"]
        assert "3 !" in page.locator(".pass-label .doubt").all_inner_texts()  # 5 may lie beneath
        marked.first.locator("button").click()
        assert "In doubt" in page.inner_text(".details")
        opened.assert_quiet()
    with browser.opened(field_map_html(DOUBTED), tmp_path, PHONE) as opened:
        assert "to look at" in _ready(opened).inner_text("#panel-button")
        assert sheets(opened.page.pdf(format="A4")) == 1


def test_nothing_to_look_at_leaves_no_trace(browser: Browser, tmp_path):
    with browser.opened(field_map_html(replace(ONE, warnings=())), tmp_path) as opened:
        assert _ready(opened).locator(".heed, .heeds, .doubt").count() == 0
