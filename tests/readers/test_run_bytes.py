"""A run's files as bytes: the same run as from the files, and nothing from outside its folder."""

import shutil
from pathlib import Path

import pytest

from groundtruth.core.errors import InputError
from groundtruth.io import read_run, run_bytes
from groundtruth.io.run_bytes import load_run

DRY = Path(__file__).parents[2] / "sample_tracks" / "dry-firm"


@pytest.fixture
def run(tmp_path):
    """A copy of the dry sample in a folder of its own, without a name in its description."""
    folder = tmp_path / "runs" / "day-01"
    shutil.copytree(DRY, folder)
    return folder / "run.toml"


def changed(run, old, new):
    text = run.read_text(encoding="utf-8")
    assert old in text
    run.write_text(text.replace(old, new), encoding="utf-8")


def refusal(run, within=None):
    with pytest.raises(InputError) as caught:
        load_run(run, within=within or run.parent)
    return str(caught.value)


def test_read_from_bytes_it_is_the_run_of_the_files(run):
    from_files, from_bytes = read_run(run), load_run(run, within=run.parent).read()
    assert from_bytes.name == from_files.name == "day-01"
    assert from_bytes.inputs == from_files.inputs
    assert from_bytes.turns == from_files.turns
    assert from_bytes.notices == from_files.notices
    assert (from_bytes.track.time_s == from_files.track.time_s).all()


def test_a_description_cannot_name_a_file_outside_the_fence(run):
    (run.parents[1] / "secret.gpx").write_bytes((DRY / "track.gpx").read_bytes())
    changed(run, 'track = "track.gpx"', 'track = "../secret.gpx"')
    assert "names secret.gpx, which lies outside the folder day-01" in refusal(run)
    assert load_run(run, within=run.parents[1]).files[0].name == "secret.gpx"


def test_a_link_cannot_lead_outside_the_fence(run):
    outside = run.parents[1] / "secret.gpx"
    (run.parent / "track.gpx").rename(outside)
    (run.parent / "track.gpx").symlink_to(outside)
    assert "lies outside the folder day-01; copy it beside the run file" in refusal(run)
    assert load_run(run, within=run.parents[1]).files[0].name == "track.gpx"


def test_an_absolute_name_is_outside_too(run):
    changed(run, 'track = "track.gpx"', f'track = "{Path(__file__).as_posix()}"')
    assert "names test_run_bytes.py, which lies outside" in refusal(run)


def test_two_files_of_one_name_are_refused(run):
    (run.parent / "more").mkdir()
    shutil.copy(run.parent / "track.gpx", run.parent / "more")
    changed(run, 'track = "track.gpx"', 'track = ["track.gpx", "more/track.gpx"]')
    assert "two files are called track.gpx; rename one of them" in refusal(run)


def test_the_same_file_twice_is_handed_over_once(run):
    changed(run, 'track = "track.gpx"', 'track = ["track.gpx", "./track.gpx"]')
    assert [one.name for one in load_run(run, within=run.parent).files] == [
        "track.gpx",
        "turns.csv",
    ]


def test_files_that_are_too_large_together_are_refused(run, monkeypatch):
    monkeypatch.setattr(run_bytes, "MAX_BYTES_OF_A_RUN", 154_000)
    assert refusal(run).endswith(
        "its files together hold more than 0 MB; measure it alone with groundtruth measure"
    )


def test_too_many_tracks_are_refused(run):
    names = ", ".join(f'"{n}.gpx"' for n in range(201))
    changed(run, 'track = "track.gpx"', f"track = [{names}]")
    assert "track: 201 files; up to 200 are read as one track" in refusal(run)


def test_a_name_that_no_file_can_have_is_refused(run):
    changed(run, 'track = "track.gpx"', r'track = "a\u0000b.gpx"')
    assert "its name cannot be used" in refusal(run)


@pytest.mark.parametrize("name", ["track.gpx", "turns.csv"])
def test_a_missing_file_is_named(run, name):
    (run.parent / name).unlink()
    assert refusal(run).startswith(f"{name}: no such ")
