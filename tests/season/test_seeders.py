"""Farm, field and seeder come from a run's own description, and several seeders are kept apart."""

from __future__ import annotations

from dataclasses import replace

import numpy as np
import pytest
from days import BEDS_20, SPACING_M, halves, laid_right, sown_day
from test_record import run_of, whole

from groundtruth.beds import lay_out
from groundtruth.core.origin import Origin, Soil
from groundtruth.season import SeasonError, add_run, read_season, results
from groundtruth.season.corrections import Which, edit_run, undo
from groundtruth.season.exchange import export_season, import_season


def described(number, *, name="", ident="", moisture=None, tyre="", **origin):
    """A run whose description names its seeder, farm and field."""
    run = run_of(number)
    return replace(
        run,
        seeder=replace(run.seeder, name=name, id=ident, tyre=tyre),
        origin=Origin(**origin),
        soil=Soil(moisture=moisture),
    )


def kept(season, column):
    return [run.recorded[column] for run in read_season(season).runs]


# What a run says of itself -----------------------------------------------------------------------


def test_farm_field_seeder_and_soil_are_those_of_the_run(season, tmp_path):
    add_run(season, described(1, name="blue", farm="Quillfen", farm_id="q-3", field="north strip"))
    add_run(season, described(2, name="blue", ident="s-1", moisture="wet"))
    add_run(season, described(3, name="blue", moisture="wet"), seeder="red", soil="dry")
    assert kept(season, "seeder") == ["blue", "blue", "red"]
    assert kept(season, "seeder_id") == ["", "s-1", ""]
    assert kept(season, "soil") == ["", "wet", "dry"]
    assert kept(season, "farm") == ["Quillfen", "", ""]
    assert kept(season, "farm_id") == ["q-3", "", ""]
    assert kept(season, "field") == ["north strip", "", ""]
    frame = read_season(season).to_frame("runs")
    assert list(frame["field"]) == ["north strip", "", ""]
    for form in ("csv", "geojson", "parquet"):
        export_season(season, tmp_path / form, form)
        import_season(tmp_path / form, tmp_path / f"{form}.gpkg")
        assert whole(tmp_path / f"{form}.gpkg")["runs"] == whole(season)["runs"]


def test_a_seeder_is_known_by_its_id_whatever_it_is_called(season):
    add_run(season, described(1, name="blue", ident="s-1"))
    add_run(season, described(2, name="the blue one", ident="s-1"))
    add_run(season, described(3, ident="s-2"))
    add_run(season, described(4, name="blue", ident="s-3"), seeder="the other blue")
    assert kept(season, "seeder") == ["blue", "blue", "s-2", "the other blue"]


def test_a_run_described_otherwise_needs_a_word(season):
    add_run(season, described(1, name="bleu", tyre="4.00-8", farm="Quillfen"), note="early")
    other = described(1, name="blue", tyre="4.00-8", farm="Quillfen")
    with pytest.raises(SeasonError, match="with seeder name 'bleu', not 'blue'; add it with"):
        add_run(season, other)
    assert kept(season, "seeder") == ["bleu"]
    assert add_run(season, other, replace=True).outcome == "replaced"
    assert (kept(season, "seeder"), kept(season, "note")) == (["blue"], ["early"])
    assert results(season) == [other]
    assert add_run(season, other).outcome == "already there"
    with pytest.raises(SeasonError, match="farm 'Quillfen', not ''"):
        add_run(season, run_of(1))


def test_what_was_noted_by_hand_stays_when_a_run_is_replaced(season):
    add_run(season, described(1, name="bleu", moisture="dry"), seeder="red", soil="wet")
    add_run(season, described(1, name="blue", moisture="moist"), replace=True)
    assert (kept(season, "seeder"), kept(season, "soil")) == (["red"], ["wet"])


# Beds --------------------------------------------------------------------------------------------


@pytest.mark.parametrize("growth_m", [0.0, 1.5])
def test_two_seeders_that_share_a_block_are_laid_better_when_they_are_named(growth_m):
    """Simulated. What is left of the errors: a day so far off that it is a block of its own."""
    seeds = range(940, 946)
    named = sum(laid_right(*halves(seed, named=True, growth_m=growth_m)) for seed in seeds)
    unnamed = sum(laid_right(*halves(seed, named=False, growth_m=growth_m)) for seed in seeds)
    assert named >= 0.9 * 6 * 120
    assert named >= unnamed + 0.1 * 6 * 120


def test_one_named_seeder_is_laid_as_none():
    runs, _ = halves(3, named=False, growth_m=0.0)
    one = {key: [replace(p, seeder="blue") for p in passes] for key, passes in runs.items()}
    some = {
        key: [replace(p, seeder="blue" if "red" in key else "") for p in passes]
        for key, passes in runs.items()
    }
    assert lay_out(one).assignments == lay_out(runs).assignments == lay_out(some).assignments


@pytest.mark.parametrize(("other", "blocks"), [("red", 2), ("blue", 1), ("", 1)])
def test_another_seeder_with_another_bed_spacing_sows_beds_of_its_own(other, blocks):
    rng = np.random.default_rng(7)
    wide = sown_day(rng, BEDS_20[:8], run="1", offset_m=(0, 0))
    narrow = sown_day(
        rng, BEDS_20[:16], day=1, run="2", offset_m=(0, 0),
        spacing_m=SPACING_M / 2, said_spacing_m=SPACING_M / 2,
    )  # fmt: skip
    runs = {
        "1": [replace(p, seeder="blue") for p in wide],
        "2": [replace(p, seeder=other) for p in narrow],
    }
    layout = lay_out(runs)
    assert len({bed.block for bed in layout.beds}) == blocks
    if blocks == 2:
        assert len(layout.beds) == 24
        assert not [a for a in layout.anomalies if a.kind != "unsure"]


def test_naming_a_second_seeder_lays_the_beds_anew_and_can_be_taken_back(season):
    for number in range(1, 4):
        add_run(season, run_of(number), seeder="blue")
    before = whole(season)["fits"]
    edit_run(season, Which(number=2), {"seeder": "red"})
    assert read_season(season).seeders == ("blue", "red")
    assert [s.seeder for s in read_season(season).sowings].count("red") == 3
    assert add_run(season, run_of(3), seeder="red", replace=True).outcome == "put right"
    undo(season)
    undo(season)
    assert read_season(season).seeders == ("blue",)
    assert whole(season)["fits"] == before
