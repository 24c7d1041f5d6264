"""200 runs, some of them poisoned, with a worker, the client and the scheduler killed in turn."""

from __future__ import annotations

import os
import subprocess
import sys
import time
from collections import Counter

import pytest
from data_sets import files, rows
from elsewhere import HERE, elsewhere, ended, started, waited
from small_runs import small_runs

pytestmark = pytest.mark.whole_days

TIME_LIMIT_S = 30
POISONED = {
    "exception": "failed",
    "other exception": "failed",
    "asleep": "ended",
    "lock held": "ended",
    "memory": "ended",
    "other memory": "ended",
    "exit": "ended",
    "other exit": "ended",
    "no track": "refused",
    "no passes": "refused",
}


@pytest.fixture(scope="module")
def runs(tmp_path_factory):
    """200 runs of which ten are poisoned, spread among the others."""
    folder = tmp_path_factory.mktemp("runs")
    names = [f"{n:03d}" for n in range(200)]
    for place, poison in enumerate(POISONED):
        names[7 + 19 * place] += f" {poison}"
    for path in small_runs(folder, names):
        if path.name.endswith("no track"):
            (path / "track.gpx").unlink()
        if path.name.endswith("no passes"):
            (path / "turns.csv").write_text("pass,turns\n1,0\n", encoding="utf-8")
    return folder


def many(runs, fleet, *more, **environment):
    """The command to its end."""
    return subprocess.run(
        [sys.executable, "-m", "groundtruth", "many", runs, "--out", fleet,
         "--time-limit", str(TIME_LIMIT_S), *more],
        capture_output=True, text=True, check=False, env={**os.environ, **environment},
    )  # fmt: skip


@pytest.fixture(scope="module")
def undisturbed(runs, tmp_path_factory):
    """The data set where nothing was killed, on workers of this computer."""
    fleet = tmp_path_factory.mktemp("undisturbed") / "fleet"
    done = many(
        runs, fleet, "--workers", "2", "--memory", "0.7",
        DASK_DISTRIBUTED__WORKER__PRELOAD=repr([str(HERE / "poison.py")]),
    )  # fmt: skip
    assert done.returncode == 0, done.stderr
    return fleet


def comparable(fleet):
    """All rows but for how long each took."""
    return [{**row, "seconds": None} for row in rows(fleet)]


def test_undisturbed_every_run_has_one_row_with_what_became_of_it(undisturbed):
    found = {row["source"].split("/")[0]: row for row in rows(undisturbed)}
    assert len(rows(undisturbed)) == len(found) == 200
    for name, row in found.items():
        assert row["status"] == POISONED.get(name[4:], "measured"), (name, row["message"])
    said = {name[4:]: row["message"] for name, row in found.items() if name[4:]}
    assert said["exception"] == "ZeroDivisionError: a fault on purpose"
    assert said["asleep"].startswith("took longer than 30 s; look at its track, or allow more")
    assert said["memory"].startswith("took more memory than a worker has; look at its track")
    assert said["exit"].startswith("the process that measured it died 2 times; groundtruth measu")
    assert said["no track"].startswith("track.gpx: no such track file in the folder")
    assert Counter(row["run_key"] for row in rows(undisturbed, "passes")).total() == 3 * 190


def test_a_worker_the_client_and_the_scheduler_killed_in_turn(runs, undisturbed, tmp_path):
    fleet, seen = tmp_path / "fleet", tmp_path / "seen"
    seen.touch()

    def measured():
        return seen.read_text(encoding="utf-8").count("\n")

    with elsewhere(tmp_path, seen=seen) as there:

        def client():
            return started(
                "groundtruth", "many", runs, "--out", fleet, "--time-limit", TIME_LIMIT_S,
                "--scheduler", there.address, log=tmp_path / "client.log",
            )  # fmt: skip

        first = client()
        waited(lambda: measured() >= 20)
        there.kill_a_worker()
        waited(lambda: measured() >= 50)
        ended(first)

        second = client()
        waited(lambda: measured() >= 90)
        there.kill_the_scheduler()
        assert second.wait(timeout=90) == 2
        said = (tmp_path / "client.log").read_text(encoding="utf-8")
        assert f"the scheduler at {there.address} does not answer any more; what was" in said
        assert "Traceback" not in said

        there.start()
        last = many(runs, fleet, "--scheduler", there.address)
        assert last.returncode == 0, last.stderr
        assert comparable(fleet) == comparable(undisturbed)
        assert rows(fleet, "passes") == rows(undisturbed, "passes")
        assert measured() < 300  # what was kept was not measured again

        before, began = files(fleet), time.monotonic()
        again = many(runs, fleet, "--scheduler", there.address)
        took_s = time.monotonic() - began
        assert "0 runs done now, 200 before." in again.stdout, took_s
        assert files(fleet) == before
