"""Which runs a folder or a list holds."""

import os
from pathlib import Path

import pytest

from groundtruth.core.errors import InputError
from groundtruth.many import find_runs as module
from groundtruth.many.find_runs import find_runs

RUN = 'track = "track.gpx"\nturns = "turns.csv"\n'


def put(path, text=RUN):
    path.parent.mkdir(parents=True, exist_ok=True)
    path.write_text(text, encoding="utf-8")
    return path


def test_every_run_file_below_a_folder_is_found_in_the_order_of_paths(tmp_path):
    for name in ("b/run.toml", "a/deep/er/run.toml", "a/tuesday-run.toml", "RUN/Day.TOML"):
        put(tmp_path / name)
    put(tmp_path / "empty" / "run.toml", "")  # counts: its row says that it is empty
    put(tmp_path / "pyproject.toml", "[project]\nname = 'track'\n")
    put(tmp_path / ".hidden" / "run.toml")
    put(tmp_path / "a" / "notes.txt")
    assert [one.source for one in find_runs(tmp_path)] == [
        "RUN/Day.TOML",
        "a/tuesday-run.toml",
        "a/deep/er/run.toml",
        "b/run.toml",
        "empty/run.toml",
    ]
    assert {one.within for one in find_runs(tmp_path)} == {str(tmp_path)}


def test_links_to_folders_are_not_followed_so_that_a_circle_ends(tmp_path):
    put(tmp_path / "a" / "run.toml")
    (tmp_path / "a" / "round").symlink_to(tmp_path)
    assert len(find_runs(tmp_path)) == 1


def test_a_pipe_named_like_a_run_file_waits_for_nobody(tmp_path):
    put(tmp_path / "run.toml")
    os.mkfifo(tmp_path / "other.toml")
    assert len(find_runs(tmp_path)) == 1


def test_a_list_names_runs_from_its_own_folder(tmp_path):
    listing = put(
        tmp_path / "lists" / "runs.txt",
        "# of May\n\n../b/run.toml\n  ../a/run.toml \n../b/run.toml\n",
    )
    found = list(find_runs(listing))
    assert [one.source for one in found] == [
        (tmp_path / "lists" / ".." / name / "run.toml").as_posix() for name in ("b", "a")
    ]
    assert found[0].place == str(tmp_path / "b" / "run.toml")
    assert Path(found[0].within) == tmp_path / "lists" / ".." / "b"


@pytest.mark.parametrize(
    ("name", "text", "said"),
    [
        ("list.txt", "# nothing\n", "list.txt: lists no run; write a run file to a line"),
        ("list.txt", "a\0b\n", "list.txt: is no UTF-8 text; write a run file to a line"),
        ("run.toml", RUN, "run.toml: is a run file, not a list of them; groundtruth measure mea"),
        ("x/notes.txt", "", "x: no run.toml in it or below it; see docs/run-file.md"),
    ],
)
def test_what_holds_no_run_is_refused(tmp_path, name, text, said):
    path = put(tmp_path / name, text)
    with pytest.raises(InputError) as caught:
        find_runs(path.parent if name.startswith("x/") else path)
    assert said in str(caught.value)


def test_what_is_not_there_is_refused(tmp_path):
    with pytest.raises(InputError, match="no such folder or list of runs"):
        find_runs(tmp_path / "nowhere")


def test_more_runs_than_are_taken_at_once_are_refused(tmp_path, monkeypatch):
    monkeypatch.setattr(module, "MOST_RUNS", 1)
    for name in "ab":
        put(tmp_path / name / "run.toml")
    with pytest.raises(InputError, match="2 runs; up to 1 are taken at once"):
        find_runs(tmp_path)
