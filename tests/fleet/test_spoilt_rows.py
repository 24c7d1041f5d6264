"""A data set with values that no run can have is answered or refused, never a fault of ours."""

from __future__ import annotations

import random
from datetime import date

import pyarrow as pa
import pyarrow.parquet as pq
import pytest
from made import made_fleet

from groundtruth.cli.main import main
from groundtruth.fleet.columns import pass_schema, run_schema

NUMBERS = (None, 0.0, -1.0, float("nan"), float("inf"), -float("inf"), 1e300, 1e-300)
QUESTIONS = (
    ("seeders",), ("slip",), ("phones",), ("versions", "again"), ("history", "Farm 1/A"),
    ("prior",),    ("map", "--cell", "5"),
)  # fmt: skip


def spoilt(rng, rows, schema):
    """The rows with odd values in some cells or in whole columns."""
    rows = [dict(row) for row in rows]
    for _ in range(rng.choice((1, 3, 10, 40))):
        field = schema.field(rng.choice(schema.names))
        value = None
        if field.type == pa.float64():
            value = rng.choice(NUMBERS)
        elif field.type == pa.int64():
            value = rng.choice((None, 0, -1, 2**62))
        elif field.type == pa.string():
            value = rng.choice((None, "", "x" * 5000, "\x1b[31m", "measured", "shared"))
        elif field.type == pa.date32():
            value = rng.choice((None, date(1, 1, 1), date(9999, 12, 31)))
        for row in rng.choice(([rng.choice(rows)], rows[:5], rows)):
            row[field.name] = value
    return rows


@pytest.fixture(scope="module")
def whole(tmp_path_factory):
    folder = made_fleet(tmp_path_factory.mktemp("whole"), farms=12, days=3)
    return {kind: pq.read_table(folder / kind).to_pylist() for kind in ("runs", "passes")}


@pytest.mark.parametrize("seed", range(6))
def test_odd_values_are_answered_or_refused(seed, whole, tmp_path, capsys):
    rng = random.Random(seed)
    folder = tmp_path / "fleet"
    for kind, schema in (("runs", run_schema()), ("passes", pass_schema())):
        place = folder / kind / "season=2027"
        place.mkdir(parents=True)
        rows = spoilt(rng, whole[kind], schema)
        pq.write_table(pa.Table.from_pylist(rows, schema=schema), place / "part.parquet")
    for number, (action, *words) in enumerate(QUESTIONS):
        given = [str(folder) if word == "again" else word for word in words]
        out = [] if action == "versions" else ["--out", str(tmp_path / f"{number}.out")]
        code = main(["fleet", action, str(folder), *given, *out])
        said = capsys.readouterr()
        assert code in (0, 2), (action, said.err)
        assert "\x1b" not in said.out + said.err
