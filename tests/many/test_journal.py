"""The journal: one writer, one row a run, and no file of anybody else's."""

import sqlite3

import pytest
from data_sets import kept, outcome

from groundtruth.core.errors import InputError
from groundtruth.many.journal import FILE_NAME, opened_journal


def refusal(folder):
    with pytest.raises(InputError) as caught, opened_journal(folder):
        pass
    return str(caught.value)


def test_one_call_at_a_time_writes(tmp_path):
    with opened_journal(tmp_path):
        assert "another groundtruth many is writing there; wait for it" in refusal(tmp_path)
    with opened_journal(tmp_path) as journal:
        assert journal.counts() == {}


def test_a_database_of_something_else_is_refused_and_left_alone(tmp_path):
    with sqlite3.connect(tmp_path / FILE_NAME) as db:
        db.execute("CREATE TABLE mine (x)")
    db.close()
    before = (tmp_path / FILE_NAME).read_bytes()
    assert "was not written by groundtruth many; choose another --out" in refusal(tmp_path)
    assert (tmp_path / FILE_NAME).read_bytes() == before


def test_no_database_at_all_is_said_to_be_damaged(tmp_path):
    (tmp_path / FILE_NAME).write_bytes(b"something else entirely" * 100)
    assert "is damaged (file is not a database)" in refusal(tmp_path)


def test_a_form_of_a_later_version_is_refused(tmp_path):
    with opened_journal(tmp_path):
        pass
    with sqlite3.connect(tmp_path / FILE_NAME) as db:
        db.execute("PRAGMA user_version = 9")
    db.close()
    assert "is of form 9, and this version knows 1" in refusal(tmp_path)


def test_a_folder_that_cannot_be_written_is_said_so(tmp_path):
    assert "cannot be opened (unable to open database file); choose another --out" in refusal(
        tmp_path / "nowhere"
    )


def test_a_run_is_kept_once_however_often_it_comes(tmp_path):
    kept(tmp_path, outcome("a"), outcome("b"))
    kept(tmp_path, outcome("a", message="another reason"), put=False)
    with opened_journal(tmp_path) as journal:
        assert journal.counts() == {"refused": 2}
        assert journal.waiting() == 1
        assert [len(keys) for keys in journal.replaced().values()] == [1]
        assert journal.ended_as(["refused"]) == {"a", "b"}
        assert journal.ended_as(["failed"]) == set()


def test_files_that_changed_places_lose_no_run(tmp_path):
    kept(tmp_path, outcome("a"), outcome("b"))
    with opened_journal(tmp_path) as journal:
        journal.found([("/farm/a/run.toml", "b"), ("/farm/b/run.toml", "a")])
        journal.drop_unplaced()
        assert journal.has("a")
        assert journal.has("b")
        assert journal.is_at("/farm/a/run.toml", "b")


def test_what_is_not_committed_is_not_there_after_a_fault(tmp_path):
    with opened_journal(tmp_path) as journal:
        with pytest.raises(AttributeError):
            journal.keep([("/farm/a", outcome("a")), ("/farm/b", None)])
        assert journal.counts() == {}
