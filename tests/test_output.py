"""What commands print: whatever the terminal, its width, its encoding, or the names in it; and the
last net under errors that nobody planned."""

from __future__ import annotations

import json
import os
import subprocess
import sys
import tempfile
from pathlib import Path

import pytest

from groundtruth.cli import main as cli
from groundtruth.cli.last_net import BEGINNING
from groundtruth.cli.main import main
from groundtruth.cli.output import NARROWEST, WIDEST, terminal

DETAILS = Path(tempfile.gettempdir())  # of the tests alone, see conftest.py
ROOT = Path(__file__).parents[1]
RUN = ROOT / "sample_tracks" / "dry-firm" / "run.toml"
posix = pytest.mark.skipif(os.name == "nt", reason="redirections are those of a POSIX shell")
BENCH = "crop,seed_lot,setting,turns,seeds\nb\u00e9\u202et,a,4,20,118\nb\u00e9\u202et,a,6,20,161\n"


def shell(command, **environment):
    environment = {**os.environ, "PYTHONPATH": str(ROOT), "PYTHONUNBUFFERED": "", **environment}
    return subprocess.run(
        ["sh", "-c", command.replace("PROGRAM", f'"{sys.executable}" -m groundtruth')],
        capture_output=True, text=True, check=False, env=environment, errors="surrogateescape",
    )  # fmt: skip


# The last net ------------------------------------------------------------------------------------


def details():
    """The details that were written, taken away so that this test does not fail for them."""
    found = list(DETAILS.glob(f"{BEGINNING}*"))
    texts = [file.read_text(encoding="utf-8") for file in found]
    for file in found:
        file.unlink()
    return texts


def fall(monkeypatch, error):
    def run(_args):
        raise error

    monkeypatch.setattr("groundtruth.cli.commands.inspect.run", run)


def test_a_fault_that_nobody_planned_is_one_line_and_a_file(monkeypatch, capsys):
    fall(monkeypatch, KeyError("bed\n\x1b[31m"))
    assert main(["inspect", "a\x1b.gpx"]) == 70
    said = capsys.readouterr().err
    assert said.count("\n") == 1
    assert "\x1b" not in said
    assert said.startswith("groundtruth: a fault of ours that was not foreseen (KeyError:")
    (text,) = details()
    assert "Traceback" in text
    assert "groundtruth 'inspect' 'a\\x1b.gpx'" in text


def test_the_net_holds_where_no_file_can_be_written(monkeypatch, capsys):
    fall(monkeypatch, ZeroDivisionError())

    def full(**_):
        raise OSError(28, "No space left on device")

    monkeypatch.setattr("tempfile.mkstemp", full)
    assert main(["inspect", "a.gpx"]) == 70
    assert capsys.readouterr().err.count("\n") == 1
    fall(monkeypatch, MemoryError())
    assert main(["inspect", "a.gpx"]) == 70
    assert "more memory than there is" in capsys.readouterr().err
    assert not details()


@posix
def test_a_test_that_reaches_the_net_fails(tmp_path):
    """The fixture in conftest.py, tried on a test of its own."""
    (tmp_path / "conftest.py").write_text((ROOT / "tests" / "conftest.py").read_text())
    (tmp_path / "test_net.py").write_text(
        "from groundtruth.cli.last_net import told\n"
        "def test_quiet(): pass\n"
        "def test_net(): told(KeyError('a'), [])\n"
    )
    done = subprocess.run(
        [sys.executable, "-m", "pytest", "-p", "no:cacheprovider", "-q", str(tmp_path)],
        capture_output=True, text=True, check=False, cwd=tmp_path,
        env={**os.environ, "PYTHONPATH": f"{ROOT}:{ROOT / 'tests'}", "TMPDIR": str(tmp_path)},
    )  # fmt: skip
    assert "2 passed, 1 error" in done.stdout, done.stdout
    assert "the last net was reached" in done.stdout


CATCH_ALL = {
    "cli/main.py",  # the net
    "io/sheets/workbook.py",  # openpyxl raises anything
    "many/cluster.py",  # so does a worker that cannot begin
    "many/work.py",  # one run of thousands that fails is noted as failed
    "fleet/data_set.py",  # duckdb's and pyarrow's errors, told by their names; others go on
}


def test_every_command_stands_above_the_net():
    """No command ends the program by itself, or catches everything."""
    for file in (ROOT / "groundtruth").rglob("*.py"):
        text = file.read_text(encoding="utf-8")
        assert "sys.exit" not in text or file.name == "__main__.py", file
        if file.relative_to(ROOT / "groundtruth").as_posix() not in CATCH_ALL:
            assert "except Exception" not in text, file


# Output that fails -------------------------------------------------------------------------------


@posix
@pytest.mark.parametrize(
    ("command", "code"),
    [
        ("PROGRAM inspect {run}/track.gpx >/dev/full", 74),
        ("PROGRAM inspect {run}/track.gpx --json >/dev/full", 74),
        ("PROGRAM inspect none.gpx 2>/dev/full", 2),
        ("PROGRAM inspect none.gpx 2>&-", 2),
        ("PROGRAM inspect {run}/track.gpx >/dev/full 2>/dev/full", 74),
        ("PROGRAM inspect {run}/track.gpx >&- 2>&-", 0),
        ("PROGRAM --help >/dev/full", 74),
        ("PROGRAM >/dev/full 2>/dev/full", 2),
    ],
)
def test_the_exit_code_tells_whatever_becomes_of_the_output(command, code):
    if not os.path.exists("/dev/full"):
        pytest.skip("no /dev/full here")
    done = shell(command.format(run=RUN.parent))
    assert done.returncode == code, done.stderr
    assert "Traceback" not in done.stderr


@posix
@pytest.mark.parametrize("option", ["", "--json"])
def test_a_reader_that_goes_away_is_no_trouble(tmp_path, option):
    """The pipe's end is closed before the first word is written."""
    done = shell(f"(sleep 1; PROGRAM measure {RUN} --out {tmp_path} {option}; echo $? >&2) | true")
    assert done.stderr.endswith("141\n"), done.stderr
    assert "Traceback" not in done.stderr
    assert "Exception" not in done.stderr
    assert sorted(os.listdir(tmp_path)) == ["map.html", "report.html", "result.json"]


# Width and encoding ------------------------------------------------------------------------------


@pytest.mark.parametrize("columns", ["0", "1", "-7", "7", "1000000000", "none"])
def test_any_width_is_taken_for_a_sensible_one(monkeypatch, capsys, columns):
    monkeypatch.setenv("COLUMNS", columns)
    assert NARROWEST <= terminal().width <= WIDEST
    assert main(["simulate", "--list"]) == 0
    with pytest.raises(SystemExit):
        main(["measure", "--help"])
    assert main(["inspect", str(RUN.parent / "track.gpx")]) == 0
    assert capsys.readouterr().out


@posix
@pytest.mark.parametrize("encoding", ["ascii", "cp437", "utf-16"])
def test_any_encoding_carries_text_and_json(tmp_path, encoding):
    sheet = tmp_path / "bench.csv"
    sheet.write_text(BENCH, encoding="utf-8")
    settings = {"LC_ALL": "C", "PYTHONUTF8": "0", "PYTHONIOENCODING": encoding}
    text = shell(f"PROGRAM bench {sheet}", **settings)
    assert text.returncode == 0, text.stderr
    document = shell(f"PROGRAM bench {sheet} --json", **settings)
    assert document.returncode == 0, document.stderr
    if encoding != "utf-16":
        assert document.stdout.isascii()
        assert "b\u00e9" in json.dumps(json.loads(document.stdout), ensure_ascii=False)


def test_json_holds_no_raw_control(tmp_path, capsys):
    sheet = tmp_path / "bench.csv"
    sheet.write_text(BENCH, encoding="utf-8")
    assert main(["bench", str(sheet), "--json"]) == 0
    assert "\u202e" not in capsys.readouterr().out


def test_names_that_drive_a_terminal_are_shown_by_their_codes(tmp_path, capsys):
    """Every line that names a place: folders of any name can come out of an archive."""
    from season.test_record import run_of

    from groundtruth.season import add_run
    from groundtruth.simulation import SCENARIOS

    folder = tmp_path / "a\x1b[31m\u202eb\nGroundtruth: all is well"
    folder.mkdir()
    record = folder / "s.gpkg"
    add_run(record, run_of(1))
    season = ["season", "--season", str(record)]
    assert main(["measure", str(RUN), "--out", str(folder)]) == 0
    assert main([*season, "map", "--out", str(folder / "season.html")]) == 0
    assert main([*season, "export", str(folder / "out")]) == 0
    assert main([*season, "path"]) == 0
    assert main([*season, "check"]) == 0
    assert main([*season, "rescue", str(folder / "new.gpkg")]) == 0
    assert main([*season, "change", "tyre", "--day", "2027-05-01"]) == 0
    assert main([*season, "restore"]) == 0
    back = ["season", "--season", str(folder / "back.gpkg")]
    assert main([*back, "import", str(folder / "out")]) == 0
    assert (
        main(["simulate", "--scenario", next(iter(SCENARIOS)), "--out", str(folder / "run")]) == 0
    )
    assert main([*season, "add", str(folder / "none.json")]) == 2
    printed = capsys.readouterr()
    for text in (printed.out, printed.err):
        assert "\x1b" not in text
        assert "\u202e" not in text
        assert "\nGroundtruth" not in text
    assert printed.out.count(r"\x1b[31m") > 6


def test_the_net_and_its_code_are_those_of_the_docs():
    assert cli.UNPLANNED == 70
