"""Files are written whole or not at all, and never over what is not ours to replace."""

from __future__ import annotations

import os
import re
import signal
import sqlite3
import stat
import subprocess
import sys
from contextlib import closing
from pathlib import Path

import pytest

from groundtruth.cli.main import main
from groundtruth.core.errors import InputError
from groundtruth.core.opened import inputs_remembered, remember_input
from groundtruth.io import writing
from groundtruth.io.writing import (
    check_places,
    hashes,
    part_beside,
    sealed,
    write_all_whole,
    write_whole,
)
from groundtruth.views.html import html_page, node


def test_text_arrives_as_it_is(tmp_path):
    file = tmp_path / "a.json"
    write_whole(file, "é\nb\n")
    assert file.read_bytes() == b"\xc3\xa9\nb\n"
    assert os.listdir(tmp_path) == ["a.json"]


def test_an_old_file_is_replaced_and_keeps_its_mode(tmp_path):
    file = tmp_path / "a.json"
    file.write_text("old and longer")
    file.chmod(0o640)
    write_whole(file, "new", overwrite=True)
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
        write_all_whole(dict.fromkeys(old, "new"), overwrite=True)
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

    real = open

    def refuse(place, mode="r", **options):
        if "x" in mode:
            raise PermissionError(13, "Permission denied")
        return real(place, mode, **options)

    monkeypatch.setattr("builtins.open", refuse)
    with pytest.raises(InputError, match="cannot be written to; choose another"):
        write_whole(tmp_path / "a", "")


def test_text_that_cannot_be_encoded_leaves_no_litter(tmp_path):
    with pytest.raises(UnicodeEncodeError):
        write_whole(tmp_path / "a", "\ud800")
    assert list(Path(tmp_path).iterdir()) == []


# What may be replaced ----------------------------------------------------------------------------


def a_page(text):
    return html_page(title="t", body=[node("main", text)], styles=[])


PAGE = a_page("x")
_SEAL_OF_JSON = re.compile(r',\n "sha256": "[0-9a-f]{64}"')
posix = pytest.mark.skipif(os.name == "nt", reason="links, pipes and signals are POSIX matters")


def test_what_groundtruth_wrote_is_replaced_and_nothing_else(tmp_path):
    page, notes, result = tmp_path / "map.html", tmp_path / "notes.html", tmp_path / "result.json"
    write_whole(page, PAGE)
    write_whole(page, a_page("y"))
    write_whole(result, sealed('{\n  "schema_version": 1,\n  "tool": "groundtruth"\n}\n'))
    write_whole(result, "{}")
    notes.write_text("<!doctype html>\n<title>groundtruth</title> my own notes")
    with pytest.raises(
        InputError, match=r"notes.html: was not written by groundtruth.*--overwrite"
    ):
        write_all_whole({page: "new", notes: PAGE})
    assert "my own notes" in notes.read_text()
    assert "y" in page.read_text()  # all or none
    write_whole(notes, PAGE, overwrite=True)
    assert notes.read_text() == PAGE


def test_a_file_in_our_manifest_is_ours_until_somebody_edits_it(tmp_path):
    sheet, manifest = tmp_path / "turns.csv", tmp_path / "truth.json"
    listed = str(hashes({"turns.csv": "a,b\n"})).replace("'", '"')
    write_whole(sheet, "a,b\n")
    manifest.write_text('{"tool": "groundtruth simulate", "files": ' + listed + "}")
    write_whole(sheet, "c,d\n")
    with pytest.raises(InputError, match="was changed since"):
        write_whole(sheet, "e,f\n")
    write_whole(sheet, "c,d\n")  # the same again harms nobody
    manifest.write_text('{"files": ' + listed + "}")  # somebody else's list says nothing
    sheet.write_text("a,b\n")
    with pytest.raises(InputError, match="was not written by groundtruth"):
        write_whole(sheet, "e,f\n")


def test_a_page_or_export_of_ours_that_somebody_edited_is_theirs(tmp_path, capsys):
    gpx = '<?xml version="1.0"?>\n<gpx creator="groundtruth"><wpt/></gpx>\n'
    manifest = '{\n "form": "groundtruth season export",\n "tables": []\n}'
    result = '{\n "schema_version": 2,\n "tool": "groundtruth",\n "tables": []\n}\n'
    for name, text, old in (
        ("map.html", PAGE, "x"),
        ("beds.gpx", sealed(gpx), "wpt"),
        ("season.json", sealed(manifest), "tables"),
        ("result.json", sealed(result), "tables"),
    ):
        file = tmp_path / name
        write_whole(file, text)
        write_whole(file, text + "\n")  # an editor may add a line's end
        unsealed = text.replace(_SEAL_OF_JSON.search(text)[0], "") if name[-4:] == "json" else "x"
        for edited in (text.replace(old, "mine", 1), text + "mine", unsealed):
            assert edited != text
            file.write_text(edited)
            with pytest.raises(InputError, match="or was changed since"):
                write_whole(file, text + "\n\n")
            write_whole(file, text, overwrite=True)


def _input(path):
    with open(path, "rb") as stream:
        remember_input(stream)


@posix
@pytest.mark.parametrize("alias", ["same", "hard", "soft", "roundabout"])
def test_an_input_of_the_call_is_never_written_over(tmp_path, alias):
    source, other = tmp_path / "bench.html", tmp_path / "other.html"
    source.write_text(PAGE)
    match alias:
        case "same":
            other = source
        case "hard":
            os.link(source, other)
        case "soft":
            other.symlink_to(source)
        case "roundabout":
            other = tmp_path / ".." / tmp_path.name / source.name
    with inputs_remembered():
        _input(source)
        for overwrite in (False, True):
            with pytest.raises(InputError, match="was read just now"):
                write_whole(other, "new", overwrite=overwrite)
    assert source.read_text() == PAGE
    write_whole(other, "new")  # the next call may


@posix
def test_a_record_a_device_and_a_pipe_are_never_written_over(tmp_path):
    record, pipe, link = tmp_path / "season.gpkg", tmp_path / "pipe", tmp_path / "link.html"
    with closing(sqlite3.connect(record)) as db:
        db.execute("CREATE TABLE a (b)")
    os.mkfifo(pipe)
    link.symlink_to(record)
    before = record.read_bytes()
    (tmp_path / "season.gpkg-journal").write_bytes(b"\xd9\xd5\x05\xf9\x20\xa1\x63\xd7" + bytes(20))
    for place, says in (
        (record, "season's record"),
        (link, "season's record"),
        (tmp_path / "season.gpkg-journal", "season's record"),
        (pipe, "device or pipe"),
        (Path("/dev/null"), "device or pipe"),
    ):
        with pytest.raises(InputError, match=says):
            write_whole(place, PAGE, overwrite=True)
    assert record.read_bytes() == before


@posix
def test_a_link_stays_and_its_target_is_written(tmp_path):
    (tmp_path / "else").mkdir()
    target, link, loop = tmp_path / "else" / "map.html", tmp_path / "map.html", tmp_path / "loop"
    link.symlink_to(target)
    for text in (PAGE, a_page("y")):  # not there yet, then there
        write_whole(link, text)
        assert link.is_symlink()
        assert target.read_text() == text
    with pytest.raises(InputError, match="two files are to be written there"):
        write_all_whole({link: PAGE, target: PAGE})
    loop.symlink_to(loop)
    with pytest.raises(InputError, match="cannot be used as a place"):
        write_whole(loop, PAGE)


def test_places_can_be_asked_before_the_work(tmp_path):
    (tmp_path / "map.html").write_text("mine")
    with pytest.raises(InputError, match="was not written by groundtruth"):
        check_places([tmp_path / "new.html", tmp_path / "map.html"])
    check_places([tmp_path / "new.html", tmp_path / "map.html"], overwrite=True)


# Parts -------------------------------------------------------------------------------------------


def test_parts_of_a_killed_call_are_cleared_by_the_next(tmp_path):
    done = subprocess.run([sys.executable, "-c", "import os; print(os.getpid())"],
                          capture_output=True, check=True, text=True)  # fmt: skip
    dead, mine = int(done.stdout), part_beside(tmp_path / "a")
    left = tmp_path / f".groundtruth-{dead}-{'0' * 16}.part"
    for part in (left, mine, tmp_path / ".my-own.part"):
        part.write_text("half")
    if os.name == "nt":
        os.utime(left, (0, 0))
    write_whole(tmp_path / "a", "1")
    assert sorted(os.listdir(tmp_path)) == sorted([mine.name, ".my-own.part", "a"])


@posix
@pytest.mark.parametrize("number", [signal.SIGTERM, signal.SIGHUP, signal.SIGINT])
def test_a_call_asked_to_end_leaves_no_part(tmp_path, number):
    code = (
        "import signal, sys, time\n"
        "signal.signal(signal.SIGHUP, signal.SIG_DFL)\n"  # whoever started the tests may ignore it
        "signal.signal(signal.SIGINT, signal.default_int_handler)\n"
        "from groundtruth.io import writing\n"
        "from groundtruth.cli import main as cli\n"
        "def slow(handle):\n"
        "    print('now', flush=True)\n"
        "    time.sleep(60)\n"
        "writing.os.fsync = slow\n"
        "sys.exit(cli.main(['simulate', '--scenario', 'straight', '--out', sys.argv[1]]))\n"
    )
    from groundtruth.simulation import SCENARIOS

    code = code.replace("'straight'", repr(next(iter(SCENARIOS))))
    child = subprocess.Popen(
        [sys.executable, "-c", code, str(tmp_path)], stdout=subprocess.PIPE, stderr=subprocess.PIPE
    )
    assert child.stdout.readline() == b"now\n"
    assert len(os.listdir(tmp_path)) == 1
    child.send_signal(number)
    _, complaint = child.communicate(timeout=60)
    assert child.returncode == 128 + number
    assert b"stopped; nothing was written half" in complaint
    assert os.listdir(tmp_path) == []


# Every command that writes -----------------------------------------------------------------------


@pytest.fixture
def bench(tmp_path):
    file = tmp_path / "bench.csv"
    file.write_text("crop,seed_lot,setting,turns,seeds\nleek,a,4,20,118\nleek,a,6,20,161\n")
    return file


def refused(capsys, *words):
    assert main([str(w) for w in words]) == 2
    complaint = capsys.readouterr().err
    assert complaint.count("\n") == 1
    return complaint


CARD = ("--crop", "leek", "--spacing", "3 cm", "--ground-per-turn", "61 cm")


def test_a_card_is_not_written_over_the_bench_sheet(bench, capsys):
    before = bench.read_text()
    for extra in ((), ("--overwrite",)):
        assert "was read just now" in refused(
            capsys, "card", bench, *CARD, "--measured-on", "2026-05-12", "--out", bench, *extra
        )
    assert bench.read_text() == before


def test_a_card_is_not_written_over_the_record(bench, tmp_path, capsys):
    from datetime import date

    from groundtruth.season import add_change

    record = tmp_path / "s.gpkg"
    add_change(record, day=date(2026, 4, 2), kind="tyre")
    before = record.read_bytes()
    for words in (
        ("card", bench, *CARD, "--measured-on", "2026-05-12", "--season", record, "--out", record),
        ("season", "--season", record, "map", "--out", record),
        ("season", "--season", record, "map", "--out", record, "--overwrite"),
    ):
        assert "is a season's record" in refused(capsys, *words)
    (tmp_path / "beds.csv").write_text("my own")
    assert "beds.csv: was not written by groundtruth" in refused(
        capsys, "season", "--season", record, "export", tmp_path
    )
    assert (tmp_path / "beds.csv").read_text() == "my own"
    assert record.read_bytes() == before
    assert main(["season", "--season", str(record), "export", str(tmp_path / "out")]) == 0
    add_change(record, day=date(2026, 4, 3), kind="tyre")
    assert main(["season", "--season", str(record), "export", str(tmp_path / "out")]) == 0


def test_a_track_called_as_an_output_is_kept(tmp_path, capsys):
    sample = Path(__file__).parents[1] / "sample_tracks" / "dry-firm"
    for name in ("run.toml", "turns.csv"):
        (tmp_path / name).write_bytes((sample / name).read_bytes())
    run = tmp_path / "run.toml"
    run.write_text(run.read_text().replace("track.gpx", "map.html"))
    track = (sample / "track.gpx").read_bytes()
    (tmp_path / "map.html").write_bytes(track)
    for extra in ((), ("--overwrite",)):
        assert "map.html: was read just now" in refused(capsys, "measure", run, *extra)
    assert (tmp_path / "map.html").read_bytes() == track


def test_a_simulation_is_not_written_over_a_run_folder(tmp_path, capsys):
    from groundtruth.simulation import SCENARIOS

    words = ("simulate", "--scenario", next(iter(SCENARIOS)), "--out", tmp_path)
    (tmp_path / "turns.csv").write_text("pass,unit,turns\n1,1,88\n")
    assert "turns.csv: was not written by groundtruth" in refused(capsys, *words)
    assert os.listdir(tmp_path) == ["turns.csv"]
    (tmp_path / "turns.csv").unlink()
    for seed in "12":
        assert main([*map(str, words), "--seed", seed]) == 0
    with open(tmp_path / "run.toml", "a") as file:
        file.write("# mine\n")
    assert "run.toml: was not written by groundtruth, or was changed" in refused(capsys, *words)
    assert main([*map(str, words), "--overwrite"]) == 0


# Output that cannot be printed: what was done is done, and the exit code tells ------------------


def _run(tmp_path, redirect, **environment):
    sample = Path(__file__).parents[1] / "sample_tracks" / "dry-firm" / "run.toml"
    command = f'"{sys.executable}" -m groundtruth measure "{sample}" --out "{tmp_path}" {redirect}'
    environment = {**os.environ, "PYTHONPATH": str(Path(__file__).parents[1]), **environment}
    return subprocess.run(
        ["sh", "-c", command], capture_output=True, text=True, check=False, env=environment
    )


@posix
@pytest.mark.parametrize(
    ("redirect", "code", "says"),
    [
        (">/dev/full", 74, "the text cannot be printed (No space left on device)"),
        (">&-", 0, ""),
        ("| true", 0, ""),  # the code of the last in the pipe; nothing on the terminal
    ],
)
def test_a_full_or_closed_output_costs_the_text_only(tmp_path, redirect, code, says):
    if "/dev/full" in redirect and not os.path.exists("/dev/full"):
        pytest.skip("no /dev/full here")
    done = _run(tmp_path, redirect)
    assert done.returncode == code
    assert "Traceback" not in done.stderr
    assert says in done.stderr
    assert sorted(os.listdir(tmp_path)) == ["map.html", "report.html", "result.json"]


@posix
def test_a_name_that_the_terminal_cannot_spell_is_no_trouble(tmp_path):
    folder = tmp_path / os.fsdecode(b"caf\xc3\xa9 \xff")
    folder.mkdir()
    for locale in ("C", "POSIX"):
        done = _run(folder, "", LC_ALL=locale, PYTHONIOENCODING="ascii", PYTHONUTF8="0")
        assert done.returncode == 0, done.stderr
        assert "Written:" in done.stdout
