"""Many farms' passes: Parquet with DuckDB beside PostgreSQL with PostGIS, and ways to load into it.

    python -m tests.benchmarks.many_farms [--passes 1e7] [--load 1e6] [--rounds 3]
        [--write docs/many-farms.md]

Both are asked the same questions of the same invented data set (`made_fleet`). Each way to load
starts from an empty record, in a process of its own, and ends with the same statements; "again" is
the same data set a second time. The server is started here as its packages set it up, but for
``shared_buffers`` and ``max_wal_size`` and with ``fsync`` on; it needs PostGIS, as the tests do.
Times are processor time of client and server together, since others may use the machine, and the
least of the rounds. Needs Linux, whose /proc tells of the server's.
"""

from __future__ import annotations

import argparse
import json
import os
import subprocess
import sys
import tempfile
import time
from collections.abc import Callable
from pathlib import Path
from typing import Any

from groundtruth.fleet import postgis_load, postgis_merge
from groundtruth.fleet.columns import MEASURED, pass_schema, run_schema

from .made_fleet import write_fleet
from .page import markdown_table, write_between

ROOT = Path(__file__).parents[2]
RUNS, PASSES = "{runs}", "{passes}"
QUESTIONS = {
    "seeders off by more than 3 %": (
        f"SELECT farm, seeder, count(*), avg(change) FROM {RUNS} GROUP BY farm, seeder"
        " HAVING abs(avg(change)) > 0.03"
    ),
    "slip by soil, moisture and tyre": (
        "SELECT soil_texture, soil_moisture, tyre, count(*), avg(p.slip), stddev_samp(p.slip)"
        f" FROM {PASSES} p JOIN {RUNS} r USING (run_key)"
        " GROUP BY soil_texture, soil_moisture, tyre"
    ),
    "slip by speed": (
        f"SELECT round(speed_m_s * 10), count(*), avg(slip) FROM {PASSES} GROUP BY 1"
    ),
    "one farm's passes": (
        f"SELECT p.* FROM {PASSES} p JOIN {RUNS} r USING (run_key) WHERE r.farm = 'farm 000017'"
    ),
}
"""By what is asked; each is answered whole."""


def main() -> None:
    """Measure, print the tables, and write them where asked."""
    parser = argparse.ArgumentParser(description=__doc__.partition("\n")[0])
    number = lambda text: int(float(text))  # noqa: E731
    parser.add_argument("--passes", type=number, default=10_000_000)
    parser.add_argument("--load", type=number, default=1_000_000, help="0: no PostGIS")
    parser.add_argument("--rounds", type=int, default=3)
    parser.add_argument("--write", type=Path)
    parser.add_argument("--child", nargs=3, help=argparse.SUPPRESS)
    args = parser.parse_args()
    if args.child:
        way, folder, service = args.child
        print(json.dumps(_loaded(WAYS[way], Path(folder), service)))
        return
    with tempfile.TemporaryDirectory() as name:
        folder = Path(name)
        tables = {"parquet": _of_parquet(folder, args.passes, args.rounds)}
        if args.load:
            tables["load"], tables["questions"] = _of_postgis(folder, args.load, args.rounds)
    for kind, text in tables.items():
        print(f"{kind}\n\n{text}\n")
        if args.write:
            write_between(args.write, text, f"many-farms {kind}")


def _of_parquet(folder: Path, passes: int, rounds: int) -> str:
    """How large the data set is, and how long DuckDB takes for each question."""
    fleet = folder / "large"
    write_fleet(fleet, passes=passes, farms=max(100, passes // 1000))
    rows = [
        ["rows of runs", f"{passes // 20:,}"],
        ["rows of passes", f"{passes:,}"],
        ["size of both on disk", f"{_size(fleet) / 1e6:,.0f} MB"],
    ]
    rows += [[q, f"{s:.2f} s"] for q, (s, _) in _asked_duckdb(fleet, rounds).items()]
    for words in (["seeders"], ["slip"], ["phones"]):
        used, memory = _command([*words, str(fleet)])
        said = f"{used:.1f} s, {memory:,.0f} MB of memory"
        rows.append([f"`groundtruth fleet {' '.join(words)}`", said])
    return markdown_table(["", "DuckDB on Parquet"], rows)


_COMMAND = """
import sys
from groundtruth.cli.main import main
code = main(["fleet", *sys.argv[1:]])
status = open("/proc/self/status").read()  # ru_maxrss would begin with that of who started us
print(status.partition("VmHWM:")[2].split()[0], file=sys.stderr)
sys.exit(code)
"""


def _command(words: list[str]) -> tuple[float, float]:
    """Processor time of a command of `groundtruth fleet` [s] and its peak of memory [MB]."""
    before = os.times()
    done = subprocess.run(
        [sys.executable, "-c", _COMMAND, *words], cwd=ROOT, check=True, capture_output=True
    )
    after = os.times()
    used = after.children_user + after.children_system
    used -= before.children_user + before.children_system
    return used, int(done.stderr.split()[-1]) / 1024


def _size(folder: Path) -> int:
    return sum(file.stat().st_size for file in folder.rglob("*.parquet"))


def _asked_duckdb(fleet: Path, rounds: int) -> dict[str, tuple[float, int]]:
    import duckdb

    with duckdb.connect() as db:
        places = {
            kind: f"read_parquet('{fleet / kind}/*/*.parquet')" for kind in ("runs", "passes")
        }
        return {
            name: _best(
                lambda asked=asked: len(db.execute(asked).fetchall()), time.process_time, rounds
            )
            for name, asked in ((n, q.format(**places)) for n, q in QUESTIONS.items())
        }


def _best(answered: Callable[[], int], used: Callable[[], float], rounds: int) -> tuple[float, int]:
    """Least processor time of several rounds [s], and the number of rows answered."""
    times, rows = [], 0
    for _ in range(rounds):
        begun = used()
        rows = answered()
        times.append(used() - begun)
    return min(times), rows


def _used_by(process: int) -> float:
    """Processor time of a process, of those it started and of those that have ended [s]."""
    ticks = 0
    for place in Path("/proc").glob("[0-9]*/stat"):
        try:
            # the name, in brackets, may hold spaces [proc(5)]
            fields = place.read_text(encoding="utf-8", errors="replace").rpartition(")")[2].split()
        except OSError:  # it has just ended
            continue
        if int(place.parent.name) == process:
            ticks += sum(map(int, fields[11:15]))
        elif int(fields[1]) == process:
            ticks += sum(map(int, fields[11:13]))
    return ticks / os.sysconf("SC_CLK_TCK")


def _of_postgis(folder: Path, passes: int, rounds: int) -> tuple[str, str]:
    """The ways to load, and the questions to both."""
    sys.path.insert(0, str(ROOT / "tests"))
    from database_server import binaries, running

    where = binaries()
    if where is None:
        raise SystemExit("PostGIS is not installed; --load 0 leaves it out")
    fleet = folder / "smaller"
    write_fleet(fleet, passes=passes, farms=max(100, passes // 1000))
    settings = {"fsync": "on", "shared_buffers": "512MB", "max_wal_size": "4GB"}
    with running(where, settings) as server:
        os.environ["PGSERVICEFILE"] = str(server.service_file)
        loads = [
            [way, *(_load_row(server, fleet, way, again) for again in (False, True))]
            for way in WAYS
        ]
        loads = [[way, *first, again[0]] for way, first, again in loads]
        with server.connect("copied") as db:
            db.execute("VACUUM ANALYZE fleet.runs")
            db.execute("VACUUM ANALYZE fleet.passes")
            places = {"runs": "fleet.runs", "passes": "fleet.passes"}
            theirs = {
                name: _best(
                    lambda asked=asked: len(db.execute(asked).fetchall()),
                    lambda: _used_by(server.process.pid) + time.process_time(),
                    rounds,
                )
                for name, asked in ((n, q.format(**places)) for n, q in QUESTIONS.items())
            }
            ((stored,),) = db.execute(
                "SELECT pg_total_relation_size('fleet.runs')"
                " + pg_total_relation_size('fleet.passes')"
            ).fetchall()
    ours = _asked_duckdb(fleet, rounds)
    for name, (_, rows) in ours.items():
        assert theirs[name][1] == rows, name  # both answer the same
    answers = [["size on disk", f"{_size(fleet) / 1e6:,.0f} MB", f"{stored / 1e6:,.0f} MB"]]
    answers += [[n, f"{ours[n][0]:.2f} s", f"{theirs[n][0]:.2f} s"] for n in QUESTIONS]
    head = [f"{passes:,} passes", "DuckDB on Parquet", "PostGIS"]
    return (
        markdown_table(
            [f"{passes:,} passes", "first", "of it the client", "memory of the client", "again"],
            loads,
        ),
        markdown_table(head, answers),
    )


def _load_row(server: Any, fleet: Path, way: str, again: bool) -> list[str]:
    database = {"psycopg, COPY of CSV (ours)": "copied"}.get(way, f"way{list(WAYS).index(way)}")
    if not again:
        with server.connect("postgres") as db:
            db.execute(f"CREATE DATABASE {database}")
        with server.connect(database) as db:
            db.execute(postgis_load.schema_sql())
        server.add_service(database, database=database, role="postgres")
    asked = [sys.executable, "-m", __spec__.name, "--child", way, str(fleet), database]
    before = _used_by(server.process.pid)
    done = subprocess.run(asked, cwd=ROOT, check=True, capture_output=True, text=True)
    cpu, memory = json.loads(done.stdout)
    whole = cpu + _used_by(server.process.pid) - before
    return [f"{whole:.0f} s", f"{cpu:.1f} s", f"{memory:.0f} MB"]


def _loaded(way: Callable[[Path, str], None], folder: Path, service: str) -> list[float]:
    """Processor time of this process [s] and its peak of memory [MB]."""
    used = time.process_time()
    way(folder, service)
    used = time.process_time() - used
    # ru_maxrss would begin with that of the process which started this one
    status = Path("/proc/self/status").read_text(encoding="ascii")
    return [used, int(status.partition("VmHWM:")[2].split()[0]) / 1024]


def _copied(folder: Path, service: str) -> None:
    postgis_load.load_fleet(folder, service)


def _batches(folder: Path, kind: str) -> Any:
    import pyarrow.dataset as ds

    schema = run_schema() if kind == "runs" else pass_schema()
    files = sorted(str(path) for path in (folder / kind).glob("*/*.parquet"))
    data = ds.dataset(files, schema=schema, format="parquet")
    return data.scanner(
        filter=ds.field("status") == MEASURED if kind == "runs" else None, batch_size=65_536
    ).to_reader()


_MERGED = (
    *postgis_merge.KEYS,
    postgis_merge.FARMS.replace("%s", "''"),
    *postgis_merge.ANALYZED,
    postgis_merge.WITHOUT_FARM,
    postgis_merge.LACKING,
    postgis_merge.RUNS,
    postgis_merge.REPLACED,
    postgis_merge.PASSES_GONE,
    postgis_merge.PASSES,
)


def _by_rows(folder: Path, service: str) -> None:
    import psycopg

    with psycopg.connect(service=service) as db:
        for statement in postgis_merge.INCOMING:
            db.execute(statement)
        for kind in ("runs", "passes"):
            batches = _batches(folder, kind)
            names = ", ".join(batches.schema.names)
            with db.cursor().copy(f"COPY incoming_{kind} ({names}) FROM STDIN") as copy:
                for batch in batches:
                    for row in zip(*(column.to_pylist() for column in batch.columns), strict=True):
                        copy.write_row(row)
        for statement in _MERGED:
            db.execute(statement)


def _by_adbc(folder: Path, service: str) -> None:
    import adbc_driver_postgresql.dbapi as adbc

    with adbc.connect(f"postgresql:///?service={service}") as db, db.cursor() as ask:
        for statement in postgis_merge.INCOMING:
            ask.execute(statement)
        for kind in ("runs", "passes"):
            ask.adbc_ingest(
                f"incoming_{kind}", _batches(folder, kind), mode="append", temporary=True
            )
        for statement in _MERGED:
            ask.execute(statement)
        db.commit()


WAYS: dict[str, Callable[[Path, str], None]] = {
    "psycopg, COPY of CSV (ours)": _copied,
    "ADBC": _by_adbc,
    "psycopg, COPY row by row": _by_rows,
}


if __name__ == "__main__":
    main()
