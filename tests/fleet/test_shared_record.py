"""The record that farms share, on a real PostgreSQL with PostGIS: rights by farm, and the loader.

Rules that are held here: PostgreSQL documentation, "Row Security Policies" and "Using EXPLAIN";
PostGIS manual, ST_EstimatedExtent (both from memory).
"""

import os
import re
import signal
import subprocess
import sys
import threading
import time
from concurrent.futures import ThreadPoolExecutor
from contextlib import contextmanager, suppress
from itertools import count

import psycopg
import pyarrow as pa
import pyarrow.parquet as pq
import pytest
from factories import make_result

from groundtruth.cli.main import main
from groundtruth.core.errors import InputError
from groundtruth.fleet.columns import (
    PASS_COLUMNS,
    RUN_COLUMNS,
    failed_row,
    pass_rows,
    pass_schema,
    run_row,
    run_schema,
)
from groundtruth.fleet.postgis_connection import listened_to
from groundtruth.fleet.postgis_load import Loaded, load_fleet, schema_sql
from groundtruth.fleet.postgis_merge import NOT_KEPT
from groundtruth.io.result_json import result_to_dict

FARMS = {"farm_a": "Quillfen", "farm_b": "Overmarsh"}
ROLES = {**dict.fromkeys(FARMS, "fleet_farm"), "adviser": "fleet_reader", "coop": "fleet_loader"}
_numbers = count(1)


class Record:
    """A shared record in a database of its own."""

    def __init__(self, server, database):
        self.server, self.database = server, database

    def service(self, role):
        return f"{self.database}-{role}"

    def load(self, folder, role="coop", **options):
        return load_fleet(folder, self.service(role), **options)

    @contextmanager
    def session(self, role="postgres"):
        with self.server.connect(self.database, role) as db:
            yield db

    def ask(self, statement, *values, role="postgres"):
        with self.session(role) as db:
            done = db.execute(statement, values or None)
            return done.fetchall() if done.description else done.rowcount

    def rows(self):
        """Everything in it."""
        return {
            table: self.ask(f"SELECT * FROM fleet.{table} ORDER BY farm_key, run_key, {more}")
            for table, more in (("runs", "source"), ("passes", "number"))
        }


def new_record(server):
    """A database with an empty record."""
    made = Record(server, f"fleet_{next(_numbers)}")
    with server.connect("postgres") as db:
        db.execute(f"CREATE DATABASE {made.database}")
    made.ask(schema_sql())
    for role, farm in FARMS.items():
        made.ask("INSERT INTO fleet.members VALUES (%s, %s)", role, farm)
    for role in (*ROLES, "stranger", "postgres"):
        server.add_service(made.service(role), database=made.database, role=role)
    return made


@pytest.fixture(scope="module")
def roles(server):
    """Those who may use a record, and one who may not."""
    with server.connect("postgres") as db:
        for group in sorted({*ROLES.values()}):
            db.execute(f"CREATE ROLE {group} NOLOGIN")
        for role, group in ROLES.items():
            db.execute(f"CREATE ROLE {role} LOGIN IN ROLE {group}")
        db.execute("CREATE ROLE stranger LOGIN")


@pytest.fixture(scope="module")
def kept_record(server, roles):
    """A record for the tests of the module, each of which finds it empty."""
    return new_record(server)


@pytest.fixture
def record(kept_record, monkeypatch):
    """An empty record whose form stays as it is."""
    monkeypatch.setenv("PGSERVICEFILE", str(kept_record.server.service_file))
    kept_record.ask("TRUNCATE fleet.runs, fleet.passes")
    return kept_record


@pytest.fixture
def own_record(server, roles, monkeypatch):
    """An empty record of the test's own, to change its form."""
    monkeypatch.setenv("PGSERVICEFILE", str(server.service_file))
    return new_record(server)


def made_run(number, *, farm="Quillfen", passes=4, version="0.1.0", source=None, **more):
    """A row of runs and its rows of passes, of invented figures."""
    document = result_to_dict(make_result(passes=passes, seed=number))
    key = f"{number:060x}{version.replace('.', '')[:4]:0>4}"
    row = run_row(document, run_key=key, source=source or f"2026/{number}/run.toml")
    row |= {"farm": farm, "version": version, "seeder": f"seeder {number % 2}", **more}
    return row, pass_rows(document, run_key=key)


def write(folder, runs, failed=()):
    """A data set as `groundtruth many` lays it out."""
    rows = [[row for row, _ in runs] + list(failed), [p for _, passes in runs for p in passes]]
    for kind, schema, some in zip(
        ("runs", "passes"), (run_schema(), pass_schema()), rows, strict=True
    ):
        into = folder / kind / "season=2026"
        into.mkdir(parents=True, exist_ok=True)
        pq.write_table(pa.Table.from_pylist(some, schema=schema), into / "part-0.parquet")
    return folder


def fleet_of(folder, *, farms=("Quillfen", "Overmarsh"), runs=3, first=1, **more):
    """A data set with some runs of each farm."""
    numbers = count(first)
    return write(
        folder, [made_run(next(numbers), farm=f, **more) for f in farms for _ in range(runs)]
    )


def fill(record, folder):
    """Three runs of each of two farms, some hundred kilometres apart."""
    runs = [made_run(n) for n in (1, 2, 3)]
    far = {"latitude_deg": 52.123456, "longitude_deg": 12.654321, "tyre": "bare steel"}
    runs += [made_run(n, farm="Overmarsh", **far) for n in (4, 5, 6)]
    record.load(write(folder / "both", runs))
    return record


@pytest.fixture
def both(record, tmp_path):
    """The record with runs of two farms."""
    return fill(record, tmp_path)


# What the record holds ---------------------------------------------------------------------------


def test_the_record_has_the_columns_of_the_data_set(record):
    """So that a new column of the data set cannot be forgotten in the record."""
    kinds = {
        "text": "text",
        "number": "double precision",
        "count": "bigint",
        "day": "date",
        "instant": "timestamp with time zone",
    }
    found = {
        (table, name): kind
        for table, name, kind in record.ask(
            "SELECT table_name, column_name, data_type FROM information_schema.columns"
            " WHERE table_schema = 'fleet' AND table_name IN ('runs', 'passes')"
        )
    }
    wanted = {("runs", n): kinds[k] for n, k in RUN_COLUMNS if n not in NOT_KEPT}
    wanted |= {("passes", n): kinds[k] for n, k in PASS_COLUMNS}
    wanted |= {(table, "farm_key"): "text" for table in ("runs", "passes")}
    assert found == wanted | {("runs", "place"): "USER-DEFINED"}


HOSTILE = (
    'a,"b"\n\\N;\\.\r\n–ü',
    "x\n\\.\ny",
    "\\.",
    "NULL",
    '"',
    "\t\\\b",
    "'; DROP TABLE fleet.runs; --",
)


@pytest.mark.parametrize("hostile", HOSTILE)
def test_every_value_comes_back_as_it_is_in_the_data_set(record, tmp_path, hostile):
    row, passes = made_run(7, field=hostile, run_name=hostile, tyre="", ballast_kg=None)
    passes[0]["bed"] = hostile
    record.load(write(tmp_path / "fleet", [(row, passes)]))
    kept = [n for n, _ in RUN_COLUMNS if n not in NOT_KEPT]
    assert record.ask(f"SELECT {', '.join(kept)} FROM fleet.runs") == [tuple(row[n] for n in kept)]
    names = [n for n, _ in PASS_COLUMNS]
    assert record.ask(f"SELECT {', '.join(names)} FROM fleet.passes ORDER BY number") == [
        tuple(p[n] for n in names) for p in passes
    ]


def test_a_place_is_kept_to_a_hundredth_of_a_degree(record, tmp_path):
    here = {"latitude_deg": 48.123456, "longitude_deg": -7.987654}
    nowhere = {"latitude_deg": None, "longitude_deg": None}
    record.load(write(tmp_path / "fleet", [made_run(1, **here), made_run(2, **nowhere)]))
    found = record.ask("SELECT ST_X(place), ST_Y(place), ST_SRID(place) FROM fleet.runs ORDER BY 1")
    assert found == [(-7.99, 48.12, 4326), (None, None, None)]


def test_making_the_record_again_adds_what_is_new_and_keeps_the_rest(own_record, tmp_path):
    both = fill(own_record, tmp_path)
    before = both.rows()
    both.ask("ALTER TABLE fleet.runs DROP COLUMN verdict")
    both.ask("GRANT EXECUTE ON FUNCTION ST_EstimatedExtent(text, text, text) TO PUBLIC")
    both.ask(schema_sql())
    after = both.rows()
    assert after["passes"] == before["passes"]
    assert len(after["runs"]) == 6
    assert both.ask("SELECT DISTINCT verdict FROM fleet.runs") == [("",)]
    with pytest.raises(psycopg.errors.InsufficientPrivilege):
        both.ask("SELECT ST_EstimatedExtent('fleet', 'runs', 'place')", role="farm_a")


# Rights by farm ----------------------------------------------------------------------------------


@pytest.mark.parametrize("table", ["runs", "passes"])
def test_a_farm_sees_its_own_rows_alone(both, table):
    for role, farm in FARMS.items():
        assert both.ask(f"SELECT DISTINCT farm_key FROM fleet.{table}", role=role) == [(farm,)]
    everyone = [(farm,) for farm in sorted(FARMS.values())]
    for role in ("adviser", "coop"):
        found = both.ask(f"SELECT DISTINCT farm_key FROM fleet.{table} ORDER BY 1", role=role)
        assert found == everyone
    with pytest.raises(psycopg.OperationalError, match="permission denied for database"):
        both.ask(f"SELECT 1 FROM fleet.{table}", role="stranger")


def test_a_farm_changes_its_own_rows_alone(both):
    assert both.ask("UPDATE fleet.runs SET field = 'south'", role="farm_a") == 3
    assert both.ask("DELETE FROM fleet.passes", role="farm_a") == 12
    assert both.ask("DELETE FROM fleet.runs WHERE farm_key = 'Overmarsh'", role="farm_a") == 0
    found = both.ask("SELECT farm_key, field = 'south' FROM fleet.runs ORDER BY 1")
    assert found == [("Overmarsh", False)] * 3 + [("Quillfen", True)] * 3
    assert both.ask("SELECT count(*) FROM fleet.passes") == [(12,)]


@pytest.mark.parametrize(
    "statement",
    [
        "INSERT INTO fleet.runs (farm_key, run_key) VALUES ('Overmarsh', 'x')",
        "INSERT INTO fleet.passes SELECT 'Overmarsh', run_key, 99 FROM fleet.runs LIMIT 1",
        "UPDATE fleet.runs SET farm_key = 'Overmarsh', run_key = 'x'",
        "INSERT INTO fleet.members VALUES ('farm_a', 'Overmarsh')",
        "UPDATE fleet.members SET farm_key = 'Overmarsh'",
        "TRUNCATE fleet.passes",
        "ALTER TABLE fleet.runs DISABLE ROW LEVEL SECURITY",
        "DROP POLICY own ON fleet.runs",
        "CREATE POLICY mine ON fleet.runs USING (true)",
        "SET ROLE fleet_loader",
        "SET ROLE farm_b",
        "SET row_security = off; SELECT * FROM fleet.runs",
        "CREATE TABLE public.fleet (x int)",
        "CREATE FUNCTION fleet.mine() RETURNS int LANGUAGE sql AS 'SELECT 1'",
    ],
)
def test_a_farm_cannot_reach_beyond_itself(both, statement):
    before = both.rows()
    refused = (psycopg.errors.InsufficientPrivilege, psycopg.errors.ForeignKeyViolation)
    with both.session("farm_a") as db, pytest.raises(refused):
        db.execute(statement)
    assert both.rows() == before


def test_readers_change_nothing(both):
    for statement in ("UPDATE fleet.runs SET field = ''", "DELETE FROM fleet.passes"):
        with pytest.raises(psycopg.errors.InsufficientPrivilege):
            both.ask(statement, role="adviser")


def test_a_farm_does_not_learn_who_the_others_are(both):
    assert both.ask("SELECT * FROM fleet.members", role="farm_a") == [("farm_a", "Quillfen")]


# What leaks --------------------------------------------------------------------------------------

TELLING = (
    "ST_EstimatedExtent('fleet', 'runs', 'place')",
    "ST_EstimatedExtent('fleet', 'runs', 'place', false)",
    "_postgis_index_extent('fleet.runs', 'place')",
    "_postgis_stats('fleet.runs', 'place')",
    "_postgis_selectivity('fleet.runs', 'place', ST_MakeEnvelope(12, 52, 13, 53, 4326))",
    "_postgis_join_selectivity('fleet.runs', 'place', 'fleet.runs', 'place')",
)
"""Functions of PostGIS that tell of a column as a whole."""


@pytest.mark.parametrize("function", TELLING)
@pytest.mark.parametrize("role", ["farm_a", "adviser", "coop"])
def test_functions_that_tell_of_everybodys_places_are_refused(both, function, role):
    both.ask("ANALYZE fleet.runs")
    with pytest.raises(psycopg.errors.InsufficientPrivilege, match="permission denied"):
        both.ask(f"SELECT {function}", role=role)


def test_the_box_of_all_places_would_leak_were_it_not_refused(own_record, tmp_path):
    """So that the test above can fail: the box is there, and row-level security does not help."""
    both = fill(own_record, tmp_path)
    both.ask("ALTER TABLE fleet.runs ALTER place SET STATISTICS 100")
    both.ask("ANALYZE fleet.runs")
    both.ask("GRANT EXECUTE ON FUNCTION ST_EstimatedExtent(text, text, text) TO fleet_farm")
    ((east,),) = both.ask(
        "SELECT ST_XMax(ST_EstimatedExtent('fleet', 'runs', 'place'))", role="farm_a"
    )
    assert east > 12
    ((own,),) = both.ask("SELECT ST_XMax(ST_Extent(place)) FROM fleet.runs", role="farm_a")
    assert own < 8


def test_every_function_of_postgis_that_runs_with_anothers_rights_is_closed(both):
    """Whatever a later PostGIS brings: none that a farm may call acts for its owner."""
    found = both.ask(
        "SELECT p.oid::regprocedure::text FROM pg_proc p JOIN pg_depend d ON d.objid = p.oid"
        " AND d.deptype = 'e' JOIN pg_extension e ON e.oid = d.refobjid WHERE e.extname = 'postgis'"
        " AND p.prosecdef AND has_function_privilege(p.oid, 'EXECUTE')",
        role="farm_a",
    )
    assert found == []


def test_the_views_of_statistics_tell_a_farm_nothing(both):
    both.ask("ANALYZE")
    for view in ("pg_stats", "pg_stats_ext", "pg_stats_ext_exprs"):
        assert both.ask(f"SELECT * FROM {view} WHERE schemaname = 'fleet'", role="farm_a") == []
    with pytest.raises(psycopg.errors.InsufficientPrivilege):
        both.ask("SELECT * FROM pg_statistic", role="farm_a")


GUESSES = (
    "place && ST_MakeEnvelope(12, 52, 13, 53, 4326)",
    "ST_DWithin(place, ST_Point(12.65, 52.12, 4326), 0.1)",
    "tyre = 'bare steel'",
    "tyre < 'c'",
    "farm_key = 'Overmarsh'",
    "run_key < '00000000000000000000000000000000000000000000000000000000000500'",
    "ground_per_turn_m BETWEEN 0.62 AND 0.64",
    "date = '2026-05-12'",
)


def plans(record, role="farm_a"):
    """What EXPLAIN says to guesses at what others have."""
    with record.session(role) as db:
        return [
            row[0]
            for guess in GUESSES
            for row in db.execute(f"EXPLAIN SELECT * FROM fleet.runs WHERE {guess}").fetchall()
        ]


def others_become_another(record):
    """The other farm's rows in another place, with another tyre, key and day; as many as before."""
    record.ask(
        "UPDATE fleet.runs SET place = ST_Point(1.23, 45.67, 4326), tyre = 'some steel',"
        " ground_per_turn_m = 0.9, date = '2020-01-01', run_key = 'f' || substr(run_key, 2)"
        " WHERE farm_key = 'Overmarsh'"
    )
    record.ask("UPDATE fleet.runs SET farm_key = 'Othermarh' WHERE farm_key = 'Overmarsh'")
    record.ask("VACUUM (FULL, ANALYZE) fleet.runs")


def fill_with_many_of_another(record):
    record.ask(
        "INSERT INTO fleet.runs (farm_key, run_key, tyre, ground_per_turn_m, date, place)"
        " SELECT 'Overmarsh', lpad(i::text, 64, '0'), 'bare steel', 0.63, '2026-05-12',"
        " ST_Point(12.65, 52.12, 4326) FROM generate_series(1000, 5000) i"
    )
    record.ask("INSERT INTO fleet.runs (farm_key, run_key) VALUES ('Quillfen', 'x')")
    record.ask("VACUUM (FULL, ANALYZE) fleet.runs")


def test_estimates_of_the_planner_do_not_depend_on_others_values(record):
    fill_with_many_of_another(record)
    before = plans(record)
    others_become_another(record)
    assert plans(record) == before


def test_estimates_would_leak_were_statistics_kept(own_record):
    """So that the test above can fail."""
    for column in ("place", "tyre", "farm_key"):
        own_record.ask(f"ALTER TABLE fleet.runs ALTER {column} SET STATISTICS 100")
    fill_with_many_of_another(own_record)
    before = plans(own_record)
    others_become_another(own_record)
    assert plans(own_record) != before


def test_what_remains_known_is_how_many_rows_there_are(record):
    """No right can be taken for it: docs/many-farms.md says so."""
    fill_with_many_of_another(record)
    found = record.ask(
        "SELECT reltuples FROM pg_class WHERE oid = 'fleet.runs'::regclass", role="farm_a"
    )
    assert found == [(4002,)]


def test_readers_search_places_by_the_index(record):
    fill_with_many_of_another(record)
    plan = record.ask(
        "EXPLAIN SELECT * FROM fleet.runs WHERE place && ST_MakeEnvelope(1, 1, 2, 2, 4326)",
        role="adviser",
    )
    assert any("runs_by_place" in line for (line,) in plan)


# Loading -----------------------------------------------------------------------------------------


def test_loading_twice_is_loading_once(record, tmp_path):
    fleet = fleet_of(tmp_path / "fleet")
    first = record.load(fleet)
    kept = record.rows()
    assert first == Loaded(
        runs=6, new_runs=6, changed_runs=0, passes=24, new_passes=24, changed_passes=0,
        replaced=0, left_out=0,
    )  # fmt: skip
    where = " UNION ALL ".join(
        f"SELECT ctid, xmin::text FROM fleet.{t}" for t in ("runs", "passes")
    )
    written = record.ask(where)
    again = record.load(fleet)
    assert (again.new_runs, again.changed_runs, again.new_passes, again.changed_passes) == (0,) * 4
    assert record.rows() == kept
    assert record.ask(where) == written  # not even written anew


def test_a_farm_loads_its_own_data_set(record, tmp_path):
    assert record.load(fleet_of(tmp_path / "a", farms=("Quillfen",)), "farm_a").new_runs == 3
    assert record.load(fleet_of(tmp_path / "b", farms=("Overmarsh",)), "farm_b").new_runs == 3
    assert record.ask("SELECT count(*) FROM fleet.runs") == [(6,)]


def test_a_farm_cannot_load_for_another(record, tmp_path):
    with pytest.raises(InputError, match="this role may not write these rows"):
        record.load(fleet_of(tmp_path / "fleet"), "farm_a")
    with pytest.raises(InputError, match="this role may not write these rows"):
        record.load(fleet_of(tmp_path / "fleet"), "adviser")
    assert record.rows() == {"runs": [], "passes": []}


def test_the_same_run_of_two_farms_is_kept_for_each(record, tmp_path):
    """So that no farm learns from a refusal which runs another has."""
    for role, farm in FARMS.items():
        record.load(write(tmp_path / role, [made_run(1, farm=farm)]), role)
    assert record.ask("SELECT farm_key FROM fleet.runs ORDER BY 1") == [
        ("Overmarsh",), ("Quillfen",),
    ]  # fmt: skip


def test_an_id_names_the_farm_before_its_name_and_the_option_where_there_is_neither(
    record, tmp_path
):
    runs = [made_run(1, farm_id="Q17"), made_run(2), made_run(3, farm="")]
    fleet = write(tmp_path / "fleet", runs)
    with pytest.raises(InputError, match=r"1 runs without a farm, the first is 2026/3/run\.toml"):
        record.load(fleet)
    record.load(fleet, farm="Overmarsh")
    assert record.ask("SELECT farm_key FROM fleet.runs ORDER BY source") == [
        ("Q17",), ("Quillfen",), ("Overmarsh",),
    ]  # fmt: skip


def test_a_run_measured_anew_takes_the_place_of_what_it_was(record, tmp_path):
    record.load(fleet_of(tmp_path / "old"))
    newer = [made_run(1, version="0.2.0", passes=3, change=0.1), made_run(2)]
    done = record.load(write(tmp_path / "new", newer))
    assert (done.new_runs, done.replaced) == (1, 1)
    found = record.ask("SELECT version, passes FROM fleet.runs WHERE farm_key = 'Quillfen'")
    assert sorted(found) == [("0.1.0", 4), ("0.1.0", 4), ("0.2.0", 3)]
    assert record.ask("SELECT count(*) FROM fleet.passes") == [(5 * 4 + 3,)]


def test_a_run_of_the_same_file_name_but_another_day_or_seeder_stays(record, tmp_path):
    day = made_run(1)[0]["date"]
    record.load(write(tmp_path / "a", [made_run(1, source="run.toml", seeder="one")]))
    record.load(write(tmp_path / "b", [made_run(2, source="run.toml", seeder="two")]))
    other = made_run(3, source="run.toml", seeder="one", date=day.replace(day=1))
    assert record.load(write(tmp_path / "c", [other])).replaced == 0
    assert record.ask("SELECT count(*) FROM fleet.runs") == [(3,)]


def test_a_figure_put_right_under_the_same_key_is_put_right(record, tmp_path):
    record.load(fleet_of(tmp_path / "old"))
    row, passes = made_run(1, tyre="ribbed")
    passes[0]["turns"] += 1
    done = record.load(write(tmp_path / "new", [(row | {"passes": 3}, passes[:3])]))
    assert (done.changed_runs, done.changed_passes) == (1, 1)
    key = row["run_key"]
    found = record.ask("SELECT turns FROM fleet.passes WHERE run_key = %s ORDER BY number", key)
    assert found == [(p["turns"],) for p in passes[:3]]


def test_runs_without_a_figure_stay_at_home(record, tmp_path):
    failed = failed_row(
        run_key="f" * 64, source="x/run.toml", status="refused", message="/home/me", version="0"
    )
    done = record.load(write(tmp_path / "fleet", [made_run(1)], [failed]))
    assert (done.runs, done.left_out) == (1, 1)
    assert record.ask("SELECT count(*) FROM fleet.runs") == [(1,)]


LOAD = (
    "import sys; from pathlib import Path; from groundtruth.fleet.postgis_load import load_fleet;"
    "load_fleet(Path(sys.argv[1]), sys.argv[2])"
)


@contextmanager
def loading_halfway(record, fleet):
    """A process that has put the runs in and waits to put in their passes."""
    with record.session() as db:
        db.execute("BEGIN")
        db.execute("LOCK TABLE fleet.passes IN SHARE MODE")
        loader = subprocess.Popen(
            [sys.executable, "-c", LOAD, str(fleet), record.service("coop")],
            env={**os.environ, "PYTHONPATH": os.pathsep.join(filter(None, sys.path))},
            stderr=subprocess.PIPE,
        )
        try:
            wait_for(
                record,
                "SELECT count(*) = 1 FROM pg_stat_activity WHERE usename = 'coop'"
                " AND wait_event_type = 'Lock' AND datname = current_database()",
            )
            yield loader
        finally:
            loader.kill()
            loader.communicate()


def wait_for(record, question):
    """Until the answer is yes, a minute at most."""
    for _ in range(600):
        if record.ask(question) == [(True,)]:
            return
        time.sleep(0.1)
    raise AssertionError(f"never so: {question}")


def test_a_killed_loader_leaves_nothing_half(record, tmp_path):
    fleet = fleet_of(tmp_path / "fleet")
    with loading_halfway(record, fleet) as loader:
        loader.send_signal(signal.SIGKILL)
    wait_for(
        record,
        "SELECT count(*) = 0 FROM pg_stat_activity WHERE usename = 'coop'"
        " AND datname = current_database()",
    )
    assert record.rows() == {"runs": [], "passes": []}
    assert record.load(fleet).new_passes == 24


def test_a_server_that_crashes_meanwhile_leaves_nothing_half(record, server, tmp_path):
    fleet = fleet_of(tmp_path / "fleet")
    record.load(fleet_of(tmp_path / "before", first=50))
    before = record.rows()
    with suppress(psycopg.OperationalError), loading_halfway(record, fleet) as loader:
        server.stop()
        said = loader.communicate(timeout=60)[1]
    assert b"nothing was loaded" in said
    server.start()
    assert record.rows() == before
    assert record.load(fleet).new_runs == 6


def test_several_load_at_once(record, tmp_path):
    """Two farms and, over the same runs in another order, the co-op's office, three times each."""
    parts = {
        role: fleet_of(tmp_path / role, farms=(farm,), runs=10, first=1 + 100 * i)
        for i, (role, farm) in enumerate(FARMS.items())
    }
    every = [made_run(n, farm="Quillfen") for n in range(1, 11)]
    every += [made_run(n, farm="Overmarsh") for n in range(101, 111)]
    parts["coop"] = write(tmp_path / "coop", every[::-1])
    barrier = threading.Barrier(9)

    def load(role):
        barrier.wait()
        return record.load(parts[role], role)

    with ThreadPoolExecutor(9) as pool:
        done = list(pool.map(load, [*parts] * 3))
    assert sum(d.new_runs for d in done) == 20  # each was new to one of them
    assert sum(d.new_passes for d in done) == 80
    kept = record.rows()
    assert (len(kept["runs"]), len(kept["passes"])) == (20, 80)
    assert record.load(parts["coop"]).new_runs == 0


def test_loads_that_wait_for_each_other_are_tried_again(record, tmp_path):
    """Two versions of the same runs at once: each wants to take the other's out."""
    old, new = (
        write(tmp_path / v, [made_run(n, version=v) for n in range(1, 30)])
        for v in ("0.1.0", "0.2.0")
    )
    record.load(old)
    with ThreadPoolExecutor(4) as pool:
        list(pool.map(record.load, [new, old, new, old]))
    versions = record.ask("SELECT version, count(*) FROM fleet.runs GROUP BY 1")
    assert sum(n for _, n in versions) == 29


def test_the_command_line_loads_and_prints_the_schema(record, tmp_path, capsys):
    fleet = fleet_of(tmp_path / "fleet")
    load = ["fleet", "load", str(fleet), "--into", record.service("coop")]
    assert main(load) == 0
    assert "6 runs and 24 passes" in capsys.readouterr().out
    assert main(load) == 0
    assert "0 runs new, 0 put right" in capsys.readouterr().out
    assert main(["fleet", "schema"]) == 0
    assert capsys.readouterr().out == schema_sql()
    assert main([*load[:-1], "nowhere"]) == 2
    assert "nowhere: cannot be reached" in capsys.readouterr().err


# Refusals ----------------------------------------------------------------------------------------


def test_a_data_set_with_a_missing_part_is_refused(record, tmp_path):
    row, passes = made_run(1)
    with pytest.raises(InputError, match=r"1 runs of which passes are missing, the first is 2026"):
        record.load(write(tmp_path / "fleet", [(row, passes[:-1])]))
    with pytest.raises(InputError, match="of which passes are missing"):
        record.load(write(tmp_path / "fleet", [(row, passes + made_run(2)[1])]))
    assert record.rows() == {"runs": [], "passes": []}


def test_a_run_that_is_there_twice_is_refused(record, tmp_path):
    with pytest.raises(InputError, match="a run is in it twice"):
        record.load(write(tmp_path / "fleet", [made_run(1), made_run(1)]))


def test_files_that_are_none_of_a_data_set_are_refused(record, tmp_path):
    with pytest.raises(InputError, match="groundtruth many --out makes such a data set"):
        record.load(tmp_path)
    fleet = fleet_of(tmp_path / "fleet")
    next(fleet.glob("passes/*/*.parquet")).write_bytes(b"PAR1 and then nothing")
    with pytest.raises(InputError, match="cannot be read"):
        record.load(fleet)
    assert record.rows() == {"runs": [], "passes": []}


@pytest.mark.parametrize(
    "name", ["host=x password=y", "postgresql://me:pw@host/db", "", "../x", "a b"]
)
def test_what_could_hold_a_password_is_refused(name, tmp_path):
    with pytest.raises(InputError, match="takes the name of a service"):
        load_fleet(fleet_of(tmp_path / "fleet"), name)


def test_an_unknown_service_is_told(record, tmp_path):
    fleet = fleet_of(tmp_path / "fleet")
    with pytest.raises(InputError, match=r'nowhere: cannot be reached .*"nowhere" not found'):
        load_fleet(fleet, "nowhere")
    with pytest.raises(InputError, match="permission denied for database"):
        record.load(fleet, "stranger")


def test_a_database_without_a_record_is_told(server, record, tmp_path):
    server.add_service("bare", database="postgres", role="postgres")
    with pytest.raises(InputError, match="holds no shared record of this version"):
        load_fleet(fleet_of(tmp_path / "fleet"), "bare")


@pytest.mark.parametrize("package", ["psycopg", "pyarrow"])
def test_a_missing_package_is_told(package, tmp_path, monkeypatch):
    fleet = fleet_of(tmp_path / "fleet")
    monkeypatch.setitem(sys.modules, package, None)
    with pytest.raises(InputError, match=rf"needs the package {package}; .*groundtruth\[postgis\]"):
        load_fleet(fleet, "anywhere")


@pytest.mark.parametrize(
    ("host", "mode", "fine"),
    [
        ("/run/postgresql", "prefer", True),
        ("", "prefer", True),
        ("127.0.0.1", "disable", True),
        ("::1", "prefer", True),
        ("db.example", "prefer", False),
        ("db.example", "require", False),
        ("127.0.0.1.example", "prefer", False),
        ("db.example", "verify-full", True),
    ],
)
def test_a_way_that_others_can_listen_to_is_refused(host, mode, fine):
    """Modes as in PostgreSQL's documentation, table 34.1: require checks no certificate."""
    assert (listened_to(host, mode) == "") is fine


def test_the_server_of_these_tests_listens_on_no_port(record):
    assert record.ask("SHOW listen_addresses") == [("",)]
    assert not re.search(r"\d+\.\d+\.\d+\.\d+", record.server.service_file.read_text())
