"""The page's further parts in real Chromium: setting, seed, stand, plan and season."""

from __future__ import annotations

import json
import subprocess
import sys
from pathlib import Path

import pytest
from browser import no_findings
from opening import serving, window

from groundtruth.season import read_season
from groundtruth.season.corrections import Which, edit_run

SAMPLES = Path(__file__).parents[1] / "sample_tracks"
SIZES = {"laptop": (1280, 900), "phone": (390, 844)}
BENCH = [("10", "6", n) for n in ("103", "116", "106")] + [
    ("11", "6", n) for n in ("143", "123", "131")
]


def go_to(page, part):
    page.click(f"header nav button:text-is('{part}')")


WIDE = """() => [...document.querySelectorAll("body *")]
  .filter((one) => one.getBoundingClientRect().right > innerWidth + 1)
  .filter((one) => !one.parentElement.closest(".table, .drawn, .unseen, .map"))
  .map((one) => `${one.tagName} ${one.id} ${one.className}`)"""


def assert_fits(page):
    """Nothing reaches beyond the window, but what scrolls in a place of its own."""
    assert page.evaluate(WIDE) == []
    assert page.evaluate("document.documentElement.scrollWidth - innerWidth") <= 0


@pytest.fixture(params=SIZES.values(), ids=SIZES.keys())
def page(request, browser, tmp_path):
    with serving(tmp_path) as server, window(browser, server, request.param) as page:
        page.folder = tmp_path
        yield page


def test_setting_seed_and_stand(page):
    go_to(page, "Setting")
    page.fill("#set-crop", "beet")
    page.fill("#set-spacing", "1.75 in")
    page.fill("#set-germination", "81")
    page.fill("#bench-ground", "30.7")
    page.press("#bench-ground", "Tab")
    for at, (setting, turns, seeds) in enumerate(BENCH):
        page.fill(f"#bench-setting-{at}", setting)
        page.fill(f"#bench-turns-{at}", turns)
        page.fill(f"#bench-seeds-{at}", seeds)
    page.click("#choose")
    page.wait_for_selector("#choose-out .blocks")
    shown = page.inner_text("#choose-out")
    assert "Settings: beet" in shown
    assert "Bench" in shown
    page.wait_for_selector("#kept.kept")
    with page.context.expect_page() as other:
        page.click("a[href$='card.html']")
    assert "beet" in other.value.inner_text("body")
    other.value.close()

    page.fill("#seed-lengths", "150, 150")
    page.click("#reckon")
    page.wait_for_selector("#reckon-out .blocks")
    # 300 ft of one line, 1/(1.75 in × 0.81): 300 × 12 / 1.75 / 0.81 = 2540 seeds
    assert "540" in page.inner_text("#reckon-out").replace(",", "")

    page.fill("#stand-dropped", "20")
    for at, plants in enumerate(("98", "101", "95")):
        page.fill(f"#stands-length-{at}", "10")
        page.fill(f"#stands-plants-{at}", plants)
    page.click("#emerged")
    page.wait_for_selector("#emerged-out .blocks")
    # 294 plants of 600 seeds, of which 81 % can germinate: 294 / 486 = 0.605
    assert "60" in page.inner_text("#emerged-out")
    assert_fits(page)
    no_findings(page)
    page.wait_for_selector("#kept.kept")
    page.reload()
    go_to(page, "Setting")
    assert page.input_value("#bench-seeds-5") == "131"
    assert page.input_value("#stands-plants-2") == "95"


def test_plan(page):
    go_to(page, "Plan")
    page.fill("#plan-bed", "300")
    page.press("#plan-bed", "Tab")
    assert page.input_value("#plan-bed") == "300 ft"
    page.fill("#plan-speed", "2 mph")
    page.click("#make-plan")
    page.wait_for_selector("#plan-out .blocks", timeout=120_000)
    assert "To be 95 % sure within ± 1.00 %" in page.inner_text("#plan-out")
    assert_fits(page)
    no_findings(page)


@pytest.fixture(scope="module")
def record(tmp_path_factory):
    path = tmp_path_factory.mktemp("record") / "season.gpkg"
    for name, soil in (("dry-firm", "dry"), ("wet-soil", "wet"), ("old-tyres", "dry")):
        subprocess.run(
            [
                *(sys.executable, "-m", "groundtruth", "season", "--season", str(path), "add"),
                *(str(SAMPLES / name / "run.toml"), "--soil", soil),
            ],
            check=True,
            capture_output=True,
        )
    return path.read_bytes()


@pytest.mark.parametrize("size", SIZES.values(), ids=SIZES.keys())
def test_season_is_shown_put_right_and_undone(browser, tmp_path, record, size):
    (tmp_path / "season.gpkg").write_bytes(record)
    with serving(tmp_path) as server, window(browser, server, size) as page:
        go_to(page, "Season")
        page.wait_for_selector(".runs")
        assert page.locator(".runs li").count() == 3
        assert page.locator(".chart .point").count() == 3
        first = page.locator(".runs li").first
        first.locator("summary").click()
        first.locator("input[id$=note]").fill("<b>east end</b>")
        first.locator("button", has_text="Save").click()
        page.wait_for_selector("#said:not(:empty)")
        assert "<b>east end</b>" in page.locator(".runs li input[id$=note]").first.input_value()
        page.locator(".runs li").first.locator("button", has_text="Remove").click()
        page.wait_for_selector("#said:text('taken out')")
        assert page.locator(".runs li").count() == 2
        page.locator(".log button").first.click()
        page.wait_for_selector("#said:text('taken back')")
        assert page.locator(".runs li").count() == 3
        page.fill("#change-day", "2027-05-01")
        page.click("#note-change")
        page.wait_for_selector("#said:text('tyre')")
        page.select_option("#compare-way", "soil")
        page.fill("#compare-first", "dry")
        page.fill("#compare-second", "wet")
        page.click("#compare")
        page.wait_for_selector("#compare-out .blocks")
        assert "dry" in page.inner_text("#compare-out")
        page.click("#make-map")
        page.wait_for_selector("#season-map a")
        for name in ("season's map", "list of beds"):
            with page.context.expect_page() as other:
                page.click(f'#season-map a:has-text("{name}")')
            other.value.wait_for_load_state()
            assert other.value.query_selector("main, #map")
            other.value.close()
        assert_fits(page)
        no_findings(page)
    said = subprocess.run(
        [
            *(sys.executable, "-m", "groundtruth", "season", "show", "--json"),
            *("--season", str(tmp_path / "season.gpkg")),
        ],
        check=True,
        capture_output=True,
        text=True,
    )
    assert len(json.loads(said.stdout)["runs"]) == 3


def test_several_seeders_are_charted_and_compared_apart(browser, tmp_path, record):
    expect = pytest.importorskip("playwright.sync_api").expect
    path = tmp_path / "season.gpkg"
    path.write_bytes(record)
    days = [run.day for run in read_season(path).runs]
    for number, name in ((1, "blue"), (2, "red"), (3, "blue")):
        edit_run(path, Which(number=number), {"seeder": name})
    with serving(tmp_path) as server, window(browser, server, SIZES["phone"]) as page:
        go_to(page, "Season")
        page.wait_for_selector("#season-of")
        assert page.locator(".chart .point").count() == (
            2 if page.input_value("#season-of") == "blue" else 1
        )
        page.select_option("#season-of", "red")
        expect(page.locator(".chart .point")).to_have_count(1)
        assert page.input_value("#season-of") == "red"
        page.select_option("#compare-way", "change")
        page.fill("#compare-first", days[0])
        page.click("#compare")
        page.wait_for_selector("#compare-out :text('no run to compare')")
        assert_fits(page)
        no_findings(page)


def test_a_season_without_a_record_says_so(page):
    go_to(page, "Season")
    page.wait_for_selector("#season .empty")
    assert "Nothing is recorded yet" in page.inner_text("#season")


def test_weighed_catches_of_two_lots_give_a_setting_for_each(page):
    """A catch of w grams of seeds of t grams a thousand holds 1000·w/t of them (thousand-seed
    weight as ISTA's rules, chapter 10, define it; from memory)."""
    go_to(page, "Setting")
    page.fill("#set-crop", "beet")
    page.fill("#set-spacing", "1.75 in")
    page.fill("#bench-ground", "30.7 in")
    page.check("#bench-weighed")
    page.check("#bench-by_lot")
    at = 0
    for lot, thousand in (("A7", "16 ± 0.8"), ("B2", "20")):
        for setting, weight in (("10", "1.60"), ("10", "1.76"), ("11", "2.16"), ("11", "2.08")):
            cells = {"lot": lot, "setting": setting, "turns": "6", "weight": weight}
            for key, text in (cells | {"thousand": thousand}).items():
                if key in ("lot", "thousand") and setting == "11":
                    continue  # an empty cell takes the one above
                page.fill(f"#bench-{key}-{at}", text)
            at += 1
    page.click("#choose")
    page.wait_for_selector("#choose-out .blocks, #choose-out .trouble")
    shown = page.inner_text("#choose-out")
    assert "A7" in shown
    assert "B2" in shown
    # at 10: (1.60 + 1.76) g / 16 g · 1000 / 12 turns = 17.5; of the heavier seed 14.0
    rows = [row.inner_text() for row in page.locator("#choose-out tr:has(th:text-is('10'))").all()]
    assert any("17.5" in row for row in rows), rows
    assert any("14.0" in row for row in rows), rows
    assert_fits(page)
    no_findings(page)
    with page.context.expect_page() as other:
        page.click("a[href$='card.html']")
    assert "A7" in other.value.inner_text("body")
    other.value.close()
    page.fill("#bench-thousand-0", "heavy")
    page.click("#choose")
    page.wait_for_selector("#choose-out .trouble:text('write grams, as 17.2')")
    page.wait_for_selector("#kept.kept")
    page.reload()
    go_to(page, "Setting")
    assert page.input_value("#bench-weight-7") == "2.08"
    assert page.is_checked("#bench-weighed")
    page.troubles[:] = [t for t in page.troubles if "status of 422" not in t]


@pytest.mark.parametrize("size", SIZES.values(), ids=SIZES.keys())
def test_a_change_of_the_seeder_is_put_right_taken_out_and_brought_back(
    browser, tmp_path, record, size
):
    (tmp_path / "season.gpkg").write_bytes(record)
    with serving(tmp_path) as server, window(browser, server, size) as page:
        go_to(page, "Season")
        page.wait_for_selector(".runs")
        page.fill("#change-day", "2027-05-01")
        page.click("#note-change")
        page.wait_for_selector("#changes li")
        page.click("#changes summary")
        page.fill("#changes input[type=date]", "2027-05-03")
        page.select_option("#changes select", "pressure")
        page.fill("#changes input[id$=note]", "<b>18 psi</b>")
        page.click("#changes button[id$=save]")
        page.wait_for_selector("#changes summary:text('2027-05-03')")
        assert "tyre pressure" in page.inner_text("#changes summary")
        assert "<b>18 psi</b>" in page.inner_text("#changes summary")
        assert_fits(page)
        no_findings(page)
        page.click("#changes button[id$=remove]")
        page.wait_for_selector("#changes", state="detached")
        page.locator(".log button").first.click()
        page.wait_for_selector("#changes summary:text('2027-05-03')")
