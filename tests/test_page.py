"""The page in real Chromium, from the track to the saved run, at two widths and by keyboard."""

from __future__ import annotations

import json
import os
import re
from collections import defaultdict
from pathlib import Path

import pytest
from browser import PAYLOADS, no_findings
from opening import serving, window

from groundtruth.app.measure import MeasureRequest, measured_run_for
from groundtruth.core.result import Judgement, Verdict
from groundtruth.core.uncertainty import UncertaintySource

SAMPLE = Path(__file__).parents[1] / "sample_tracks" / "dry-firm"
STATIC = Path(__file__).parents[1] / "groundtruth" / "web" / "page" / "static"
SIZES = {"laptop": (1280, 900), "phone": (390, 844), "small": (360, 740)}
MACHINE = {
    "wheel_circumference": "71.5 in ± 0.08 in",
    "gear_turns_per_wheel_turn": "2.4",
    "ground_per_gear_turn_in_use": "29.8 in",
}


def counts() -> dict[int, list[str]]:
    found = defaultdict(list)
    for line in (SAMPLE / "turns.csv").read_text().splitlines()[1:]:
        cells = line.split(",")
        found[int(cells[0])].append(cells[4])
    return found


def add(page, *names):
    page.set_input_files("#add-files", [str(SAMPLE / name) for name in names])
    page.wait_for_selector("#map .leaflet-control-scale")


def type_units(page, count=4):
    page.fill("#row-units", str(count))
    page.press("#row-units", "Tab")


def paste(page, at, text):
    page.focus(at)
    page.evaluate(
        """text => { const data = new DataTransfer(); data.setData("text/plain", text);
        document.activeElement.dispatchEvent(new ClipboardEvent("paste",
          { clipboardData: data, bubbles: true, cancelable: true })); }""",
        text,
    )


def block(rows) -> str:
    return "\n".join("\t".join(row) for row in rows.values()) + "\n"


def measured(page):
    page.click("#measure")
    page.wait_for_selector("#answer, #figure .trouble")
    assert page.query_selector("#figure .trouble") is None, page.inner_text("#figure")
    return page.inner_text("#answer")


def kept(page):
    page.wait_for_selector("#kept.kept")


@pytest.mark.parametrize("size", SIZES.values(), ids=SIZES.keys())
def test_from_the_track_to_the_saved_run(browser, tmp_path, size):
    with serving(tmp_path) as server, window(browser, server, size) as page:
        add(page, "track.gpx")
        type_units(page)
        rows = counts()
        rows[3][1] = "150"
        paste(page, "#turns-1-0", block(rows))
        page.check("#strike-8")
        for name, text in MACHINE.items():
            page.fill(f"#machine-{name}", text)
        page.fill("#crop-crop-0", "beet")
        page.fill("#crop-spacing-0", "1.75")
        page.press("#crop-spacing-0", "Tab")
        assert page.input_value("#crop-spacing-0") == "1.75 in"
        said = measured(page)
        assert "of ground per gear turn" in said
        assert page.get_attribute("#turns-3-1", "data-verdict") == "out"
        assert "Left out" in page.inner_text("#verdict-3-1")
        assert len(page.query_selector_all("[data-verdict]")) == 1
        wide = page.evaluate("document.documentElement.scrollWidth - innerWidth")
        assert wide <= 0
        page.click("#save-run")
        page.wait_for_selector(".saved")
        (folder,) = (p for p in tmp_path.iterdir() if p.is_dir() and p.name != ".page")
        assert folder.name == "2027-04-27-track"
        names = {p.name for p in folder.iterdir()}
        assert names == {
            *("run.toml", "turns.csv", "track.gpx", "result.json", "map.html", "report.html"),
        }
        assert (tmp_path / "season.gpkg").exists()
        again = measured_run_for(MeasureRequest(run=folder / "run.toml")).result
        shown = json.loads((folder / "result.json").read_text())
        assert again.ground_per_turn.value == shown["ground_per_turn_m"]
        assert {p.number for p in again.passes} == {1, 2, 3, 4, 5, 6, 7}
        left = [c for c in again.cells if c.verdict is Judgement.LEFT_OUT]
        assert [(c.number, c.unit) for c in left] == [(3, "2")]
        for name in ("map", "report"):
            with page.context.expect_page() as other:
                page.click(f"a[href$='{name}.html']")
            other.value.wait_for_load_state()
            assert other.value.evaluate("origin") == "null"  # it reaches nothing of the page
            other.value.close()


def test_a_sheet_gives_the_figure_that_the_command_line_gives(browser, tmp_path):
    result = measured_run_for(MeasureRequest(run=SAMPLE / "run.toml")).result
    with serving(tmp_path) as server, window(browser, server, SIZES["laptop"]) as page:
        add(page, "track.gpx", "turns.csv")
        page.click("text=More about machine and run")
        page.fill("#machine-time_zone", "America/Chicago")
        for name, text in MACHINE.items():
            page.fill(f"#machine-{name}", text)
        measured(page)
        lines = page.inner_text("#counts table")
        assert "line 2: pass 1, unit 1, 93" in lines
        page.click("#save-run")
        page.wait_for_selector(".saved")
        (file,) = tmp_path.glob("2*/result.json")
        shown = json.loads(file.read_text())
        assert shown["ground_per_turn_m"] == result.ground_per_turn.value
        assert shown["ground_per_turn_u_m"] == result.ground_per_turn.std


def test_two_windows_do_not_overwrite_each_other(browser, tmp_path):
    with serving(tmp_path) as server, window(browser, server, SIZES["laptop"]) as page:
        other = page.context.new_page()
        other.goto(server.address)
        other.wait_for_selector("#drop")
        page.fill("#crop-crop-0", "beet")
        kept(page)
        other.fill("#crop-crop-0", "spinach")
        other.wait_for_selector("#kept.elsewhere")
        other.close()
        page.evaluate("localStorage.clear()")
        page.reload()
        page.wait_for_selector("#drop")
        assert page.input_value("#crop-crop-0") == "beet"


def test_a_new_run_remembers_machine_and_crops(browser, tmp_path):
    with serving(tmp_path) as server, window(browser, server, SIZES["laptop"]) as page:
        add(page, "track.gpx")
        type_units(page)
        paste(page, "#turns-1-0", block(counts()))
        page.fill("#machine-wheel_circumference", MACHINE["wheel_circumference"])
        page.fill("#crop-crop-0", "beet")
        page.fill("#crop-spacing-0", "2 in")
        measured(page)
        page.click("#save-run")
        page.wait_for_selector("#new-run")
        page.click("#new-run")
        page.wait_for_selector("#counts .empty")
        page.reload()
        page.wait_for_selector("#counts .empty")
        assert page.input_value("#machine-wheel_circumference") == MACHINE["wheel_circumference"]
        assert page.input_value("#crop-crop-0") == "beet"
        add(page, "track.gpx")
        assert page.input_value("#turns-1-0") == ""
        assert page.input_value("#row-units") == "1, 2, 3, 4"


def test_what_is_wrong_is_shown_where_it_was_typed(browser, tmp_path):
    with serving(tmp_path) as server, window(browser, server, SIZES["phone"]) as page:
        add(page, "track.gpx")
        page.fill("#turns-1-0", "93")
        page.fill("#machine-wheel_circumference", "long")
        page.click("#measure")
        page.wait_for_selector("#machine-wheel_circumference[aria-invalid]")
        assert "wheel_circumference" in page.inner_text("#figure .trouble")
        page.fill("#machine-wheel_circumference", "")
        page.select_option("#by-counter", "counter")
        page.fill("#start-2-0", "9")
        page.fill("#turns-2-0", "3")
        page.click("#measure")
        page.wait_for_selector("#turns-2-0[aria-invalid]")
        page.troubles.clear()


@pytest.mark.parametrize("text", PAYLOADS.values(), ids=PAYLOADS.keys())
def test_hostile_names_are_only_ever_shown(browser, tmp_path, text):
    text = text.encode("utf-16", "surrogatepass").decode("utf-16", "replace")
    with serving(tmp_path) as server, window(browser, server, SIZES["phone"]) as page:
        file = {"name": f"{text}.gpx", "mimeType": "application/gpx+xml"}
        file["buffer"] = (SAMPLE / "track.gpx").read_bytes()
        page.set_input_files("#add-files", [file])
        page.wait_for_selector("#map .leaflet-control-scale")
        page.fill("#row-units", text.replace(",", ".").replace(";", "."))
        page.press("#row-units", "Tab")
        for name in ("bed", "crop", "setting"):
            page.check(f"#more-{name}")
        for number in range(1, 5):
            page.fill(f"#turns-{number}-0", "93")
            for name in ("bed", "crop", "setting"):
                page.fill(f"#{name}-{number}-0", text[:40])
        page.click("details:has(#run-name) summary")
        page.fill("#run-name", text)
        for name in ("name", "farm", "field", "farm_id", "phone", "id", "tyre"):
            page.fill(f"#machine-{name}", text)
        page.fill("#machine-settings", text)
        page.fill("#crop-crop-0", text)
        page.fill("#crop-spacing-0", "4 cm")
        page.click("#measure")
        page.wait_for_selector("#answer, #figure .trouble")
        if page.query_selector("#answer"):
            for name in ("soil", "note"):
                page.fill(f"#season-{name}", text)
            page.click("#save-run")
            page.wait_for_selector(".saved, #saving .trouble")
        kept(page)
        page.reload()
        page.wait_for_selector("#map .leaflet-control-scale")
        assert page.evaluate("document.querySelectorAll('img, iframe, b, main script').length") == 0
        page.troubles[:] = [t for t in page.troubles if "status of 422" not in t]
    written = {p.relative_to(tmp_path).parts[0] for p in tmp_path.rglob("*")}
    assert all(re.fullmatch(r"\.page|season\S*|[\w-]+", name) for name in written), written
    assert os.listdir(tmp_path.parent).count(tmp_path.name) == 1


@pytest.mark.parametrize("size", [SIZES["laptop"], SIZES["phone"]], ids=["laptop", "phone"])
@pytest.mark.parametrize("locale", ["en-US", "de-DE"])
def test_a_screen_reader_finds_its_way(browser, tmp_path, size, locale):
    """No finding of axe-core, which tests the rules of WCAG 2."""
    with serving(tmp_path) as server, window(browser, server, size, locale=locale) as page:
        assert page.evaluate("document.documentElement.lang") == locale[:2]
        no_findings(page)
        add(page, "track.gpx")
        type_units(page)
        paste(page, "#turns-1-0", block(counts()))
        measured(page)
        no_findings(page)


def words(language: str) -> dict[str, str]:
    text = (STATIC / f"words-{language}.js").read_text(encoding="utf-8")
    found = re.findall(r'(?m)^  "([\w.]+)": "((?:[^"\\]|\\.)*)",$', text)
    assert len(found) == len(text.strip().splitlines()) - 2
    assert len(dict(found)) == len(found)
    return dict(found)


def test_every_language_says_everything():
    english, german = words("en"), words("de")
    assert english.keys() == german.keys()
    for key, text in english.items():
        assert sorted(re.findall(r"\{\w+\}", text)) == sorted(re.findall(r"\{\w+\}", german[key]))
    same = {key for key in english if english[key] == german[key]}
    assert same <= {"units.metric", "units.us", "way.n", "way.s", "way.sw", "way.w", "way.nw"}


def test_every_word_that_is_asked_for_is_there():
    english = words("en")
    asked = set()
    for file in STATIC.glob("*.js"):
        if not file.name.startswith("words-"):
            asked |= set(re.findall(r'\bsay\(\s*"([\w.]+)"', file.read_text(encoding="utf-8")))
    assert asked <= english.keys()
    for source in UncertaintySource:
        assert f"source.{source.value.replace(' ', '_')}" in english
    assert len(Verdict) == 4  # each has its words in step-figure.js


def test_scripts_are_small_and_set_no_markup():
    for file in STATIC.glob("*.js"):
        text = file.read_text(encoding="utf-8")
        assert len(text.splitlines()) < 400
        assert not re.search(r"innerHTML|outerHTML|insertAdjacentHTML|document\.write|eval\(", text)


def test_units_are_switched_on_the_page(browser, tmp_path):
    with serving(tmp_path) as server, window(browser, server, SIZES["phone"]) as page:
        add(page, "track.gpx")
        type_units(page)
        paste(page, "#turns-1-0", block(counts()))
        page.fill("#machine-ground_per_gear_turn_in_use", "30")
        said = measured(page)
        inches = float(re.search(r"([\d.]+) in", said)[1])
        page.select_option("#units", "metric")
        page.wait_for_selector("#answer")
        metric = float(re.search(r"([\d.]+) cm", page.inner_text("#answer"))[1])
        assert metric == pytest.approx(2.54 * inches, rel=1e-3)
        # what was typed keeps the unit in which it was typed
        assert page.input_value("#machine-ground_per_gear_turn_in_use") == "30 in"
