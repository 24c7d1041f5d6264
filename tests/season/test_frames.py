"""A season's tables as data frames of pandas, and of geopandas where it is installed."""

import sys
from types import SimpleNamespace

import numpy as np
import pandas as pd
import pytest
from shapely import Polygon
from test_record import run_of

from groundtruth.season import add_run, reading
from groundtruth.season.query import read_season

TABLES = ("runs", "passes", "beds", "row_units")


@pytest.fixture
def kept(season):
    for number in (1, 2):
        add_run(season, run_of(number), soil="dry", note="=1+1")
    return season


@pytest.fixture
def without_geopandas(monkeypatch):
    monkeypatch.setitem(sys.modules, "geopandas", None)


@pytest.mark.usefixtures("without_geopandas")
@pytest.mark.parametrize("table", TABLES)
def test_a_frame_holds_what_the_record_holds(kept, table):
    frame = read_season(kept).to_frame(table)
    kept_in = "strips" if table == "passes" else table
    with reading(kept) as db:
        rows = pd.read_sql_query(f"SELECT * FROM {kept_in}", db)
    assert len(frame) == len(rows) > 0
    shared = [c for c in rows if c in frame and rows[c].dtype.kind in "if"]
    known = rows.dropna(axis="columns", how="all")
    assert {c for c in known if c.endswith(("_m", "_u", "_u_m", "_m2"))} <= set(shared)
    for column in shared:
        assert sorted(frame[column].astype(float)) == sorted(rows[column].astype(float)), column


@pytest.mark.usefixtures("without_geopandas")
def test_instants_are_utc_to_the_millisecond_and_days_are_days(kept):
    season = read_season(kept)
    passes = season.to_frame("passes")
    assert str(passes["start_at"].dtype) == "datetime64[ns, UTC]"
    assert str(passes["day"].dtype) == "datetime64[ns]"
    first = run_of(1).passes[0]
    found = passes.set_index(["run", "number"]).loc[("run 1", first.number)]
    assert found["start_at"].timestamp() == pytest.approx(first.start_s, abs=1e-3)
    assert f"{found['day']:%Y-%m-%d}" == run_of(1).date
    assert isinstance(found["geometry"], Polygon)
    runs = season.to_frame("runs")
    assert list(runs["note"]) == ["=1+1"] * 2
    assert list(runs["passes"]) == [3, 3]
    assert runs["row_units"].dtype in ("int64", "Int64")


@pytest.mark.usefixtures("without_geopandas")
def test_what_is_not_known_is_missing(season):
    add_run(season, run_of(1, slip=False))
    runs = read_season(season).to_frame("runs")
    assert np.isnan(runs["slip"][0])
    assert np.isnan(runs["slip_u"][0])


@pytest.mark.usefixtures("without_geopandas")
def test_a_frame_goes_to_csv_and_parquet(kept, tmp_path):
    """For other programs; what comes back without loss is `season export`."""
    pytest.importorskip("pyarrow")
    runs = read_season(kept).to_frame("runs")
    runs.to_parquet(tmp_path / "runs.parquet")
    pd.testing.assert_frame_equal(pd.read_parquet(tmp_path / "runs.parquet"), runs)
    runs.to_csv(tmp_path / "runs.csv", index=False)
    back = pd.read_csv(tmp_path / "runs.csv")
    assert list(back["ground_per_turn_m"]) == list(runs["ground_per_turn_m"])


def test_an_empty_season_has_the_same_columns(season, kept, tmp_path, without_geopandas):
    from groundtruth.season import writing

    with writing(tmp_path / "empty.gpkg"):
        pass
    full, empty = read_season(kept), read_season(tmp_path / "empty.gpkg")
    for table in TABLES:
        columns = list(full.to_frame(table))
        assert list(empty.to_frame(table)) == columns
        assert len(empty.to_frame(table)) == 0


def test_geopandas_gets_the_outlines_with_their_reference_system(kept, monkeypatch):
    """With the package's own class where it is installed, else its call is checked."""
    try:
        import geopandas
    except ImportError:
        made = []

        def frame(data, *, geometry, crs):
            made.append((geometry, crs))
            return data.assign(geometry=geometry)

        monkeypatch.setitem(sys.modules, "geopandas", SimpleNamespace(GeoDataFrame=frame))
        beds = read_season(kept).to_frame("beds")
        ((outlines, crs),) = made
        assert crs == "EPSG:4326"
        assert outlines == [b.outline for b in read_season(kept).beds]
        assert len(beds) == len(outlines)
    else:
        beds = read_season(kept).to_frame("beds")
        assert isinstance(beds, geopandas.GeoDataFrame)
        assert beds.crs == "EPSG:4326"


def test_a_table_that_is_none_names_those_there_are(kept):
    with pytest.raises(ValueError, match="there are runs, passes, beds, row_units"):
        read_season(kept).to_frame("days")
