"""The file that was looked at is the file that is used, also where another takes its name."""

import os
import shutil
import sqlite3
from contextlib import closing
from datetime import date

import pytest
from test_damage import BEDS, fill
from test_record import run_of

from groundtruth.core.errors import InputError
from groundtruth.io import database
from groundtruth.io.bed_map import read_beds
from groundtruth.season import SeasonError, add_change, add_run, read_season, set_map
from groundtruth.season.checking import check, rescue, restore

posix = pytest.mark.skipif(os.name == "nt", reason="an open file cannot be replaced there")
SAYS = "another file was put in its place meanwhile; nothing was changed, try again"


@pytest.fixture
def full(season):
    return fill(season)


@pytest.fixture
def other(tmp_path):
    path = tmp_path / "other.gpkg"
    add_run(path, run_of(9))
    return path


def exchanged_before_opening(monkeypatch, path, other, *, back=False):
    """Put another file at a path once it has been looked at; with ``back`` only for the instant in
    which SQLite opens it."""
    real, kept = sqlite3.connect, path.with_name("kept")

    def connect(name, *args, **options):
        if path.name not in str(name) or kept.exists():
            return real(name, *args, **options)
        os.link(path, kept)
        os.replace(shutil.copyfile(other, path.with_name("new")), path)
        db = real(name, *args, **options)
        if back:
            os.replace(shutil.copyfile(kept, path.with_name("new")), path)
            os.unlink(path)
            os.link(kept, path)
        return db

    monkeypatch.setattr(database.sqlite3, "connect", connect)


CALLS = {
    "read": lambda path: read_season(path),
    "write": lambda path: add_change(path, day=date(2027, 6, 9), kind="gear"),
    "check": lambda path: check(path),
    "rescue": lambda path: rescue(path, path.with_name("saved.gpkg")),
    "restore": lambda path: restore(path.with_name("mine.gpkg"), str(path)),
}


@posix
@pytest.mark.parametrize("back", [False, True], ids=["for good", "for an instant"])
@pytest.mark.parametrize("call", CALLS)
def test_a_record_exchanged_while_it_is_opened_is_refused(full, other, monkeypatch, call, back):
    if back and not os.path.isdir("/proc/self/fd"):
        pytest.skip("the system does not tell which files are open")
    exchanged_before_opening(monkeypatch, full, other, back=back)
    before = other.read_bytes()
    with pytest.raises(SeasonError, match=SAYS):
        CALLS[call](full)
    assert back or full.read_bytes() == before
    assert not full.with_name("mine.gpkg").exists()


@posix
def test_what_went_into_a_file_without_name_is_not_told_to_be_done(full, other, monkeypatch):
    """A program that keeps folders alike replaces the record while a change is written."""

    def seal(*args, **options):
        os.replace(shutil.copyfile(other, full.with_name("new")), full)

    monkeypatch.setattr("groundtruth.season.store.seal", seal)
    with pytest.raises(SeasonError, match=SAYS):
        add_change(full, day=date(2027, 6, 9), kind="gear")
    assert full.read_bytes() == other.read_bytes()


@posix
def test_a_map_of_beds_exchanged_while_it_is_opened_is_refused(full, other, monkeypatch):
    set_map(other, BEDS)
    exchanged_before_opening(monkeypatch, full, other)
    with pytest.raises(InputError, match=r"was replaced while it was opened; try again"):
        read_beds(full)


def test_nothing_exchanged_is_nothing_refused(full):
    with closing(sqlite3.connect(full)):  # another program has it open
        assert read_season(full).runs
        add_change(full, day=date(2027, 6, 9), kind="gear")
        assert check(full).problems == ()
