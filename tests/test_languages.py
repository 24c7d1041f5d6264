"""What people read comes whole in every language: each template translated, nothing left over.

The PO files are read and checked by outside tools: Babel, and msgfmt of GNU gettext where it is
installed.
"""

from __future__ import annotations

import ast
import json
import pickle
import re
import shutil
import subprocess
from dataclasses import replace
from html.parser import HTMLParser
from pathlib import Path
from string import Formatter
from threading import Thread

import catalogue
import pytest
from browser import no_findings
from factories import make_result
from opening import serving, window
from test_card import card, choice
from test_page import MACHINE, add, block, counts, measured, paste, type_units
from test_page_parts import BENCH, go_to
from views.test_measurement_sentences import ADVICE, FINDINGS

from groundtruth.app.measure import MeasureRequest, measured_run_for
from groundtruth.cli.main import main
from groundtruth.core.language import LANGUAGES, English, many, said, say, speaking
from groundtruth.core.notices import Notice, at_line
from groundtruth.io.result_json.write import result_to_json
from groundtruth.season.run_tables import RUNS
from groundtruth.views import card_html, field_map_html, report_html, season_map_html
from groundtruth.views.card import card_text
from groundtruth.views.map.words import RUN, SEASON
from groundtruth.views.tables.season import _HEADINGS

OTHERS = [language for language in LANGUAGES if language != "en"]
ROOT = Path(__file__).parents[1]
SAMPLES = ROOT / "sample_tracks"
FULL = replace(
    make_result(units=("A", "B"), lagging="B"),
    advice=ADVICE,
    findings=FINDINGS,
    warnings=(),
    facts=(),
    repairs=(Notice(kind="repair", text=English("total row left out"), where=at_line("t.csv", 9)),),
)


def fields(text):
    """Names of the fields of a template, each with how it is written."""
    return {(name, how, to) for _, name, how, to in Formatter().parse(text) if name is not None}


def forms(message):
    """Each translated form of a message beside the one that it stands for."""
    if isinstance(message.id, str):
        return [(message.id, message.string)]
    return list(zip(message.id, message.string, strict=True))


def test_every_template_stands_in_the_code_to_be_seen():
    templates, unseen = catalogue.said_in_code()
    assert len(templates) > 500
    assert unseen == []


def test_there_is_a_catalogue_of_every_language():
    assert catalogue.languages() == OTHERS


@pytest.mark.parametrize("language", OTHERS)
def test_every_template_is_translated_with_the_same_fields(language):
    found = {
        message.id if isinstance(message.id, str) else tuple(message.id): message
        for message in catalogue.catalogue(language)
        if message.id
    }
    assert found.keys() == catalogue.said_in_code()[0]
    for message in found.values():
        assert not message.fuzzy
        for english, other in forms(message):
            assert other, message.id
            assert fields(other) == fields(english), message.id
            assert english.startswith(" ") == other.startswith(" "), message.id
            assert english.endswith(" ") == other.endswith(" "), message.id
            if len(english) > 12:  # no abbreviation
                assert english.endswith(".") == other.endswith("."), message.id


@pytest.mark.parametrize("language", OTHERS)
def test_the_program_reads_what_the_catalogue_says(language):
    with speaking(language):
        for message in catalogue.catalogue(language):
            if isinstance(message.id, str) and message.id and "{" not in message.id:
                assert say(message.id) == message.string


@pytest.mark.parametrize("language", OTHERS)
@pytest.mark.skipif(shutil.which("msgfmt") is None, reason="GNU gettext is not installed")
def test_gettext_finds_no_fault_in_the_catalogue(language, tmp_path):
    check = ["msgfmt", "--check-format", "--check-header", "-o", str(tmp_path / "made.mo")]
    told = subprocess.run(
        [*check, str(catalogue.WORDS / f"{language}.po")], capture_output=True, text=True
    )
    assert told.returncode == 0, told.stderr


def test_nothing_changes_where_nobody_asks_for_a_language():
    assert say("{low} to {high}", low="1.5", high="2.5") == "1.5 to 2.5"
    assert say("{factor:.2f} times", factor=1.234) == "1.23 times"


def test_figures_and_counts_follow_the_language():
    with speaking("de"):
        assert many(1, "{count} pass", "{count} passes") == "1 Fahrt"
        assert many(3, "{count} pass", "{count} passes") == "3 Fahrten"
        assert say("{years:.1f} years", years=2.25) == "2,2 Jahre"
    assert many(0, "{count} pass", "{count} passes") == "0 passes"


def test_english_text_is_said_again_wherever_it_has_been():
    text = English("{row}: no pass of the track was found for it; it is left out",
                   row=English("line {line}: pass {number}", line=4, number=7))  # fmt: skip
    assert text == "line 4: pass 7: no pass of the track was found for it; it is left out"
    for copy in (text, pickle.loads(pickle.dumps(text))):
        with speaking("de"):
            assert said(copy).startswith("Zeile 4: Fahrt 7: Dazu")
            assert f"{copy}" == text
    counted = English.counted(2, "{count} fix", "{count} fixes")
    with speaking("de"):
        assert said(pickle.loads(pickle.dumps(counted))) == "2 Positionen"
        assert said("a name of nobody's") == "a name of nobody's"


def test_each_thread_speaks_its_own_language():
    heard = []
    with speaking("de"):
        thread = Thread(target=lambda: heard.append(say("pass")))
        thread.start()
        thread.join()
    assert heard == ["pass"]


def test_an_unknown_language_is_refused():
    with pytest.raises(ValueError, match="no words in 'xx'"), speaking("xx"):
        pass


def test_scripts_ask_only_for_words_that_they_are_given():
    room = ROOT / "groundtruth" / "views" / "map"
    for files, given in (
        (("common.js", "run.js"), RUN),
        (("common.js", "season.js", "season_panel.js", "season_print.js"), SEASON),
    ):
        asked = set()
        for name in files:
            code = (room / name).read_text(encoding="utf-8")
            asked |= set(re.findall(r'\bsay\(\s*"([^"]+)"', code))
            asked |= {
                form
                for both in re.findall(r'\bmany\([^"]*"([^"]+)",\s*"([^"]+)"', code)
                for form in both
            }
            conditional = r'say\([^"()]*\?\s*"([^"]+)"\s*:\s*"([^"]+)"'
            assert not re.search(conditional, code)
        known = {form for one in given for form in ((one,) if isinstance(one, str) else one)}
        assert asked <= known
        assert {one for one in known if one not in asked} <= {"Look at this", "too unsure"}


def test_every_heading_of_the_record_can_be_said():
    assert {c.heading for c in RUNS.columns if c.heading} <= _HEADINGS.keys()


def test_every_notice_can_be_said():
    """No reader hands over a notice whose text only English people understand."""
    plain = []
    for path in sorted((ROOT / "groundtruth").rglob("*.py")):
        for node in ast.walk(ast.parse(path.read_text(encoding="utf-8"))):
            if not isinstance(node, ast.Call):
                continue
            name = getattr(node.func, "attr", getattr(node.func, "id", ""))
            texts = []
            if name == "Notice":
                texts = [k.value for k in node.keywords if k.arg == "text"]
            elif name in ("repair", "warn", "fact", "repair_of_line"):
                texts = node.args[:1]
            plain += [
                f"{path.name}:{node.lineno}"
                for text in texts
                if isinstance(text, ast.Constant | ast.JoinedStr)
            ]
    assert plain == []


# Nothing English is left on what is written -----------------------------------------------------


class Texts(HTMLParser):
    """The pieces of text of a page, and what is read out of its attributes."""

    def __init__(self, html):
        super().__init__()
        self.found, self._hidden = set(), 0
        self.feed(html)

    def handle_starttag(self, tag, attrs):
        self._hidden += tag in ("script", "style")
        self.found |= {v for k, v in attrs if k in ("aria-label", "placeholder", "title") and v}

    def handle_endtag(self, tag):
        self._hidden -= tag in ("script", "style")

    def handle_data(self, text):
        if not self._hidden and text.strip():
            self.found.add(text.strip())


WORD = re.compile(r"[^\W\d_]{3,}")


def left_over(english, other, names):
    """What stands in two languages alike and is more than names, figures and units."""
    names = {word.lower() for name in names for word in WORD.findall(name)}
    own = {"slip", "min", "groundtruth", "json", "hdop", "sha", "openstreetmap", "april", "name"}
    own |= {"september", "november", "august", "block", "sql", "tiger", "plan"}
    return {
        text
        for text in english & other
        if any(word.lower() not in names | own for word in WORD.findall(text))
    }


def both(make):
    """A thing made in English and in German."""
    with speaking("de"):
        other = make()
    return make(), other


def test_nothing_english_is_left_on_report_and_map():
    names = [FULL.run_name, "beetroot parsnip", "D4"]
    names += [file.name for file in FULL.inputs] + [t.crop.seed_lot for t in FULL.targets]
    names += [file.sha256[:12] for file in FULL.inputs]
    for make in (report_html, field_map_html):
        english, german = (Texts(html).found for html in both(lambda m=make: m(FULL)))
        assert left_over(english, german, names) == set()


def test_nothing_english_is_left_on_the_card():
    def make():
        return card(choice(), choice(crop="parsnip", lot=""))

    names = ["Quillfen Farm, north strip", "beetroot parsnip"]
    shown = both(lambda: card_html(make()))
    assert left_over(*(Texts(html).found for html in shown), names) == set()
    lines = both(lambda: card_text(make()).splitlines())
    assert left_over(*map(set, lines), names) == set()
    assert max(map(len, lines[1])) <= 60


def test_decimals_have_a_comma_and_pages_their_language():
    with speaking("de"):
        html = report_html(FULL)
    assert '<html lang="de">' in html
    text = " ".join(Texts(html).found)
    assert re.search(r"\d,\d", text)
    assert not re.search(r"\d\.\d", text.replace(FULL.tool_version, ""))


def test_the_result_for_programs_is_the_same_in_every_language():
    english, german = both(lambda: result_to_json(FULL))
    assert english == german


@pytest.fixture(scope="module")
def sample():
    return measured_run_for(MeasureRequest(run=SAMPLES / "wet-soil" / "run.toml")).result


def test_nothing_english_is_left_of_a_sample(sample):
    names = ["wet-soil", "beet", "spinach", *(file.name for file in sample.inputs)]
    names += [file.sha256[:12] for file in sample.inputs] + ["track turns gpx csv run toml crops"]
    for make in (report_html, field_map_html):
        english, german = (Texts(html).found for html in both(lambda m=make: m(sample)))
        assert left_over(english, german, names) == set()
        assert "left out" not in " ".join(german)


def test_commands_write_and_say_what_was_asked_for(tmp_path, capsys):
    run = str(SAMPLES / "dry-firm" / "run.toml")
    assert main(["measure", run, "--out", str(tmp_path), "--language", "de"]) == 0
    told = capsys.readouterr().out
    assert "Eine Getriebeumdrehung entspricht" in told
    assert "Geschrieben:" in told
    for name in ("map.html", "report.html"):
        assert '<html lang="de">' in (tmp_path / name).read_text(encoding="utf-8")
    kept = json.loads((tmp_path / "result.json").read_text(encoding="utf-8"))
    assert kept["facts"][0]["text"].startswith("holds ")
    record = tmp_path / "season.gpkg"
    main(["season", "--season", str(record), "add", run])
    with speaking("de"):
        page = season_map_html(record)
    english, german = Texts(season_map_html(record)).found, Texts(page).found
    assert left_over(english, german, ["dry-firm"]) == set()
    given = json.loads(re.search(r'id="map-data">(.*?)</script>', page)[1])
    assert set(given["words"].values()).isdisjoint({"Nothing was sown here.", "not sown"})
    assert say("not sown") == "not sown"  # and the language went with the block


# The page ---------------------------------------------------------------------------------------

SEEN = """() => { const found = [];
  const walk = document.createTreeWalker(document.body, NodeFilter.SHOW_TEXT);
  while (walk.nextNode()) {
    const at = walk.currentNode.parentElement;
    if (at.closest("body [lang=en], code, script, noscript, option")) continue;
    const text = walk.currentNode.textContent.trim();
    if (text) found.push(text);
  }
  return found; }"""
OWN = ["track gpx turns csv", "groundtruth", "beet", "dry, firm soil, seed 1101", "hole", "English"]
OWN += ["Deutsch", "Leaflet", "tyre", "KML NMEA GeoJSON GPX CSV Beet"]


def seen(page):
    return set(page.evaluate(SEEN))


def test_nothing_english_is_left_on_the_page(browser, tmp_path):
    with serving(tmp_path) as server, window(browser, server, (1280, 900)) as page:
        add(page, "track.gpx")
        type_units(page)
        rows = counts()
        rows[3][1] = "150"
        paste(page, "#turns-1-0", block(rows))
        for name, text in MACHINE.items():
            page.fill(f"#machine-{name}", text)
        page.fill("#crop-crop-0", "beet")
        page.fill("#crop-spacing-0", "1.75 in")
        measured(page)
        english = seen(page)
        assert "Look at this" in english
        page.select_option("#language", "de")
        page.wait_for_selector("#figure :text('Sehen Sie hier nach')")
        page.wait_for_selector("#figure :text('Gemessen aus 8 Fahrten an 4 Säaggregaten.')")
        page.wait_for_selector("#counts :text('enthält')", state="attached")
        german = seen(page)
        assert left_over(english, german, OWN) == set()
        assert any("150 Umdrehungen" in text for text in german)
        no_findings(page)
        page.click("#save-run")
        page.wait_for_selector(".saved")
        with page.context.expect_page() as other:
            page.click("a[href$='report.html']")
        assert other.value.get_attribute("html", "lang") == "de"
        other.value.close()

        go_to(page, "Einstellung")
        for at, (setting, turns, seeds) in enumerate(BENCH):
            page.fill(f"#bench-setting-{at}", setting)
            page.fill(f"#bench-turns-{at}", turns)
            page.fill(f"#bench-seeds-{at}", seeds)
        page.click("#choose")
        page.wait_for_selector("#choose-out .blocks")
        setting = {"de": set(page.inner_text("#choose-out").splitlines())}
        page.select_option("#language", "en")
        page.click("#choose")
        page.wait_for_selector("#choose-out .blocks :text('Choose setting')")
        setting["en"] = set(page.inner_text("#choose-out").splitlines())
        assert left_over(setting["en"], setting["de"], OWN) == set()
        go_to(page, "Season")
        page.wait_for_selector(".runs")
        english = seen(page)
        page.select_option("#language", "de")
        page.wait_for_selector("#season :text('1 Lauf von')")
        page.wait_for_selector(".chart")
        assert left_over(english, seen(page), [*OWN, "track"]) == set()
