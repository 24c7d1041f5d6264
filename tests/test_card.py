"""The card: says the right numbers, fits one sheet, is readable, and never hides an old figure."""

from __future__ import annotations

import re
from dataclasses import replace
from datetime import date

import pytest
from browser import LAPTOP, PAYLOADS, PHONE, sheets
from factories import make_result

from groundtruth.core.crops import Crop
from groundtruth.core.errors import InputError
from groundtruth.core.measured import Measured
from groundtruth.core.origin import Origin
from groundtruth.core.result import CellVerdict, Judgement
from groundtruth.seeding import BenchCount, setting_curve
from groundtruth.seeding.ground_figure import (
    GroundFigure,
    StaleFigureError,
    WheelChange,
    figure_of,
)
from groundtruth.seeding.setting_choice import choose
from groundtruth.views.card import card_html, card_text, make_card
from groundtruth.views.sentences.cautions import cautions

TODAY = date(2026, 6, 1)
GROUND = GroundFigure(
    ground_per_turn=Measured(0.64, 0.004),
    ground_per_turn_95=(0.632, 0.648),
    measured_on=date(2026, 5, 12),
    run_name="Quillfen Farm, north strip",
)


def choice(crop="beetroot", lot="K7", wanted=28.0, settings=("F2", "F3", "C1"), **more):
    counts = [
        BenchCount(crop=crop, seed_lot=lot, setting=s, turns=6, seeds=Measured(6.0 * rate + wobble))
        for s, rate in zip(settings, (20.0, 25.0, 31.0), strict=True)
        for wobble in (-5, 0, 5)
    ]
    sought = Crop(name=crop, seed_lot=lot, plants_per_m=wanted, **more)
    return choose(sought, GROUND.ground_per_turn, setting_curve(counts, settings), turns=5)


def card(*choices, units="metric", **more):
    return make_card(choices or (choice(),), GROUND, made_on=TODAY, units=units, **more)


def words(html):
    return re.sub(r"\s+", " ", re.sub(r"<[^>]*>", " ", html))


def test_it_says_what_to_set_and_to_count():
    """20 seeds a turn at 0.64 m: 31 a metre, one each 3.2 cm; 5 turns give 100 (by hand)."""
    chosen = choice(depth_m=0.02, accept=(24.0, 33.0))
    assert chosen.option.setting == "F2"
    low, high = chosen.check.low, chosen.check.high
    assert low < 100 < high
    text = card_text(card(chosen))
    for said in (
        "BEETROOT, LOT K7", "SETTING   F2", "TURN      5 times",
        f"SEEDS     {low} to {high}   (100 expected)", "one every 3.2 cm",
        "31 plants per m; fine: 24 to 33 per m", "2.0 cm", "measured 12 May 2026",
        "64.00 ± 0.78 cm",
        "Card of 1 June 2026", "5 counts in 100",
    ):  # fmt: skip
        assert said in text, said
    page = words(card_html(card(chosen)))
    for said in ("beetroot, lot K7", "F2", f"{low}–{high}", "100 expected", "12 May 2026"):
        assert said in page, said
    assert max(map(len, text.splitlines())) <= 60


def test_it_is_headed_by_farm_field_seeder_and_the_beds():
    origin = Origin(farm="Quillfen Farm", field="north strip")
    named = replace(GROUND, origin=origin, seeder="the blue one", beds=("N1", "N2", "N3", "N7"))
    made = make_card([choice()], named, made_on=TODAY, units="metric")
    assert made.title == "Quillfen Farm · north strip · the blue one"
    assert "<h1>Quillfen Farm · north strip · the blue one</h1>" in card_html(made)
    for text in (card_text(made), words(card_html(made))):
        assert "Beds N1–N3, N7" in text
    assert max(map(len, card_text(made).splitlines())) <= 60


def test_it_is_not_headed_by_a_files_name():
    result = make_result(passes=3)
    assert card_title(result) == "Quillfen Farm, north strip"
    by_file = replace(result, run_name="quillfen-0512")  # the track is quillfen-0512.gpx
    assert card_title(by_file) == "Seeder settings"


def card_title(result):
    return make_card([choice()], figure_of(result), made_on=TODAY, units="metric").title


def test_us_units_and_fractions():
    """20/0.64 seeds a metre is 9.5 a foot; 3/4 in deep."""
    text = card_text(card(choice(depth_m=0.01905), units="us"))
    assert "9.5 plants per ft" in text
    assert "one every 1.3 in" in text
    assert "depth   3/4 in" in text


def test_cautions_are_on_it():
    text, page = card_text(card()), words(card_html(card()))
    for caution in cautions():
        assert caution in page.replace("&#39;", "'")
        assert caution.split(",")[0] in " ".join(text.split())


def test_thinning_is_said():
    """31 plants where 20 are wanted: 36 % come out, about one in three."""
    text = " ".join(card_text(card(choice(wanted=20.0))).split())
    assert "about 1 plant in 3 comes out" in text
    assert "try one that drops fewer seeds" in text


def test_setting_not_tried_is_said():
    curve = setting_curve(
        [
            BenchCount(crop="x", seed_lot="", setting=s, turns=9, seeds=Measured(9 * r))
            for s, r in (("1", 10.0), ("3", 30.0))
        ],
        ("1", "2", "3"),
    )
    chosen = choose(Crop(name="x", plants_per_m=31), GROUND.ground_per_turn, curve)
    assert chosen.option.setting == "2"
    text = " ".join(card_text(card(chosen)).split())
    assert "not tried at the bench" in text
    assert "if each seed falls by itself" in text


def test_no_card_from_before_a_tyre_change():
    change = WheelChange(day=date(2026, 5, 20), what="tyre")
    with pytest.raises(StaleFigureError, match=r"12 May 2026, before that; measure again"):
        card(change=change)
    made = card(change=change, print_stale=True)
    assert "Do not trust this card: the tyre was changed on 20 May 2026" in card_html(made)
    assert "DO NOT TRUST THIS CARD" in card_text(made)


def test_a_card_from_after_the_change_says_nothing_of_it():
    made = card(change=WheelChange(day=date(2026, 5, 11)))
    assert made.alarm == ""
    assert "trust" not in card_html(made)
    assert "changed" not in card_text(made)


def test_measured_on_the_day_of_the_change():
    """A tyre is changed before the work: a card, but with the question on it."""
    made = card(change=WheelChange(day=date(2026, 5, 12), what="tyre"))
    assert made.alarm == ""
    assert "The tyre was changed that day: was it before the measuring?" in made.rests_on


@pytest.mark.parametrize(
    ("doubtful", "said"), [(1, "1 turn count of that run is"), (3, "3 turn counts of that run are")]
)
def test_counts_in_doubt_are_said(doubtful, said):
    figure = replace(GROUND, counts_in_doubt=doubtful)
    made = make_card((choice(),), figure, made_on=TODAY, units="metric")
    assert f"{said} in doubt: see its report." in made.rests_on
    assert "in doubt" not in card().rests_on


def test_the_counts_in_doubt_are_those_of_the_result():
    cells = tuple(
        CellVerdict(number=1, unit=str(k), line=None, turns=90.0, verdict=verdict)
        for k, verdict in enumerate(Judgement)
    )
    assert figure_of(replace(make_result(), cells=cells)).counts_in_doubt == len(Judgement) - 1


def test_typed_figure_without_a_day():
    """Nobody knows when it was measured: said on the card, and no card after a tyre change."""
    typed = replace(GROUND, measured_on=None, run_name="")
    made = make_card([choice()], typed, made_on=TODAY, units="metric")
    assert "is not recorded" in made.rests_on
    with pytest.raises(StaleFigureError, match="not known whether"):
        make_card([choice()], typed, made_on=TODAY, units="metric", change=WheelChange(day=TODAY))


def test_no_crop_no_card():
    with pytest.raises(InputError, match="no crop"):
        make_card([], GROUND, made_on=TODAY, units="metric")


FOUR = tuple(
    choice(crop, lot, depth_m=0.02)
    for crop, lot in (
        ("beetroot", "K7"), ("parsnip", ""), ("spring onion, long white", "SO-26"), ("kale", "1"),
    )
)  # fmt: skip


@pytest.mark.parametrize("paper", ["A4", "Letter"])
@pytest.mark.parametrize("crops", [1, 2, 3, 4])
def test_one_sheet(browser, tmp_path, paper, crops):
    made = card(*FOUR[:crops], units="us", field_turns_per_minute=72.0)
    with browser.opened(card_html(made), tmp_path) as opened:
        pdf = opened.page.pdf(format=paper, print_background=True)
        assert sheets(pdf) == 1
        opened.assert_quiet()


def test_one_sheet_with_the_warning(browser, tmp_path):
    made = card(*FOUR[:3], change=WheelChange(day=date(2026, 5, 20)), print_stale=True)
    with browser.opened(card_html(made), tmp_path) as opened:
        assert sheets(opened.page.pdf(format="Letter", print_background=True)) == 1


@pytest.mark.parametrize("size", [LAPTOP, PHONE])
def test_readable_on_a_screen(browser, tmp_path, size):
    """Nothing sticks out sideways; the setting is set at least twice as large as the text, which
    is at least 16 px; black on white."""
    with browser.opened(card_html(card(*FOUR)), tmp_path, size) as opened:
        page = opened.page
        assert page.evaluate("document.documentElement.scrollWidth") <= size[0]
        sizes = page.evaluate(
            "['body', '.large dd', '.remark'].map(s => parseFloat("
            "getComputedStyle(document.querySelector(s)).fontSize))"
        )
        assert sizes[0] >= 16
        assert sizes[2] >= 16
        assert sizes[1] >= 2 * sizes[0]
        inside = page.evaluate(
            "[...document.querySelectorAll('.large dd')].every(e => "
            "e.scrollWidth <= e.parentElement.parentElement.clientWidth)"
        )
        assert inside
        colours = page.evaluate(
            "['color', 'backgroundColor'].map(k => getComputedStyle(document.body)[k])"
        )
        assert colours == ["rgb(0, 0, 0)", "rgb(255, 255, 255)"]
        opened.assert_quiet()


@pytest.mark.parametrize("payload", PAYLOADS.values(), ids=PAYLOADS.keys())
def test_text_from_files_stays_text(browser, tmp_path, payload):
    made = make_card(
        [choice(crop=payload, lot=payload, settings=(payload, "b", "c"))],
        replace(GROUND, run_name=payload, origin=Origin(farm=payload), beds=(payload, "b")),
        made_on=TODAY,
        units="metric",
    )
    html = card_html(made)
    assert "<script" not in html.lower()
    assert card_text(made).isprintable() or "\x1b" not in card_text(made)
    with browser.opened(html, tmp_path) as opened:
        assert opened.page.evaluate("document.querySelectorAll('img, svg, script').length") == 0
        opened.assert_quiet()
