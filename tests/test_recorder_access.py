"""The recorder by keyboard alone, and what axe-core finds on each of its screens."""

from __future__ import annotations

import re

import pytest
from browser import keyed_to, no_findings
from recording import Hands, hosted
from test_recorder import PAGES, Sample, phone, set_up, site

import groundtruth

__all__ = ["site"]

WANTED = """words => {
  const found = [...document.querySelectorAll("button")]
    .find((one) => one.textContent === words && !one.disabled);
  found?.setAttribute("data-wanted", "");
  return Boolean(found);
}"""


def pressed(page, words):
    """Go to a button by Tab, once it can be pressed, and press it by Enter."""
    page.wait_for_function(WANTED, arg=words)
    keyed_to(page, "[data-wanted]")
    page.evaluate("document.querySelector('[data-wanted]').removeAttribute('data-wanted')")
    page.keyboard.press("Enter")


def typed(page, element, text):
    keyed_to(page, element)
    page.keyboard.press("Control+a")
    page.keyboard.insert_text(text)


def tapped(page, what, value):
    """Unfold beds, settings or crops by key and choose one."""
    page.locator("summary", has_text=what).first.evaluate("e => e.id = 'unfold'")
    keyed_to(page, "#unfold")
    page.keyboard.press("Enter")
    pressed(page, value)
    page.locator("summary strong", has_text=value).wait_for()
    page.evaluate("document.getElementById('unfold')?.removeAttribute('id')")


def test_a_day_by_keyboard_alone(browser, site, tmp_path):
    sample = Sample("new-tyres")
    with hosted(site) as (address, _), phone(browser, address) as page:
        pressed(page, "Set up")
        page.get_by_role("heading", name="Set up").wait_for()
        assert page.evaluate("document.activeElement.tagName") == "H1"
        keyed_to(page, "input[name=units]")
        page.keyboard.press("ArrowDown")
        page.get_by_text("Wheel, rolled out (in)").wait_for()
        typed(page, "textarea[name=unitNames]", "A\nB")
        typed(page, "textarea[name=beds]", "1\n2")
        typed(page, "textarea[name=settings]", "F1\nF2")
        typed(page, ".crop input", "beet")
        pressed(page, "Keep")
        page.evaluate("ms => setNow(ms)", sample.fixes[0][0])
        pressed(page, "Begin recording")
        hands = Hands(page, sample.fixes)
        for number, (begins, ends) in enumerate((("10", "86"), ("86", "163")), start=1):
            count = sample.passes[number - 1][0]
            page.get_by_role("heading", name=f"Pass {number}").wait_for()
            hands.ride_to(count.start_s)
            if number == 1:
                tapped(page, "Setting", "F2")
                tapped(page, "Crop", "beet")
            for unit in (0, 1):
                typed(page, f".counter:nth-of-type({unit + 1}) input", begins)
            pressed(page, f"Pass {number} begins")
            page.get_by_role("heading", name=f"On pass {number}").wait_for()
            typed(page, "textarea", "a stone")
            pressed(page, "Keep note")
            page.get_by_text("Note kept").wait_for()
            hands.ride_to(count.end_s)
            for unit in (0, 1):
                typed(page, f".counter:nth-of-type({unit + 1}) input", ends)
            pressed(page, f"Pass {number} ends")
        page.get_by_role("heading", name="Pass 3").wait_for()
        pressed(page, "Passes and files")
        pressed(page, "Correct")
        typed(page, ".corrections input", "9")
        pressed(page, "Keep correction")
        page.get_by_text("9 → 86").wait_for()
        with page.expect_download() as caught:
            pressed(page, "Save the turn sheet")
        caught.value.save_as(tmp_path / "turns.csv")
        pressed(page, "End recording")
        pressed(page, "Press once more to end the recording")
        page.get_by_role("button", name="Go on recording").wait_for()
    counts = groundtruth.read_turns(tmp_path / "turns.csv").counts
    assert [(c.unit, c.turns, c.setting, c.crop, c.bed) for c in counts] == [
        ("A", 77, "F2", "beet", "1"),
        ("B", 76, "F2", "beet", "1"),
        ("A", 77, "F2", "beet", "2"),
        ("B", 77, "F2", "beet", "2"),
    ]


@pytest.mark.parametrize(("locale", "size"), [("en-US", (390, 844)), ("de-DE", (1280, 900))])
def test_no_screen_has_a_finding_of_axe_core(browser, site, locale, size):
    sample = Sample("new-tyres")
    with (
        hosted(site) as (address, _),
        phone(browser, address, locale=locale, size=size) as page,
    ):
        words = page.evaluate(f"async () => (await import('./words-{locale[:2]}.js')).default")

        def said(key, **values):
            return re.sub(r"\{(\w+)\}", lambda found: str(values[found[1]]), words[key])

        def press(key, **values):
            page.get_by_role("button", name=said(key, **values), exact=True).first.click()

        def at(heading, **values):
            page.get_by_role("heading", name=said(heading, **values), exact=True).wait_for()
            no_findings(page)

        at("title")
        press("set_up")
        page.locator("input[name=wheel]").fill("long")
        press("keep")
        page.get_by_role("alert").first.wait_for()
        at("set_up")
        page.locator("input[name=wheel]").fill("")
        page.locator("textarea[name=beds]").fill("1\n2")
        page.locator("textarea[name=settings]").fill("F1")
        press("keep")
        page.evaluate("ms => setNow(ms)", sample.fixes[0][0])
        press("begin")
        at("next_pass", number=1)
        hands = Hands(page, sample.fixes)
        count = sample.passes[0][0]
        hands.ride_to(count.start_s)
        press("begins", number=1)  # refused: nothing typed
        page.get_by_role("alert").first.wait_for()
        at("next_pass", number=1)
        page.locator(".count").fill("5")
        press("begins", number=1)
        at("on_pass", number=1)
        hands.ride_to((count.start_s + count.end_s) / 2)
        assert page.locator(".big").is_disabled()
        no_findings(page)  # grey while it moves
        hands.ride_to(count.end_s)
        page.locator(".count").fill("80")
        press("ends", number=1)
        at("next_pass", number=2)
        page.locator("textarea").fill("a stone")
        press("keep_note")
        page.locator(".notice").get_by_text(said("note_kept", when="").strip()[:5]).wait_for()
        no_findings(page)
        press("passes_and_files")
        page.locator(".passes").wait_for()
        no_findings(page)
        page.locator(".passes .pair button").first.click()
        page.locator(".corrections input").first.fill("900")
        press("keep_correction")
        page.locator(".corrections").wait_for()
        no_findings(page)
        press("end_day")
        press("end_day_sure")
        page.get_by_role("button", name=said("go_on")).wait_for()
        no_findings(page)
        press("home")
        at("title")
        other = page.context.new_page()
        other.goto(address)
        other.get_by_text(said("elsewhere")).wait_for()
        no_findings(other)
        other.goto((PAGES / "index.html").as_uri())  # opened as a file it says why nothing happens
        other.get_by_text("https").first.wait_for()
        no_findings(other)


@pytest.mark.parametrize("size", [(390, 844), (390, 740), (360, 640)])
def test_the_big_button_leaves_room_and_covers_nothing_that_is_used(browser, site, size):
    """On a low window the list has two thirds of it; what has the keyboard stands clear."""
    sample = Sample("dry-firm")
    with hosted(site) as (address, _), phone(browser, address, size=size) as page:
        set_up(page, units=sample.units, beds=sample.chosen("bed"), field="Long Piece")
        sample.begin(page)
        page.evaluate("scrollTo(0, 300)")
        covered = page.evaluate(
            """() => [...document.querySelectorAll("header, .big.field")].reduce((sum, one) => {
              const { top, bottom } = one.getBoundingClientRect();
              return sum + Math.max(0, Math.min(bottom, innerHeight) - Math.max(top, 0)); }, 0)"""
        )
        if size[1] < 800:
            assert covered < size[1] / 3
        for unit in range(len(sample.units)):
            page.locator(".count").nth(unit).focus()
            clear = page.evaluate(
                """() => { const { left, top, width, height } =
                document.activeElement.getBoundingClientRect();
                return document.elementFromPoint(left + width / 2, top + height / 2) ===
                document.activeElement; }"""
            )
            assert clear
