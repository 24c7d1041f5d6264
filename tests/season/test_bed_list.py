"""The list of beds to print: every bed in its place, whatever it is called, on any paper."""

from __future__ import annotations

import re
from dataclasses import replace
from datetime import date

import pytest
from browser import PAYLOADS, PHONE, sheets
from test_record import run_of
from test_seasonmap import made_season

from groundtruth.cli.main import main
from groundtruth.core.bed_names import beds_in_short
from groundtruth.core.measured import Measured
from groundtruth.core.origin import Origin
from groundtruth.season import add_run, read_season
from groundtruth.season.comparison import RunFigure
from groundtruth.views.bed_list import bed_list_html

DAY = date(2027, 5, 3)


def named(season, farm="Quillfen Farm", field="north strip", seeder="the blue five-row"):
    """The season with a run that names farm, field and seeder."""
    run = RunFigure(
        name="run", day="2027-04-01", ground_per_turn=Measured(0.64, 0.01), passes=3,
        seeder=seeder, recorded={"farm": farm, "field": field},
    )  # fmt: skip
    sowings = tuple(replace(s, seeder=seeder) for s in season.sowings)
    return replace(season, runs=(run,), sowings=sowings)


def rows(html):
    """Cells of the list, row by row."""
    return [
        [
            re.sub(r"<[^>]*>", "", cell).replace("\xa0", " ")
            for cell in re.findall(r"<t[hd].*?</t[hd]>", row)
        ]
        for row in re.findall(r"(?s)<tr.*?</tr>", html)
    ]


def test_it_lists_the_sowings_of_a_record_bed_by_bed(season, tmp_path, capsys):
    for number in (1, 2):
        run = replace(run_of(number), origin=Origin(farm="Quillfen Farm", field="north strip"))
        add_run(season, run, seeder="blue" if number > 1 else "")
    out = tmp_path / "list.html"
    assert main(["season", "beds", "--out", str(out), "--season", str(season)]) == 0
    assert f"Written: {out}" in capsys.readouterr().out
    head, *listed = rows(out.read_text("utf-8"))
    assert head == ["Bed", "Crop", "Setting", "Sown", "Seeder"]
    record = read_season(season)
    by_bed = {bed.name: [] for bed in record.beds}
    for sowing in record.sowings:
        by_bed[sowing.bed].append(sowing)
    wanted = []
    for bed, sowings in by_bed.items():
        for place, s in enumerate(sorted(sowings, key=lambda s: s.day, reverse=True)):
            sown = f"{int(s.day[8:])} May 2026" + (" ?" if s.sure < 0.8 else "")
            wanted.append([*([] if place else [bed]), s.crop, s.setting, sown, s.seeder])
    assert listed == wanted
    assert "<h1>Quillfen Farm, north strip</h1>" in out.read_text("utf-8")


def test_without_names_there_is_no_column_for_them():
    html = bed_list_html(made_season(12, beds=4, days=3), made_on=DAY)
    assert rows(html)[0] == ["Bed", "Crop", "Setting", "Sown"]
    assert "<h1>Beds</h1>" in html


def test_the_list_or_a_map_must_be_asked_for(season, capsys):
    assert main(["season", "beds", "--season", str(season)]) == 2
    assert "name your map of beds to take it, or --out HTML" in capsys.readouterr().err
    assert main(["season", "beds", "--out", "x.html", "--season", str(season)]) == 2


@pytest.mark.parametrize("paper", ["A4", "Letter"])
def test_forty_beds_print_on_two_sheets_and_none_is_parted(browser, tmp_path, paper):
    made = named(made_season(80, beds=40, days=2))
    with browser.opened(bed_list_html(made, made_on=DAY), tmp_path) as opened:
        assert sheets(opened.page.pdf(format=paper)) == 2
        kept = "[...document.querySelectorAll('tbody')].map(b => getComputedStyle(b).breakInside)"
        assert set(opened.page.evaluate(kept)) == {"avoid"}
        opened.assert_quiet()


def test_it_fits_a_phone(browser, tmp_path):
    made = named(made_season(30, beds=10, days=3), farm="F" * 80, seeder="S" * 80)
    with browser.opened(bed_list_html(made, made_on=DAY), tmp_path, PHONE) as opened:
        assert opened.page.evaluate("document.documentElement.scrollWidth") <= PHONE[0]
        opened.assert_quiet()


@pytest.mark.parametrize("payload", PAYLOADS.values(), ids=PAYLOADS)
def test_text_stays_text(browser, tmp_path, payload):
    made = made_season(6, beds=3, days=2, text=lambda _: payload)
    html = bed_list_html(named(made, payload, payload, payload), made_on=DAY)
    assert "<script" not in html.lower()
    with browser.opened(html, tmp_path) as opened:
        assert opened.page.evaluate("document.querySelectorAll('img, svg, script').length") == 0
        opened.assert_quiet()


@pytest.mark.parametrize(
    ("names", "said"),
    [
        ([], ""),
        (["N1"], "N1"),
        (["N1", "N2"], "N1, N2"),
        (["N3", "N4", "N5", "N5", ""], "N3–N5"),
        (["N5", "N4", "N3"], "N5, N4, N3"),
        (["8", "9", "10", "M10", "M11", "M12"], "8–10, M10–M12"),
        (["N01", "N02", "east"], "N01, N02, east"),
    ],
)
def test_names_of_beds_in_short(names, said):
    assert beds_in_short(names) == said
