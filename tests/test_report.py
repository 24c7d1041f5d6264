"""The report: says the right numbers, prints on one sheet, shows every text as it is written."""

from __future__ import annotations

import re
from dataclasses import replace
from html.parser import HTMLParser
from importlib.resources import files
from pathlib import Path
from statistics import NormalDist
from xml.etree import ElementTree

import pytest
from browser import LAPTOP, PAYLOADS, PHONE, Browser, sheets
from factories import make_result

import groundtruth
from groundtruth.core.measured import Measured
from groundtruth.core.notices import Notice
from groundtruth.core.safe_text import visible
from groundtruth.views.report.page import MOST_NOTICES, report_html
from groundtruth.views.report.plot import nice_step, passes_plot
from groundtruth.views.sentences.cautions import cautions, field_checks
from groundtruth.views.sentences.measurement import (
    fact_sentences,
    sure_sentence,
    surer_sentences,
    use_sentence,
    watch_sentences,
)

ONE = make_result()
FOUR = make_result(units=("1", "2", "3", "4"), lagging="3", passes=12, shown_in="metric")
BARE = make_result(slip=False, in_use=False, passes=1)
LONG = make_result(passes=80)


class _Words(HTMLParser):
    """The text of a page, tags and attributes seen on the way."""

    def __init__(self, html: str):
        super().__init__()
        self.text, self.tags, self.asking = "", [], []
        self.feed(html)
        self.text = re.sub(r"\s+", " ", self.text)

    def handle_starttag(self, tag, attrs):
        self.tags.append(tag)
        self.asking += [name for name, _ in attrs if name in ("src", "href", "style", "action")]
        self.asking += [name for name, _ in attrs if name.startswith("on")]

    def handle_data(self, data):
        self.text += f" {data} "


# What is said ---------------------------------------------------------------------------------


def test_the_answer_in_the_users_units():
    """0.6387 m ± 0.0034 m is 25.146 in ± 0.134 in (one inch is 25.4 mm exactly), or 63.87 cm."""
    us, metric = _Words(report_html(ONE)).text, _Words(report_html(FOUR)).text
    for text in ("25.15 in", "24.87 to 25.42 in", "+2.7 %", "in use 24.49 in", "4.0 %"):
        assert text in us, text
    for text in ("63.87 cm", "63.17 to 64.57 cm", "in use 62.2 cm", "after the first 3 to 5 m"):
        assert text.lower() in metric.lower(), text


def test_targets_old_and_new():
    text = _Words(report_html(ONE)).text
    # beetroot: 1 / (0.035 m × 0.82) seeds per metre, times 0.622 m and 0.6387 m
    assert "beetroot every 1.378 in 82 % 21.7 22.3 22.0 to 22.5" in text


def test_what_is_not_known_is_not_shown():
    text = _Words(report_html(BARE)).text
    assert "Slip" not in text
    assert "in use" not in text
    assert "nan" not in text.lower()
    assert "None" not in text


def test_verdict_units_budget_notices_and_inputs_are_there():
    text = _Words(report_html(FOUR)).text
    sentences = (use_sentence(FOUR), sure_sentence(FOUR), *watch_sentences(FOUR))
    for sentence in (*sentences, *surer_sentences(FOUR), *fact_sentences(FOUR)):
        assert sentence in text
    assert "3, lags" in text
    assert "−6.00 %" in text
    assert "position noise 57 %" in text
    assert "points doubled, the second left out (14 times)" in text
    assert "times are cut to whole seconds" in text
    assert "quillfen-0512.gpx" in text
    assert "a1a1a1a1a1a1" in text
    assert "a1a1a1a1a1a1a" not in text


def test_cautions_stand_on_every_report():
    for result in (ONE, FOUR, BARE, LONG):
        text = _Words(report_html(result)).text
        for caution in (*cautions(), *field_checks(result.units)):
            assert caution in text
    words = " ".join(cautions()).lower()
    for mind in ("engine off", "key out", "blocked", "nobody rides", "phone", "gloves", "manual"):
        assert mind in words


def test_many_repairs_are_counted_not_listed():
    notices = tuple(Notice(kind="repair", text=f"mended {i}") for i in range(MOST_NOTICES + 5))
    text = _Words(report_html(replace(ONE, repairs=notices))).text
    assert "and 5 more, all of them in result.json" in text
    assert f"mended {MOST_NOTICES}" not in text


def test_the_page_holds_no_script_and_points_nowhere():
    html = report_html(ONE)
    words = _Words(html)
    assert "script" not in words.tags
    assert words.asking == []
    policy = re.search(r'Security-Policy" content="([^"]*)', html)[1]
    assert "script-src 'none'" in policy
    assert "unsafe" not in policy
    assert "http" not in re.sub(r'http-equiv="', "", html)


def test_colours_stand_out_from_the_paper():
    """Contrast at least 7 (WCAG 2.1, success criterion 1.4.6), for reading in the sun."""
    css = files("groundtruth.views.report").joinpath("report.css").read_text()
    colours = dict(re.findall(r"--(\w+): (#[0-9a-f]{6})", css))

    def luminance(colour):  # WCAG 2.1, definition of relative luminance
        rgb = [int(colour[i : i + 2], 16) / 255 for i in (1, 3, 5)]
        r, g, b = (v / 12.92 if v <= 0.03928 else ((v + 0.055) / 1.055) ** 2.4 for v in rgb)
        return 0.2126 * r + 0.7152 * g + 0.0722 * b

    assert luminance("#ffffff") == pytest.approx(1)
    for paper in ("paper", "tint"):
        for ink in ("ink", "soft", "mark", "warn"):
            light, dark = luminance(colours[paper]), luminance(colours[ink])
            ratio = (light + 0.05) / (dark + 0.05)
            assert ratio >= (7 if paper == "paper" or ink == "ink" else 4.5), (paper, ink, ratio)


# The plot -------------------------------------------------------------------------------------


@pytest.mark.parametrize(
    ("step", "nice"),
    [
        (1.0, 1.0),
        (1.9, 1.0),
        (2.0, 2.0),
        (4.99, 2.0),
        (7.0, 5.0),
        (0.03, 0.02),
        (0.1, 0.1),
        (60, 50),
    ],
)
def test_nice_steps(step, nice):
    assert nice_step(step) == pytest.approx(nice)


def _drawn(result):
    plot = ElementTree.fromstring(ElementTree.tostring(passes_plot(result)))
    marks = [
        float(m.get("transform").split()[1].rstrip(")"))
        for m in plot.iter()
        if m.get("class") == "mark"
    ]
    whiskers = [
        (float(w.get("y2")), float(w.get("y1")))
        for w in plot.iter("line")
        if w.get("class") == "whisker"
    ]
    return plot, marks, whiskers


def test_points_and_intervals_are_drawn_to_scale():
    plot, marks, whiskers = _drawn(ONE)
    ticks = [
        (float(t.text) * 0.0254, float(t.get("y")))
        for t in plot.iter("text")
        if t.get("text-anchor") == "end" and t.text != "pass"
    ]
    (low_m, low_y), (high_m, high_y) = ticks[0], ticks[-1]
    assert len(ticks) >= 3

    def height(value_m):
        return low_y + (value_m - low_m) * (high_y - low_y) / (high_m - low_m)

    k = NormalDist().inv_cdf(0.975)
    for figure, at, (top, bottom) in zip(ONE.passes, marks, whiskers, strict=True):
        ground = figure.ground_per_turn
        assert at == pytest.approx(height(ground.value), abs=0.3)
        assert top == pytest.approx(height(ground.value + k * ground.std), abs=0.3)
        assert bottom == pytest.approx(height(ground.value - k * ground.std), abs=0.3)
    band = next(r for r in plot.iter("rect") if r.get("class") == "band")
    assert float(band.get("y")) == pytest.approx(height(ONE.ground_per_turn_95[1]), abs=0.3)
    assert float(band.get("height")) == pytest.approx(
        height(ONE.ground_per_turn_95[0]) - height(ONE.ground_per_turn_95[1]), abs=0.3
    )


def test_no_grid_line_covers_what_was_measured():
    """A picture is painted in the order of its elements (SVG 1.1, 3.3)."""
    plot, _, _ = _drawn(ONE)
    painted = [e.get("class") for e in plot.iter() if e.get("class")]
    last_rule = max(i for i, name in enumerate(painted) if name == "rule")
    assert last_rule < painted.index("band") < painted.index("pooled") < painted.index("mark")


def test_one_wild_pass_does_not_flatten_the_others():
    wild = replace(ONE.passes[0], ground_per_turn=Measured(0.64, 0.4))
    _, marks, whiskers = _drawn(replace(ONE, passes=(wild, *ONE.passes[1:])))
    assert max(marks) - min(marks) > 20
    assert all(0 <= top <= bottom <= 172 for top, bottom in whiskers)


def test_a_single_exact_pass_can_be_drawn():
    figure = replace(BARE.passes[0], ground_per_turn=Measured(0.6, 0.0))
    exact = replace(
        BARE, passes=(figure,), ground_per_turn=Measured(0.6), ground_per_turn_95=(0.6, 0.6)
    )
    _, marks, _ = _drawn(exact)
    assert len(marks) == 1


# In a browser ---------------------------------------------------------------------------------

CASES = [
    pytest.param(r, id=n) for n, r in zip(("one", "four", "bare"), (ONE, FOUR, BARE), strict=True)
]


@pytest.mark.parametrize("result", CASES)
@pytest.mark.parametrize("paper", ["A4", "Letter"])
def test_all_but_a_long_day_prints_on_one_sheet(browser: Browser, tmp_path, result, paper):
    with browser.opened(report_html(result), tmp_path) as opened:
        assert sheets(opened.page.pdf(format=paper)) == (2 if result is FOUR else 1)
        opened.assert_quiet()


@pytest.mark.parametrize("name", ["dry-firm", "wet-soil", "old-tyres", "new-tyres"])
def test_a_day_of_four_units_prints_on_one_sheet(browser: Browser, tmp_path, name):
    """The smaller of the papers; the samples are simulated, what is said of them is real."""
    sample = Path(__file__).parents[1] / "sample_tracks" / name / "run.toml"
    result = groundtruth.measure(groundtruth.read_run(sample))
    with browser.opened(report_html(result), tmp_path) as opened:
        assert sheets(opened.page.pdf(format="Letter")) == 1


@pytest.mark.whole_days
def test_eighty_passes_take_two_sheets_more(browser: Browser, tmp_path):
    with browser.opened(report_html(LONG), tmp_path) as opened:
        assert sheets(opened.page.pdf(format="A4")) <= 3


CUT_OFF = """[...document.querySelectorAll("main :is(td, li, p, dd, svg, circle.mark)")]
  .filter((e) => e.getClientRects().length)
  .filter((e) => e.getBoundingClientRect().right > innerWidth + 1
    || e.clientWidth && e.scrollWidth > e.clientWidth + 1)
  .map((e) => e.outerHTML.slice(0, 80))"""
"""What of a page is seen in part only."""


@pytest.mark.parametrize("size", [LAPTOP, PHONE], ids=["laptop", "phone"])
@pytest.mark.parametrize("result", [*CASES, pytest.param(LONG, id="long")])
def test_it_fits_the_screen(browser: Browser, tmp_path, result, size):
    with browser.opened(report_html(result), tmp_path, size) as opened:
        page = opened.page
        assert page.evaluate("document.documentElement.scrollWidth - innerWidth") <= 0
        assert page.evaluate(CUT_OFF) == []
        assert page.title() == "Quillfen Farm, north strip, 12 May 2026: ground per gear turn"
        # styles came through the content-security policy
        assert page.evaluate("getComputedStyle(document.querySelector('h1')).marginTop") == "0px"
        opened.assert_quiet()


@pytest.mark.parametrize("payload", PAYLOADS.values(), ids=PAYLOADS)
def test_every_text_is_shown_as_it_is_written(browser: Browser, tmp_path, payload):
    result = make_result(
        units=("1", "2"), lagging="2", passes=2, text=lambda text: payload[:20] + text
    )
    shown = visible(payload[:20])
    with browser.opened(report_html(result), tmp_path) as opened:
        page = opened.page
        assert shown in page.title()
        for place in ("h1", ".verdict", ".targets", ".keys", "footer", ".notices >> nth=0"):
            assert shown[:15] in page.text_content(place), place
        for heading in ("Row units", "Passes"):
            section = page.locator("section", has=page.locator("h2", has_text=heading))
            assert shown[:9] in section.first.text_content()
        opened.assert_quiet()


def test_on_a_phone_every_figure_of_every_pass_is_seen(browser: Browser, tmp_path):
    with browser.opened(report_html(FOUR), tmp_path, PHONE) as opened:
        cells = opened.page.locator("table.rows td:not(:empty)")
        assert all(cell.is_visible() for cell in cells.all())
        marks = opened.page.locator(".narrow .mark")
        assert marks.count() == len(FOUR.passes)
        assert all(mark.is_visible() for mark in marks.all())
        headings = opened.page.locator("table.rows td").first.evaluate(
            "e => getComputedStyle(e, '::before').content"
        )
        assert headings == '"crop"'
