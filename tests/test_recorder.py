"""The recorder's page: what it writes is what `measure` reads, in the field's ways of going wrong.

A sample is ridden again in real Chromium: its positions come to the page one by one, and its counts
are typed as readings of running counters. The figure must be that of the sample itself.
"""

from __future__ import annotations

import json
import re
import subprocess
import sys
from collections import defaultdict
from contextlib import contextmanager
from pathlib import Path

import pytest
from browser import FLAGS, PAYLOADS, kill_browser, lasting
from opening import serving, window
from recording import FROM_2001_MS, MOCK, Hands, fixes_of, hosted

import groundtruth
from groundtruth.core.errors import InputError
from groundtruth.io import result_to_json
from groundtruth.views.sentences.measurement import fact_sentences
from groundtruth.web.recorder import recorder_files, write_recorder

SAMPLES = Path(__file__).parents[1] / "sample_tracks"
PAGES = Path(groundtruth.__file__).parent / "web" / "recorder" / "pages"


@pytest.fixture(scope="module")
def site(tmp_path_factory):
    return write_recorder(tmp_path_factory.mktemp("recorder")).folder


@contextmanager
def phone(browser, address, *, from_2001=False, mock=True, size=(390, 844), **more):
    """A page of the recorder on a phone; nothing may go wrong in it, or ask another host."""
    context = browser._chromium.new_context(
        viewport={"width": size[0], "height": size[1]},
        has_touch=True,
        locale=more.pop("locale", "en-GB"),
        timezone_id="America/Chicago",
        accept_downloads=True,
        **more,
    )
    troubles = []
    if mock:
        context.add_init_script(MOCK % (FROM_2001_MS if from_2001 else 0))
    page = context.new_page()
    page.on("pageerror", lambda error: troubles.append(str(error)))
    page.on("console", lambda line: troubles.append(line.text) if line.type == "error" else None)
    page.on(
        "request",
        lambda r: None if r.url.startswith((address, "blob:")) else troubles.append(r.url),
    )
    try:
        page.goto(address)
        yield page
        assert troubles == []
    finally:
        context.close()


def set_up(page, *, units=("1",), beds=(), settings=(), crops=(), field="", more=None):
    page.get_by_role("button", name="Set up").click()
    page.get_by_label("feet and inches").check()
    page.get_by_text("Wheel, rolled out (in)").wait_for()
    page.get_by_label("Field", exact=True).fill(field)
    page.locator("textarea[name=unitNames]").fill("\n".join(units))
    page.locator("textarea[name=beds]").fill("\n".join(beds))
    page.locator("textarea[name=settings]").fill("\n".join(settings))
    for index, (name, spacing) in enumerate(crops):
        page.get_by_label(f"Crop {index + 1}", exact=True).fill(name)
        page.get_by_label("plant to plant").nth(index).fill(spacing)
    for name, text in (more or {}).items():
        page.locator(f"input[name={name}]").fill(text)
    page.get_by_role("button", name="Keep", exact=True).click()
    page.get_by_role("button", name="Begin recording").wait_for()


class Sample:
    """A sample's run, its fixes, and its counts by pass, as somebody would have met them."""

    def __init__(self, name):
        self.run = groundtruth.read_run(SAMPLES / name / "run.toml")
        self.fixes = fixes_of(self.run)
        passes = defaultdict(list)
        for count in self.run.turns.counts:
            passes[count.pass_number].append(count)
        self.passes = list(passes.values())
        self.units = [count.unit for count in self.passes[0]]
        self.counter = dict.fromkeys(self.units, 100.0)

    def chosen(self, what):
        """The beds, settings or crops in the order of the day."""
        return list(dict.fromkeys(getattr(p[0], what) for p in self.passes if getattr(p[0], what)))

    def begin(self, page):
        page.evaluate("ms => setNow(ms)", self.fixes[0][0])
        Hands(page, []).press("Begin recording")
        page.get_by_role("button", name="Pass 1 begins").wait_for()
        return Hands(page, self.fixes)

    def begin_pass(self, hands, number):
        counts = self.passes[number - 1]
        hands.ride_to(counts[0].start_s)
        for what in ("bed", "setting", "crop"):
            if value := getattr(counts[0], what):
                hands.choose(what.capitalize(), value)
        for unit, reading in self.counter.items():
            hands.count(unit, f"{reading:.1f}".removesuffix(".0"))
        hands.press(f"Pass {number} begins")
        hands.page.get_by_role("button", name=f"Pass {number} ends").wait_for()

    def end_pass(self, hands, number):
        counts = self.passes[number - 1]
        hands.ride_to(counts[0].end_s)
        for count in counts:
            self.counter[count.unit] = round(self.counter[count.unit] + count.turns, 1)
            hands.count(count.unit, f"{self.counter[count.unit]:.1f}".removesuffix(".0"))
        hands.press(f"Pass {number} ends")
        hands.page.get_by_role("button", name=f"Pass {number + 1} begins").wait_for()

    def finish(self, hands):
        hands.ride_to(self.fixes[-1][0] / 1000)
        hands.press("Passes and files")
        hands.press("End recording")
        hands.press("Press once more to end the recording")
        hands.page.get_by_role("button", name="Go on recording").wait_for()


def exported(hands, folder, track="Save the track (CSV)"):
    folder.mkdir(exist_ok=True)
    return [
        hands.saved(words, folder) for words in (track, "Save the turn sheet", "Save the run file")
    ]


def figures(result):
    """All figures of the answer, to the last digit."""
    whole = json.loads(result_to_json(result))
    keys = ("ground_per_turn_m", "ground_per_turn_u_m", "ground_per_turn_95_m", "slip", "slip_u")
    return {key: whole[key] for key in (*keys, "spread_between_passes_m", "passes", "row_units")}


def measured(run_file):
    run = groundtruth.read_run(run_file)
    return run, groundtruth.measure(run)


NOTES = {1: "dew on the wheel, wiped off", 3: 'plate changed: "the fine one"; again'}
"""Before which pass each was taken."""
ON_PASS_2 = "a stone at the third peg"
DRY_FIRM = {
    "field": "Long Piece",
    "crops": (("beet", "1.75"), ("spinach", "1.1")),
    "more": {
        "farm": "Bramblehythe",
        "seeder": "the blue one",
        "wheel": "71.5",
        "limits": "0.08",
        "ratio": "2.4",
        "inUse": "29.8",
    },
}


@pytest.mark.parametrize("way", ["signal", "no signal", "from 2001", "gpx"])
def test_a_sample_ridden_again_gives_the_figure_of_the_sample(browser, tmp_path, way):
    folder = write_recorder(tmp_path / "site").folder
    sample = Sample("dry-firm")
    with (
        hosted(folder) as (address, server),
        phone(browser, address, from_2001=way == "from 2001") as page,
    ):
        beds, settings = sample.chosen("bed"), sample.chosen("setting")
        set_up(page, units=sample.units, beds=beds, settings=settings, **DRY_FIRM)
        if way == "no signal":
            page.get_by_text("Kept on this phone: opens with no signal.").wait_for()
            server.shutdown()
            server.server_close()
            page.reload()
        hands = sample.begin(page)
        for number in range(1, len(sample.passes) + 1):
            if number in NOTES:
                noted(hands, NOTES[number])
            sample.begin_pass(hands, number)
            if number == 2:
                noted(hands, ON_PASS_2)
            sample.end_pass(hands, number)
        sample.finish(hands)
        track = "Save the track (GPX)" if way == "gpx" else "Save the track (CSV)"
        track_file, turns_file, run_file = exported(hands, tmp_path / "files", track)
        said = page.get_by_text("The browser counts time from 2001").count()
        assert said == (way == "from 2001")
    if way == "gpx":
        text = run_file.read_text(encoding="utf-8")
        run_file.write_text(text.replace("-track.csv", "-track.gpx"), encoding="utf-8")
    assert track_file.parent == turns_file.parent == run_file.parent
    run, result = measured(run_file)
    assert [n for n in run.notices if n.kind != "fact"] == []
    assert run.units == "us"
    assert run.name == run.origin.field == "Long Piece"
    assert run.origin.farm == "Bramblehythe"
    assert run.seeder.name == "the blue one"
    assert [c.name for c in run.crops] == ["beet", "spinach"]
    assert run.track.time_s.tolist() == sample.run.track.time_s.tolist()
    assert run.track.latitude_deg.tolist() == sample.run.track.latitude_deg.tolist()
    key = [(c.pass_number, c.unit, c.turns, c.start_s, c.bed, c.crop) for c in run.turns.counts]
    assert key == [
        (c.pass_number, c.unit, c.turns, c.start_s, c.bed, c.crop) for c in sample.run.turns.counts
    ]
    assert figures(result) == figures(groundtruth.measure(sample.run))
    said = [n.text for n in result.facts if n.text.startswith("note")]
    assert said[1] == f"note on pass 2: {ON_PASS_2}"
    assert [re.sub("at .*Z", "at Z", said[i]) for i in (0, 2)] == [
        f"note at Z: {NOTES[1]}",
        f"note at Z: {NOTES[3]}",
    ]
    assert NOTES[3] in "".join(fact_sentences(result))
    if way == "signal":
        assert measured_on_the_page(browser, tmp_path, track_file, turns_file) == pytest.approx(
            result.ground_per_turn.value, rel=1e-12
        )


def noted(hands, text):
    hands.page.get_by_label("Note").fill(text)
    hands.press("Keep note")
    hands.page.get_by_text("Note kept").wait_for()


def measured_on_the_page(browser, folder, *files):
    """The figure of `groundtruth open` from the recorder's files as they are, in m."""
    with serving(folder) as server, window(browser, server, (1280, 900)) as page:
        for file in files:
            page.set_input_files("#add-files", str(file))
            page.locator(".files li", has_text=file.name).wait_for()
        page.click("text=More about machine and run")
        page.fill("#machine-ground_per_gear_turn_in_use", "29.8 in")
        page.fill("#machine-wheel_circumference", "71.5 in ± 0.08 in")
        page.fill("#machine-gear_turns_per_wheel_turn", "2.4")
        page.click("#measure")
        page.wait_for_selector("#answer")
        page.click("#save-run")
        page.wait_for_selector(".saved")
    (saved,) = folder.glob("2*/result.json")
    return json.loads(saved.read_text())["ground_per_turn_m"]


def test_tenths_of_turns_come_out_as_typed(browser, site, tmp_path):
    sample = Sample("new-tyres")
    sample.passes = sample.passes[:2]
    with hosted(site) as (address, _), phone(browser, address) as page:
        set_up(page, units=sample.units)
        hands = sample.begin(page)
        for number in (1, 2):
            sample.begin_pass(hands, number)
            sample.end_pass(hands, number)
        sample.finish(hands)
        _, turns, _ = exported(hands, tmp_path)
    read = groundtruth.read_turns(turns)
    assert [(c.turns, c.resolution) for c in read.counts] == [
        (c.turns, c.resolution) for p in sample.passes for c in p
    ]


def test_a_falling_counter_is_refused_at_both_ends(browser, site):
    sample = Sample("new-tyres")
    with hosted(site) as (address, _), phone(browser, address) as page:
        set_up(page, units=("A", "B"))
        hands = sample.begin(page)
        hands.count("A", "500")
        hands.count("B", "")
        hands.press("Pass 1 begins")
        assert page.get_by_role("alert").all_inner_texts() == ["Read this counter."]
        hands.count("B", "60 1")
        hands.press("Pass 1 begins")
        assert "no reading" in page.get_by_role("alert").first.inner_text()
        hands.count("B", "61,5")
        hands.press("Pass 1 begins")
        page.get_by_role("button", name="Pass 1 ends").wait_for()
        hands.count("A", "499.9")
        hands.count("B", "70")
        hands.press("Pass 1 ends")
        assert page.get_by_role("alert").all_inner_texts() == [
            "Lower than 500 before. A counter does not fall: read it again."
        ]
        hands.count("A", "560")
        hands.press("Pass 1 ends")
        page.get_by_role("button", name="Pass 2 begins").wait_for()
        hands.count("B", "69.9")
        hands.press("Pass 2 begins")
        assert "Lower than 70 before" in page.get_by_role("alert").first.inner_text()
        hands.press("Counters were set to 0")
        hands.press("Pass 2 begins")
        page.get_by_role("button", name="Pass 2 ends").wait_for()
        hands.count("A", "0")
        hands.count("B", "9")
        hands.press("Pass 2 ends")
        assert "Unit A: the counter has not moved" in page.get_by_role("alert").first.inner_text()
        hands.press("Pass 2 ends")
        page.get_by_role("button", name="Pass 3 begins").wait_for()
        hands.press("Passes and files")
        page.get_by_role("button", name=re.compile("Correct: Pass 1")).click()
        page.get_by_label("Unit A, end").fill("499")
        hands.press("Keep correction")
        assert "Lower than 500" in page.get_by_role("alert").first.inner_text()
        page.get_by_label("Unit A, end").fill("561")
        hands.press("Keep correction")
        page.get_by_text("500 → 561").wait_for()


def test_while_it_moves_nothing_can_be_touched(browser, site):
    sample = Sample("dry-firm")
    with hosted(site) as (address, _), phone(browser, address) as page:
        set_up(page, units=("1",))
        hands = sample.begin(page)
        begins = page.get_by_role("button", name="Pass 1 begins")
        count = sample.passes[0][0]
        hands.ride_to(count.start_s)
        assert begins.is_enabled()
        assert "Readings are taken standing" in page.locator("header").inner_text()
        hands.ride_to((count.start_s + count.end_s) / 2)
        assert begins.is_disabled()
        assert page.get_by_label("Counter of unit 1").is_disabled()
        assert "Hands off the phone" in page.locator("header").inner_text()
        hands.ride_to(count.end_s)
        assert begins.is_enabled()


@pytest.mark.skipif(not Path("/proc").is_dir(), reason="processes are found in /proc")
def test_killing_the_browser_midway_loses_nothing(browser, tmp_path):
    folder = write_recorder(tmp_path / "site").folder
    sample = Sample("dry-firm")
    sample.passes = sample.passes[:2]
    profile, away_s = tmp_path / "profile", 12

    @contextmanager
    def started(address, now_s):
        size = {"width": 390, "height": 844}
        how = {"viewport": size, "accept_downloads": True, "locale": "en-GB"}
        with lasting(browser, profile, **how) as context:
            context.add_init_script(MOCK % 0 + f"setNow({now_s * 1000});")
            page = context.pages[0]
            page.goto(address)
            yield page

    with hosted(folder) as (address, _):
        with started(address, sample.fixes[0][0] / 1000) as page:
            beds, settings = sample.chosen("bed"), sample.chosen("setting")
            set_up(page, units=sample.units, beds=beds, settings=settings, **DRY_FIRM)
            hands = sample.begin(page)
            for unit, reading in sample.counter.items():
                hands.count(unit, str(reading))
            hands.ride_to(sample.passes[0][0].start_s)
            hands.press("Pass 1 begins")
            page.get_by_role("button", name="Pass 1 ends").wait_for()
            hands.ride_to(sample.passes[0][0].end_s)
            hands.count("1", "193")
            page.get_by_label("Note").fill("a stone at the third peg")
            page.get_by_text(f"{hands.at} positions").wait_for()
            page.wait_for_timeout(300)
            kill_browser(page, profile)
        with started(address, sample.passes[0][0].end_s + away_s) as page:
            page.get_by_role("button", name="Pass 1 ends").wait_for()
            assert f"Nothing came in for {away_s} s" in page.locator("header").inner_text()
            page.get_by_text(f"{hands.at} positions").wait_for()
            assert page.get_by_label("Counter of unit 1").input_value() == "193"
            assert page.get_by_label("Note").input_value() == "a stone at the third peg"
            went_on = Hands(page, sample.fixes)
            went_on.at = hands.at + away_s  # a fix a second
            sample.end_pass(went_on, 1)
            sample.begin_pass(went_on, 2)
            sample.end_pass(went_on, 2)
            sample.finish(went_on)
            track, turns, _ = exported(went_on, tmp_path / "files")
    times = groundtruth.read_track(track).time_s.tolist()
    whole = sample.run.track.time_s.tolist()
    assert times == whole[: hands.at] + whole[hands.at + away_s :]
    read = groundtruth.read_turns(turns)
    assert [(c.turns, c.start_s, c.end_s) for c in read.counts] == [
        (c.turns, c.start_s, c.end_s) for p in sample.passes for c in p
    ]


def test_a_phone_whose_clock_is_off_writes_the_sheet_on_the_clock_of_the_positions(
    browser, site, tmp_path
):
    sample = Sample("new-tyres")
    ahead_s = 41.0
    with hosted(site) as (address, _), phone(browser, address) as page:
        set_up(page)
        page.evaluate("ms => setNow(ms)", sample.fixes[0][0] + 1000 * ahead_s)
        hands = Hands(page, sample.fixes)
        hands.press("Begin recording")
        page.get_by_role("button", name="Pass 1 begins").wait_for()
        ride = "fixes => { for (const f of fixes) { setNow(f[0] + 41000); hear(f); } }"
        page.evaluate(ride, sample.fixes[:177])
        hands.count("1", "5")
        hands.press("Pass 1 begins")
        page.get_by_role("button", name="Pass 1 ends").wait_for()
        page.evaluate(ride, sample.fixes[177:257])
        hands.count("1", "81")
        hands.press("Pass 1 ends")
        page.get_by_role("button", name="Pass 2 begins").wait_for()
        hands.press("Passes and files")
        page.get_by_text("The phone's clock is 41.0 s ahead").wait_for()
        turns = hands.saved("Save the turn sheet", tmp_path)
    (count,) = groundtruth.read_turns(turns).counts
    assert count.start_s == sample.run.track.time_s[176]
    assert count.end_s == sample.run.track.time_s[256]


def test_a_first_position_that_is_old_is_left_out(browser, site, tmp_path):
    sample = Sample("new-tyres")
    with hosted(site) as (address, _), phone(browser, address) as page:
        set_up(page)
        hands = sample.begin(page)
        begun = sample.fixes[0][0]
        page.evaluate("fix => hear(fix)", [begun - 600_000, *sample.fixes[0][1:]])
        hands.ride_to(begun / 1000 + 20)
        page.evaluate("fix => hear(fix)", sample.fixes[20])  # some browsers say it twice
        page.wait_for_function("document.body.innerText.includes('21 positions')")
        hands.press("Passes and files")
        page.get_by_text("1 positions older than the recording left out.").wait_for()
        page.get_by_text("1 positions that came twice left out.").wait_for()
        hands.at = 21
        hands.ride_to(begun / 1000 + 21)  # comes while the files are looked at
        track = hands.saved("Save the track (CSV)", tmp_path)
    assert groundtruth.read_track(track).time_s.tolist() == [f[0] / 1000 for f in sample.fixes[:22]]


def test_the_browser_s_own_positions_arrive_and_the_screen_is_kept_on(browser, site, tmp_path):
    place = {"latitude": 48.25, "longitude": 11.5, "accuracy": 4}
    more = {"geolocation": place, "permissions": ["geolocation", "screen-wake-lock"]}
    with hosted(site) as (address, _), phone(browser, address, mock=False, **more) as page:
        set_up(page)
        page.evaluate(
            "() => { window.locks = []; const ask = navigator.wakeLock.request.bind("
            "navigator.wakeLock); navigator.wakeLock.request = async (kind) => {"
            "const lock = await ask(kind); locks.push(lock); return lock; }; }"
        )
        Hands(page, []).press("Begin recording")
        page.get_by_role("button", name="Pass 1 begins").wait_for()
        page.context.set_geolocation(place)  # again, since the first may count as old by now
        page.get_by_text("accuracy 13 ft").wait_for()
        page.get_by_text("screen stays on").wait_for()
        page.evaluate("() => locks[0].release()")  # as the browser does when the page is hidden
        page.get_by_text("Screen may go dark").wait_for()
        page.evaluate("() => document.dispatchEvent(new Event('visibilitychange'))")
        page.get_by_text("screen stays on").wait_for()
        assert page.evaluate("() => locks.length") == 2
        page.context.set_geolocation({**place, "latitude": 48.2501})
        page.wait_for_function("/[2-9] positions/.test(document.body.innerText)")
        hands = Hands(page, [])
        hands.press("Passes and files")
        track = groundtruth.read_track(hands.saved("Save the track (CSV)", tmp_path))
    assert set(track.latitude_deg) == {48.25, 48.2501}
    assert set(track.accuracy_m) == {4.0}


def test_what_stands_in_the_way_is_said(browser, site):
    with hosted(site) as (address, _):
        with phone(browser, address) as page:
            set_up(page)
            Hands(page, []).press("Begin recording")
            page.get_by_role("button", name="Pass 1 begins").wait_for()
            page.evaluate("() => refusePositions()")
            page.get_by_text("The browser gives no positions.").wait_for()
            other = page.context.new_page()
            other.goto(address)
            other.get_by_text("The recorder is open in another window.").wait_for()
        plain = f"http://farm.example:{address.rsplit(':', 1)[1]}"
        rules = "--host-resolver-rules=MAP farm.example 127.0.0.1"
        chromium = browser._chromium.browser_type.launch(
            executable_path=browser.path, args=[*FLAGS, "--no-sandbox", rules]
        )
        page = chromium.new_page()
        page.goto(plain)
        page.get_by_text("This page came over http").wait_for()
        chromium.close()


WIDER = "() => document.documentElement.scrollWidth - innerWidth"
HOSTILE = [PAYLOADS[key] for key in ("script", "image", "attribute", "markup", "bidi")]


def test_hostile_names_stay_text_on_the_page_and_in_the_files(browser, site, tmp_path):
    sample = Sample("new-tyres")
    with hosted(site) as (address, _), phone(browser, address, size=(360, 740)) as page:
        set_up(page, units=HOSTILE[:2], beds=HOSTILE, settings=HOSTILE, field=HOSTILE[0])
        hands = sample.begin(page)
        hands.page.locator("summary", has_text="Crop").click()
        page.get_by_label("Another Crop").fill(HOSTILE[1])
        hands.press("Add")
        page.get_by_label("Note").fill('it"s, "odd"; \\u0000 \u202e')
        hands.press("Keep note")
        page.get_by_text("Note kept").wait_for()
        for reading, after_s, then in (("10", 0, "Pass 1 ends"), ("90", 80, "Pass 2 begins")):
            for row in page.locator(".count").all():
                row.fill(reading)
            hands.ride_to(sample.passes[0][0].start_s + after_s)
            page.locator(".big").click()
            page.get_by_role("button", name=then).wait_for()
        assert page.evaluate(WIDER) == 0
        hands.press("Passes and files")
        page.get_by_role("button", name="Save the run file").wait_for()
        assert page.evaluate(WIDER) == 0
        assert page.locator("img, main script, svg").count() == 0
        _, turns, run_file = exported(hands, tmp_path)
    counts = groundtruth.read_turns(turns).counts
    assert {c.unit for c in counts} == set(HOSTILE[:2])
    assert {c.crop for c in counts} == {HOSTILE[1]}
    assert groundtruth.read_run(run_file).name == HOSTILE[0]


def test_shared_files_are_those_that_are_saved(browser, site, tmp_path):
    sample = Sample("new-tyres")
    with hosted(site) as (address, _), phone(browser, address) as page:
        page.add_init_script(
            "navigator.canShare = ({ files }) => files.every((f) => /csv|txt$/.test(f.name));"
            "navigator.share = async ({ files }) => {"
            "for (const f of files) shared.push([f.name, await f.text()]); };"
        )
        page.reload()
        set_up(page)
        hands = sample.begin(page)
        hands.ride_to(sample.passes[0][0].start_s)
        hands.count("1", "0")
        hands.press("Pass 1 begins")
        page.get_by_role("button", name="Pass 1 ends").wait_for()
        hands.ride_to(sample.passes[0][0].end_s)
        hands.count("1", "76.8")
        hands.press("Pass 1 ends")
        page.get_by_role("button", name="Pass 2 begins").wait_for()
        hands.press("Passes and files")
        hands.press("Share all files")
        page.get_by_text("take the .txt off the name").wait_for()
        shared = page.evaluate("() => shared")
        saved = exported(hands, tmp_path)
    assert [name.removesuffix(".txt") for name, _ in shared] == [path.name for path in saved]
    assert [text for _, text in shared] == [path.read_text("utf-8") for path in saved]


def test_every_word_stands_in_both_languages_and_is_used(browser, site):
    with hosted(site) as (address, _), phone(browser, address, locale="de-DE") as page:
        page.get_by_role("button", name="Aufzeichnung beginnen").wait_for()
        words = page.evaluate(
            "async () => Object.fromEntries(await Promise.all(['en', 'de'].map(async (l) => "
            "[l, (await import(`./words-${l}.js`)).default])))"
        )
    english, german = words["en"], words["de"]
    assert list(english) == list(german)
    for key, text in english.items():
        assert sorted(re.findall(r"{\w+}", text)) == sorted(re.findall(r"{\w+}", german[key])), key
    code = "".join(p.read_text("utf-8") for p in PAGES.glob("*.js") if "words-" not in p.name)
    spelled = set(re.findall(r'"(\w+)"', code))
    unused = {k for k in english if k not in spelled and not k.startswith("fault_")}
    assert unused <= {"name", "title"}


def test_the_page_asks_nobody_and_sets_no_markup():
    for path in PAGES.glob("*.js"):
        code = path.read_text("utf-8")
        assert not re.search(r"innerHTML|outerHTML|insertAdjacent|document\.write|eval\(", code), (
            path
        )
    policy = re.search('Security-Policy" content="(.*?)"', (PAGES / "index.html").read_text())
    assert policy
    assert policy[1].startswith("default-src 'none'; ")
    assert set(re.findall(r"-src ([^;]*)", policy[1])) == {"'none'", "'self'"}


def test_the_folder_is_replaced_only_where_it_is_ours(tmp_path):
    place = tmp_path / "deep" / "site"
    for _ in range(2):
        command = [sys.executable, "-m", "groundtruth", "page", "--out", str(place)]
        done = subprocess.run(command, capture_output=True, text=True, check=True)
        assert "https" in done.stdout
    assert {p.name for p in place.iterdir()} == set(recorder_files())
    (place / "index.html").write_text("<p>mine</p>")
    with pytest.raises(InputError, match=r"index\.html: was not written by groundtruth"):
        write_recorder(place)
    assert (place / "index.html").read_text() == "<p>mine</p>"
    write_recorder(place, overwrite=True)
    assert (place / "index.html").read_bytes() == recorder_files()["index.html"]


def test_the_version_changes_with_any_byte_and_names_every_file():
    files = recorder_files()
    listed = json.loads(re.search(r"= (.*);", files["site-files.js"].decode())[1])
    assert set(listed["files"]) == set(files) - {"worker.js", "site-files.js", "site.json"}
    asked = set()
    for name in listed["files"]:
        if name.endswith(".js"):
            asked |= set(re.findall(r'from "\./([\w.-]+)"', files[name].decode()))
    asked |= set(re.findall(r'(?:href|src)="([\w.-]+)"', files["index.html"].decode()))
    assert asked <= set(listed["files"])


def test_a_glove_that_touches_twice_does_nothing_twice(browser, site):
    sample = Sample("new-tyres")
    with hosted(site) as (address, _), phone(browser, address) as page:
        set_up(page)
        page.evaluate("ms => setNow(ms)", sample.fixes[0][0])
        twice = "button => { button.click(); button.click(); }"
        page.get_by_role("button", name="Begin recording").evaluate(twice)
        page.get_by_role("button", name="Pass 1 begins").wait_for()
        hands = Hands(page, sample.fixes)
        hands.ride_to(sample.passes[0][0].start_s)
        hands.count("1", "5")
        page.get_by_role("button", name="Pass 1 begins").evaluate(twice)
        page.get_by_role("button", name="Pass 1 ends").wait_for()
        hands.ride_to(sample.passes[0][0].end_s)
        hands.count("1", "80")
        page.get_by_role("button", name="Pass 1 ends").evaluate(twice)
        second = page.get_by_role("button", name="Pass 2 begins")
        second.wait_for()
        assert second.is_disabled()
        hands.press("Start page")
        page.get_by_role("button", name="Back to recording").wait_for()
        assert page.locator(".days li").count() == 1
        assert "1 passes" in page.locator(".days li").inner_text()
        hands.press("Back to recording")
        second.wait_for()
        hands.press("Pass 2 begins")  # waits until it can be pressed
        page.get_by_role("button", name="Pass 2 ends").wait_for()
