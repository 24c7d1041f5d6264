"""`groundtruth many` on this computer: every run has its rows, once, equal to plain measuring."""

from __future__ import annotations

import importlib.util
import shutil
import subprocess
import sys

import pytest
from data_sets import files, rows
from small_runs import small_runs

from groundtruth.cli import main as cli
from groundtruth.fleet.columns import key_of, pass_rows, run_row
from groundtruth.io import read_run
from groundtruth.io.result_json import result_to_dict
from groundtruth.many import cluster
from groundtruth.measurement.measure import measure


def many(*args):
    """The command in a process of its own: what it printed, what it complained, exit code."""
    done = subprocess.run(
        [sys.executable, "-m", "groundtruth", "many", *map(str, args)],
        capture_output=True,
        text=True,
        check=False,
    )
    return done.stdout, done.stderr, done.returncode


@pytest.fixture(scope="module")
def measured(tmp_path_factory):
    """Six runs, one of them twice, one without its track, measured on two workers."""
    folder = tmp_path_factory.mktemp("many")
    runs = small_runs(folder / "runs", [f"day-{n}" for n in range(6)], days=2)
    (runs[5] / "track.gpx").unlink()
    shutil.copytree(runs[0], folder / "runs" / "copied")
    said = many(folder / "runs", "--out", folder / "fleet", "--workers", 2)
    return folder, said


def test_every_run_has_its_row_once(measured):
    folder, (out, err, code) = measured
    assert code == 0, err
    assert f"6 runs done now, 1 before. {folder / 'fleet'} holds: 5 measured, 1 refused." in out
    found = {row["source"]: row for row in rows(folder / "fleet")}
    assert len(found) == 6
    refused = found.pop("day-5/run.toml")
    assert (refused["status"], refused["season"]) == ("refused", None)
    assert refused["message"] == "track.gpx: no such track file in the folder day-5"
    assert all(row["status"] == "measured" and row["seconds"] > 0 for row in found.values())


def test_rows_are_those_of_plain_measuring(measured):
    folder, _ = measured
    found = rows(folder / "fleet")
    for row in found:
        if row["status"] != "measured":
            continue
        run = read_run(folder / "runs" / row["source"])
        document = result_to_dict(measure(run))
        expected = run_row(document, source=row["source"])
        expected |= {"season": row["date"].year, "seconds": row["seconds"]}
        assert row == expected
        assert row["run_key"] == key_of(document)
        passes = [p for p in rows(folder / "fleet", "passes") if p["run_key"] == row["run_key"]]
        assert passes == [p | {"season": row["season"]} for p in pass_rows(document)]


def test_a_second_start_does_nothing_and_starts_no_worker(measured, capsys, monkeypatch):
    folder, _ = measured
    before = files(folder / "fleet")
    monkeypatch.setattr(cluster, "_local", None)
    assert cli.main(["many", str(folder / "runs"), "--out", str(folder / "fleet")]) == 0
    assert "0 runs done now, 7 before." in capsys.readouterr().out
    assert files(folder / "fleet") == before


def test_changed_files_replace_their_rows_and_a_lost_part_is_measured_again(measured, tmp_path):
    folder = tmp_path / "many"
    shutil.copytree(measured[0], folder)
    # the runs moved: they are known by their content
    shutil.copy(folder / "runs" / "day-1" / "track.gpx", folder / "runs" / "day-5")
    shutil.copy(folder / "runs" / "day-1" / "turns.csv", folder / "runs" / "day-5")
    shutil.copy(folder / "runs" / "day-1" / "run.toml", folder / "runs" / "day-0")
    next((folder / "fleet" / "runs" / "season=__HIVE_DEFAULT_PARTITION__").iterdir()).unlink()
    out, err, code = many(folder / "runs", "--out", folder / "fleet", "--workers", 1)
    assert code == 0, err
    assert "Files of the data set were gone or changed: 1 run to be measured again." in out
    found = {row["source"]: row["status"] for row in rows(folder / "fleet")}
    assert len(found) == len(rows(folder / "fleet"))
    assert set(found.values()) == {"measured"}
    assert found.keys() >= {f"day-{n}/run.toml" for n in range(1, 6)}


@pytest.mark.parametrize("package", ["distributed", "pyarrow"])
def test_without_its_packages_it_says_what_to_install(package, capsys, monkeypatch, tmp_path):
    there = importlib.util.find_spec
    monkeypatch.setattr(
        importlib.util, "find_spec", lambda name: None if name == package else there(name)
    )
    assert cli.main(["many", str(tmp_path), "--out", str(tmp_path / "fleet")]) == 2
    assert capsys.readouterr().err == (
        f"groundtruth: measuring many runs needs the package {package}; install it with pip "
        'install "groundtruth[many]"\n'
    )
    assert not (tmp_path / "fleet").exists()


@pytest.mark.parametrize(
    ("options", "said"),
    [
        (["--scheduler", "tcp://10.0.0.3:8786"], "whoever reaches a port of Dask can run any"),
        (["--scheduler", "tcp://127.0.0.1:1", "--workers", "2"], "--workers: is for workers on"),
        (["--scheduler", "tcp://127.0.0.1:1", "--memory", "2"], "--memory: is for workers on th"),
        (["--tls-ca", "ca.pem"], "--tls-ca: belongs to --scheduler tls://HOST:PORT"),
        (["--workers", "0"], "--workers 0: must be 1 to 1024"),
        (["--memory", "0.1"], "--memory: must be 0.3 to 1,000,000 GB"),
        (["--time-limit", "0"], "--time-limit: must be above 0 and at most a day (86400 s)"),
    ],
)
def test_what_cannot_be_is_refused_before_anything_is_made(options, said, capsys, tmp_path):
    small_runs(tmp_path / "runs", ["day-0"], days=1)
    out = tmp_path / "fleet"
    assert cli.main(["many", str(tmp_path / "runs"), "--out", str(out), *options]) == 2
    assert said in capsys.readouterr().err
    assert not out.exists()


def test_a_scheduler_that_is_not_there_is_said_so(capsys, tmp_path, monkeypatch):
    monkeypatch.setattr(cluster, "_CONNECT_S", 0.5)
    small_runs(tmp_path / "runs", ["day-0"], days=1)
    words = ["many", str(tmp_path / "runs"), "--out", str(tmp_path / "fleet")]
    assert cli.main([*words, "--scheduler", "tcp://127.0.0.1:9"]) == 2
    assert "--scheduler tcp://127.0.0.1:9: does not answer" in capsys.readouterr().err
