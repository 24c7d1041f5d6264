"""Files are written whole or not at all."""

from __future__ import annotations

import os
import stat
from pathlib import Path

import pytest

from groundtruth.core.errors import InputError
from groundtruth.io import writing
from groundtruth.io.writing import write_all_whole, write_whole


def test_text_arrives_as_it_is(tmp_path):
    file = tmp_path / "a.json"
    write_whole(file, "é\nb\n")
    assert file.read_bytes() == b"\xc3\xa9\nb\n"
    assert os.listdir(tmp_path) == ["a.json"]


def test_an_old_file_is_replaced_and_keeps_its_mode(tmp_path):
    file = tmp_path / "a.json"
    file.write_text("old and longer")
    file.chmod(0o640)
    write_whole(file, "new")
    assert file.read_text() == "new"
    if os.name != "nt":
        assert stat.S_IMODE(file.stat().st_mode) == 0o640


@pytest.mark.skipif(os.name == "nt", reason="modes are a matter of POSIX")
def test_a_new_file_is_as_open_as_any_other(tmp_path):
    (tmp_path / "usual").write_text("")
    write_whole(tmp_path / "ours", "")
    assert (tmp_path / "ours").stat().st_mode == (tmp_path / "usual").stat().st_mode


def _fail_after(monkeypatch, name, count):
    """Let an os function fail with a full disk from its ``count``-th call on."""
    real, calls = getattr(os, name), []

    def failing(*args, **kwargs):
        calls.append(args)
        if len(calls) >= count:
            raise OSError(28, "No space left on device")
        return real(*args, **kwargs)

    monkeypatch.setattr(writing.os, name, failing)


def test_a_full_disk_leaves_every_old_file(tmp_path, monkeypatch):
    old = {tmp_path / name: "old" for name in ("a", "b", "c")}
    write_all_whole(old)
    _fail_after(monkeypatch, "fsync", 2)
    with pytest.raises(InputError, match="b: cannot be written \\(No space left on device\\)"):
        write_all_whole(dict.fromkeys(old, "new"))
    assert {p.name: p.read_text() for p in tmp_path.iterdir()} == dict.fromkeys("abc", "old")


def test_a_failed_rename_leaves_no_litter(tmp_path, monkeypatch):
    _fail_after(monkeypatch, "replace", 2)
    with pytest.raises(InputError, match="b: "):
        write_all_whole({tmp_path / "a": "1", tmp_path / "b": "2"})
    assert os.listdir(tmp_path) == ["a"]


def test_a_missing_folder_is_named(tmp_path):
    with pytest.raises(InputError, match=r"x.a: there is no such folder"):
        write_whole(tmp_path / "x" / "a", "")


def test_a_folder_in_the_way_is_named(tmp_path):
    (tmp_path / "a").mkdir()
    with pytest.raises(InputError, match="a: is a folder"):
        write_all_whole({tmp_path / "b": "", tmp_path / "a": ""})
    assert not (tmp_path / "b").exists()


def test_a_forbidden_folder_is_named(tmp_path, monkeypatch):
    """Raised by hand: root, who runs the tests in a container, may write anywhere."""

    def refuse(**_):
        raise PermissionError(13, "Permission denied")

    monkeypatch.setattr(writing.tempfile, "mkstemp", refuse)
    with pytest.raises(InputError, match="cannot be written to; choose another"):
        write_whole(tmp_path / "a", "")


def test_text_that_cannot_be_encoded_leaves_no_litter(tmp_path):
    with pytest.raises(UnicodeEncodeError):
        write_whole(tmp_path / "a", "\ud800")
    assert list(Path(tmp_path).iterdir()) == []
