"""Every part of the page goes by keys alone, but for the file, which a browser asks for itself."""

from __future__ import annotations

from browser import keyed_to
from opening import serving, window
from test_page import SIZES, add, counts
from test_page_parts import BENCH, record

__all__ = ["record"]


def test_measure(browser, tmp_path):
    with serving(tmp_path) as server, window(browser, server, SIZES["laptop"]) as page:
        add(page, "track.gpx")

        keyed_to(page, "#row-units")
        page.keyboard.press("Control+a")
        page.keyboard.type("2")
        keyed_to(page, "#turns-1-0")
        rows = counts()
        for unit in (0, 1):
            for number in range(1, 9):
                assert page.evaluate("document.activeElement.id") == f"turns-{number}-{unit}"
                page.keyboard.type(rows[number][unit])
                if number < 8:
                    page.keyboard.press("Enter")
            for _ in range(7):
                page.keyboard.press("ArrowUp")
            page.keyboard.press("Tab")
        keyed_to(page, "#strike-8")
        page.keyboard.press("Space")
        assert page.evaluate("document.activeElement.id") == "strike-8"
        keyed_to(page, "#measure")
        page.keyboard.press("Enter")
        page.wait_for_selector("#answer")
        assert page.evaluate("document.activeElement.id") == "answer"
        keyed_to(page, "#save-run")
        page.keyboard.press("Enter")
        page.wait_for_selector(".saved")
    assert list(tmp_path.glob("2*/run.toml"))


def typed(page, element, text):
    """Go there by keys, take what stands there away, and type."""
    keyed_to(page, element)
    page.keyboard.press("Control+a")
    page.keyboard.type(text)


def pressed(page, element):
    keyed_to(page, element)
    page.keyboard.press("Enter")


def chosen(page, element, value):
    """Choose from a list by the arrow keys."""
    keyed_to(page, element)
    for _ in range(9):
        if page.evaluate("document.activeElement.value") == value:
            return
        page.keyboard.press("ArrowDown")
    raise AssertionError(f"{value} cannot be chosen")


def open_part(page, at):
    """The part of the page at a place in the row of their buttons; the keyboard goes to it."""
    pressed(page, f"header nav button:nth-child({at})")
    page.wait_for_function("document.activeElement.id === 'part'")


def test_setting_seed_and_stand(browser, tmp_path):
    with serving(tmp_path) as server, window(browser, server, SIZES["laptop"]) as page:
        open_part(page, 2)
        typed(page, "#set-crop", "beet")
        typed(page, "#set-spacing", "1.75")
        typed(page, "#set-germination", "81")
        typed(page, "#bench-ground", "30.7")
        keyed_to(page, "#bench-setting-0")
        for column in zip(*BENCH, strict=True):
            for at, text in enumerate(column):
                page.keyboard.type(text)
                if at < len(column) - 1:
                    page.keyboard.press("Enter")  # the next row has come meanwhile
            for _ in column[1:]:
                page.keyboard.press("ArrowUp")
            page.keyboard.press("Tab")
        pressed(page, "#choose")
        page.wait_for_selector("#choose-out .blocks")
        assert "Settings: beet" in page.inner_text("#choose-out")
        with page.context.expect_page() as other:
            pressed(page, "#choose-out a[href$='card.html']")
        other.value.close()
        page.bring_to_front()
        typed(page, "#seed-lengths", "150, 150")
        pressed(page, "#reckon")
        page.wait_for_selector("#reckon-out .blocks")
        typed(page, "#stand-dropped", "20")
        keyed_to(page, "#stands-length-0")
        for text in ("10", "98"):
            page.keyboard.type(text)
            page.keyboard.press("Tab")
        pressed(page, "#emerged")
        page.wait_for_selector("#emerged-out .blocks")


def test_plan(browser, tmp_path):
    with serving(tmp_path) as server, window(browser, server, SIZES["laptop"]) as page:
        open_part(page, 3)
        typed(page, "#plan-bed", "300")
        typed(page, "#plan-speed", "2")
        chosen(page, "#plan-count", "tenth")
        chosen(page, "#plan-phone", "ordinary")
        pressed(page, "#make-plan")
        page.wait_for_selector("#plan-out .blocks", timeout=120_000)
        assert page.input_value("#plan-speed") == "2 mph"


def test_season(browser, tmp_path, record):
    (tmp_path / "season.gpkg").write_bytes(record)
    with serving(tmp_path) as server, window(browser, server, SIZES["laptop"]) as page:
        open_part(page, 4)
        page.wait_for_selector(".runs")
        pressed(page, "#run-1")
        typed(page, "#run-1-note", "east end")
        pressed(page, "#run-1-save")
        page.wait_for_selector("#said:not(:empty)")
        assert page.input_value("#run-1-note") == "east end"
        assert page.evaluate("document.activeElement.id") == "run-1-save"
        pressed(page, "#run-1-remove")
        page.wait_for_selector("#said:text('taken out')")
        assert page.locator(".runs li").count() == 2
        pressed(page, ".log button")
        page.wait_for_selector("#said:text('taken back')")
        assert page.locator(".runs li").count() == 3
        chosen(page, "#compare-way", "soil")
        typed(page, "#compare-first", "dry")
        typed(page, "#compare-second", "wet")
        pressed(page, "#compare")
        page.wait_for_selector("#compare-out .blocks")
        keyed_to(page, "#change-day")
        page.keyboard.type("05012027")  # month, day and year, as a US locale has them
        assert page.input_value("#change-day") == "2027-05-01"
        chosen(page, "#change-kind", "wheel")
        pressed(page, "#note-change")
        page.wait_for_selector("#said:text('wheel')")
        with page.context.expect_page() as other:
            pressed(page, "#make-map")
            page.wait_for_selector("#season-map a")
            pressed(page, "#season-map a")
        other.value.close()
