"""Throw spoilt files, options and records at every command: whatever comes, one clear answer.

    python -m tests.fuzz.doors bench --minutes 10 --seed 1 --keep FOLDER

A door is one way into the program (see `DOORS`). Each call starts from sound files, spoils one to
four things in them, and runs the command in this process. It must end with exit code 0 or 2 (or 1,
where a check says no), say at most one line of refusal and never the last net's, leave no part of
a file, and stay within 20 s and the memory allowed. Whatever does not is printed and kept.
"""

from __future__ import annotations

import argparse
import contextlib
import io
import os
import random
import shutil
import signal
import sqlite3
import sys
import tempfile
import time
import traceback
import warnings
import zipfile
from collections.abc import Callable, Iterator, Sequence
from contextlib import closing
from dataclasses import dataclass
from pathlib import Path

ROOT = Path(__file__).parents[2]
SAMPLE = ROOT / "sample_tracks" / "dry-firm"
LIMIT_S, LIMIT_BYTES = 20, 3 << 30
NUMBERS = [
    "0", "-0", "-1", "1e308", "-1e308", "1e400", "nan", "inf", "-inf", "5e-324", "9" * 400,
    "9223372036854775808", "0x10", "1_0", "½", "−3", "1,5", "1.5.5", "1e-320", "1e9", "0.0000001",
    "1/0", "3/0", "2 1/2", "±", "5 ± nan", "5 ± 99.999999 %", "5 ± 100 %", "1e100 m", "100 %",
    "٣", "1e", "--1", "+5", "T", "true", "null", "[]", "{}",
]  # fmt: skip
WORDS = [
    "", " ", "\0", "\x1b[31m", "\u202e", "\u2028", "\r", "\n", "\r\n", '"', "'", '""', "\\", ",",
    ";", "\t", "|", "=1+1", "@a", "＝1", "\ufeff", "\ud800", "\\ud800", "a" * 3000, "é", "[", "]",
    "{", "}", "[[", "#", "-", "--", "../x", "/dev/zero", "2026-02-30", "0001-01-01", "9999-12-31",
    "2026-05-12T07:00:00Z", "2026-13-01", "24:00", "Europe/Oslo", "Mars", "cm", "m", "in", "ft",
    "'; DROP TABLE runs; --", "%s", "{0}", "None", "inf", "leek", "unit", "1",
]  # fmt: skip
BYTES = [b"\xff", b"\xfe\xff", b"\xef\xbb\xbf", b"\0", b"\x80", b"\xed\xa0\x80", b"PK\x03\x04"]


def spoilt_text(rng: random.Random, data: bytes) -> bytes:
    """One to four things changed: a number, a cell, a line, some bytes."""
    for _ in range(rng.randint(1, 4)):
        lines = data.split(b"\n")
        at = rng.randrange(len(lines))
        match rng.randrange(9):
            case 0:
                place = rng.randint(0, len(data))
                data = data[:place] + _word(rng) + data[place + rng.randrange(12) :]
            case 1:
                lines[at] = _number_changed(rng, lines[at])
                data = b"\n".join(lines)
            case 2:
                cells = lines[at].split(b",")
                cells[rng.randrange(len(cells))] = _word(rng)
                data = b"\n".join([*lines[:at], b",".join(cells), *lines[at + 1 :]])
            case 3:
                del lines[at]
                data = b"\n".join(lines)
            case 4:
                data = b"\n".join([*lines[:at], lines[at], *lines[at:]])
            case 5:
                other = rng.randrange(len(lines))
                lines[at], lines[other] = lines[other], lines[at]
                data = b"\n".join(lines)
            case 6:
                place = rng.randint(0, len(data))
                data = data[:place] + rng.choice(BYTES) + data[place:]
            case 7:
                data = data[: rng.randint(0, len(data))]
            case _:
                data = _value_changed(rng, data)
    return data


def _word(rng: random.Random) -> bytes:
    return rng.choice([*WORDS, *NUMBERS]).encode("utf-8", "surrogatepass")


def _number_changed(rng: random.Random, line: bytes) -> bytes:
    import re

    found = list(re.finditer(rb"[\d.]+", line))
    if not found:
        return line + _word(rng)
    one = rng.choice(found)
    return line[: one.start()] + rng.choice(NUMBERS).encode() + line[one.end() :]


def _value_changed(rng: random.Random, data: bytes) -> bytes:
    """What stands between a colon or equals sign and the next comma or line's end."""
    import re

    found = list(re.finditer(rb"[:=] *([^,\n}\]]*)", data))
    if not found:
        return data
    one = rng.choice(found)
    new = _word(rng)
    if rng.random() < 0.5:
        new = b'"' + new.replace(b'"', b"") + b'"'
    return data[: one.start(1)] + new + data[one.end(1) :]


def spoilt_database(rng: random.Random, file: Path) -> None:
    """Values, names and bytes of an SQLite file changed, as other programs or a bad disk do."""
    for _ in range(rng.randint(1, 3)):
        if rng.random() < 0.4:
            _spoil_bytes(rng, file)
        else:
            with contextlib.suppress(sqlite3.Error, UnicodeError):
                _spoil_rows(rng, file)


def _spoil_bytes(rng: random.Random, file: Path) -> None:
    data = bytearray(file.read_bytes())
    at = rng.randrange(len(data))
    match rng.randrange(4):
        case 0:
            data[at] ^= 1 << rng.randrange(8)
        case 1:
            data[at : at + 40] = rng.randbytes(40)
        case 2:
            page = at // 4096 * 4096
            data[page : page + 4096] = rng.choice([bytes(4096), rng.randbytes(4096)])
        case _:
            del data[at:]
    file.write_bytes(data)


def _spoil_rows(rng: random.Random, file: Path) -> None:
    with closing(sqlite3.connect(file)) as db:
        db.execute("PRAGMA foreign_keys = OFF")
        tables = [r[0] for r in db.execute("SELECT name FROM sqlite_master WHERE type = 'table'")]
        if not tables:  # cut off before
            return
        table = rng.choice(tables)
        columns = [r[1] for r in db.execute(f'PRAGMA table_info("{table}")')]
        column = rng.choice(columns)
        value = rng.choice(
            [None, 0, -1, 2**62, 1e308, float("inf"), b"", b"\0\xff", b"GP\0\x03" + bytes(50), "",
             _word(rng).decode("utf-8", "replace")]
        )  # fmt: skip
        match rng.randrange(6):
            case 0:
                db.execute(f'DELETE FROM "{table}" WHERE rowid % 2 = ?', (rng.randrange(2),))
            case 1:
                db.execute(f'ALTER TABLE "{table}" RENAME COLUMN "{column}" TO "x y"')
            case 2:
                db.execute(f'DROP TABLE "{table}"')
            case _:
                where = rng.choice(["", " WHERE rowid = (SELECT min(rowid) FROM {})"])
                db.execute(
                    f'UPDATE OR IGNORE "{table}" SET "{column}" = ?{where.format(table)}', (value,)
                )
        if rng.random() < 0.5:  # as a map program says that it was there
            db.execute("UPDATE gpkg_contents SET last_change = '2099-01-01T00:00:00.000Z'")
        db.commit()


# Doors -------------------------------------------------------------------------------------------

BENCH = (
    "crop,seed_lot,setting,turns,seeds,unit,seconds\n"
    "leek,a,H4,20,118,1,40\nleek,a,H4,20,124,1,41\nleek,a,H6,20,161,1,40\nleek,a,H6,20,166,1,40\n"
)
WEIGHED = (
    "crop,setting,turns,grams,seeds_per_gram\nleek,H4,200,2.31,400 ± 20\nleek,H6,200,3.2,400\n"
)
STANDS = (
    "date,crop,seed_lot,bed,line,length,plants,seeds_per_metre\n"
    "2027-06-20,leek,a,A3,1,2 m,41,30\n2027-06-20,leek,a,A3,2,2 m,44,30\n"
)
CROPS = (
    "crop,seed_lot,spacing,lines,germination,germination_tested,field_emergence,accept,depth\n"
    "leek,a,3 cm,3,0.9,100,0.8,20-28 per m,2 cm\nbeet,b,2 in,2,85 %,200,0.9,,1 in\n"
)
BEDS_CSV = (
    "name,block,start_longitude,start_latitude,end_longitude,end_latitude,width\n"
    "A1,East,7.1,48.7,7.1,48.701,1.2 m\nA2,East,7.1001,48.7,7.1001,48.701,1.2 m\n"
)
BEDS_JSON = (
    '{"type": "FeatureCollection", "features": [\n{"type": "Feature", "properties": {"name": "A1",'
    ' "block": "East"}, "geometry": {"type": "LineString", "coordinates": [[7.1, 48.7], [7.1,'
    ' 48.701]]}},\n{"type": "Feature", "properties": {"name": "A2"}, "geometry": {"type":'
    ' "Polygon", "coordinates": [[[7.2, 48.7], [7.2001, 48.7], [7.2001, 48.701], [7.2, 48.7]]]}}\n'
    "]}\n"
)
FARM_JSON = (
    '{"type": "FeatureCollection", "features": [\n{"type": "Feature", "properties": {"name": "Long'
    ' Piece"}, "geometry": {"type": "Polygon", "coordinates": [[[7.1, 48.7], [7.2, 48.7], [7.2,'
    ' 48.8], [7.1, 48.7]]]}},\n{"type": "LineString", "coordinates": [[7.1, 48.7], [7.2, 48.7]]}\n'
    "]}\n"
)
FARM_KML = (
    '<?xml version="1.0"?>\n<kml xmlns="http://www.opengis.net/kml/2.2"><Document>\n<Placemark>'
    "<name>Barn</name><Polygon><outerBoundaryIs><LinearRing><coordinates>7.1,48.7,0 7.2,48.7,0\n"
    "7.2,48.8,0 7.1,48.7,0</coordinates></LinearRing></outerBoundaryIs></Polygon></Placemark>\n"
    "<Placemark><LineString><coordinates>7.1,48.7 7.2,48.7</coordinates></LineString></Placemark>"
    "</Document></kml>\n"
)
GROUND = ("--ground-per-turn", "63.2 cm ± 5 mm")
Spoil = Callable[[random.Random, Path], None]


@dataclass(frozen=True)
class Door:
    """Which of the sound files is spoilt and how, and the commands that are then run."""

    spoil: Spoil
    commands: tuple[tuple[str, ...], ...]
    whole: bool = False
    """Whether all commands run on the spoilt files, rather than one."""


def text(*names: str) -> Spoil:
    def spoil(rng: random.Random, folder: Path) -> None:
        file = folder / rng.choice(names)
        file.write_bytes(spoilt_text(rng, file.read_bytes()))

    return spoil


def _workbook(rng: random.Random, folder: Path) -> None:
    """A cell, a part or a byte of a workbook changed, and its archive packed anew or broken."""
    file = folder / "turns.xlsx"
    if rng.random() < 0.2:
        data = bytearray(file.read_bytes())
        data[rng.randrange(len(data))] ^= 1 << rng.randrange(8)
        file.write_bytes(data[: rng.choice([len(data), rng.randrange(len(data))])])
        return
    with zipfile.ZipFile(file) as packed:
        parts = {name: packed.read(name) for name in packed.namelist()}
    for _ in range(rng.randint(1, 2)):
        name = rng.choice(sorted(parts))
        change = rng.randrange(6)
        if change == 0:
            del parts[name]
        elif change == 1:
            parts[name] = spoilt_text(rng, parts[name].replace(b">", b">\n"))
        else:
            cells = sorted(n for n in parts if "sheet" in n or "shared" in n) or [name]
            parts[cells[0]] = _cell_changed(rng, parts[cells[0]])
        if not parts:
            return
    with zipfile.ZipFile(file, "w", zipfile.ZIP_DEFLATED) as packed:
        for name, data in parts.items():
            packed.writestr(name, data)


def _cell_changed(rng: random.Random, part: bytes) -> bytes:
    """The text of one element or attribute of a sheet's XML changed."""
    import re

    found = list(re.finditer(rb">([^<>]+)<|=\"([^\"]*)\"", part))
    if not found:
        return part
    one = rng.choice(found)
    group = 1 if one.group(1) is not None else 2
    new = _word(rng).replace(b"<", b"").replace(b"&", b"").replace(b'"', b"")
    return part[: one.start(group)] + new + part[one.end(group) :]


def _database(name: str) -> Spoil:
    return lambda rng, folder: spoilt_database(rng, folder / name)


def _export(rng: random.Random, folder: Path) -> None:
    file = rng.choice(sorted((folder / rng.choice(("csv", "geojson", "parquet"))).iterdir()))
    file.write_bytes(spoilt_text(rng, file.read_bytes()))


def _nothing(_rng: random.Random, _folder: Path) -> None:
    pass


RECORD = ("season", "--season", "s.gpkg")
DOORS = {
    "run": Door(text("run.toml"), (("inspect", "run.toml"), ("measure", "run.toml", "--out", "o"))),
    "turns": Door(text("turns.csv"), (("measure", "run.toml", "--out", "o"),)),
    "workbook": Door(
        _workbook,
        (
            (
                "measure",
                "track.gpx",
                "--turns",
                "turns.xlsx",
                "--time-zone",
                "America/Chicago",
                "--out",
                "o",
            ),
        ),
    ),
    "track": Door(text("track.gpx"), (("inspect", "track.gpx"),)),
    "bench": Door(
        text("bench.csv", "weighed.csv"),
        (
            ("bench", "bench.csv"),
            ("bench", "weighed.csv", "--json"),
            (*RECORD, "bench", "bench.csv"),
            ("choose", "bench.csv", "--crop", "leek", "--spacing", "3 cm", *GROUND),
            ("turning", "bench.csv"),
        ),
    ),
    "stands": Door(
        text("stands.csv"), (("stands", "stands.csv"), (*RECORD, "stands", "stands.csv"))
    ),
    "crops": Door(
        text("crops.csv"),
        (
            ("target", "--crops", "crops.csv", *GROUND),
            ("seed", "--crops", "crops.csv", "--length", "100 m"),
        ),
    ),
    "beds": Door(
        text("beds.csv", "beds.geojson"),
        ((*RECORD, "beds", "beds.csv"), (*RECORD, "beds", "beds.geojson")),
    ),
    "backdrop": Door(
        text("farm.geojson", "farm.kml"),
        tuple(
            (*RECORD, "map", "--out", "map.html", "--backdrop", name)
            for name in ("farm.geojson", "farm.kml")
        ),
    ),
    "bed-layers": Door(_database("map.gpkg"), ((*RECORD, "beds", "map.gpkg"),)),
    "result": Door(
        text("result.json"),
        (
            (*RECORD, "add", "result.json", "--replace"),
            ("target", "--result", "result.json"),
            (
                "card",
                "bench.csv",
                "--crop",
                "leek",
                "--spacing",
                "3cm",
                "--result",
                "result.json",
                "--text",
            ),
        ),
    ),
    "record": Door(
        _database("s.gpkg"),
        (
            (*RECORD, "check"),
            (*RECORD, "show"),
            (*RECORD, "show", "--all-beds", "--json"),
            (*RECORD, "map", "--out", "map.html"),
            (*RECORD, "log"),
            (*RECORD, "chart"),
            (*RECORD, "compare", "--soil", "dry", "wet"),
            (*RECORD, "compare", "--row-units", "--json"),
            (*RECORD, "export", "new"),
            (*RECORD, "rescue", "rescued.gpkg"),
            (*RECORD, "undo"),
            (*RECORD, "add", "result.json"),
            (*RECORD, "remove", "run", "run 1"),
            (*RECORD, "edit", "run", "run 2", "--note", "x"),
            (*RECORD, "check", "--accept"),
            (*RECORD, "show"),
            (*RECORD, "map", "--out", "map.html"),
            (*RECORD, "restore", "1"),
            (*RECORD, "show"),
        ),
        whole=True,
    ),
    "import": Door(
        _export,
        tuple(
            ("season", "--season", f"new-{form}{i}.gpkg", "import", form, *extra)
            for form in ("csv", "geojson", "parquet")
            for i, extra in enumerate(((), ("--unchecked",)))
        )
        + tuple(("season", "--season", f"new-{f}1.gpkg", "show") for f in ("csv", "geojson")),
        whole=True,
    ),
    "options": Door(_nothing, ()),
}


def option_words(rng: random.Random) -> tuple[str, ...]:
    """A command of some door or with some of its options, with values of any kind."""
    parser = _parsers()
    name = rng.choice(sorted(parser))
    words = name.split()
    files = ["run.toml", "track.gpx", "turns.csv", "bench.csv", "weighed.csv", "stands.csv",
             "crops.csv", "beds.csv", "result.json", "s.gpkg", "csv", "none"]  # fmt: skip
    values = ["leek", "a", "3 cm", "1 1/2 in", "63.2 cm ± 5 mm", "0.9", "2027-06-08", "metric",
              "us", "2", "10 kg/ha", "2 mph", "A3", "H4", "tyre", "dry", "1 %"]  # fmt: skip

    def value() -> str:
        kind = rng.random()
        if kind < 0.45:
            return rng.choice(values)
        if kind < 0.65:
            return rng.choice(files)
        word = rng.choice([*NUMBERS, *WORDS]).replace("\0", "")
        return word.encode("utf-8", "replace").decode()

    for action in parser[name]._actions:
        if action.dest in ("help", "action", "command"):
            continue
        wanted = action.required or (not action.option_strings and action.nargs != "?")
        if not wanted and rng.random() > 0.35:
            continue
        if action.option_strings:
            words.append(action.option_strings[-1])
        if action.nargs == 0:
            continue
        for _ in range(action.nargs if isinstance(action.nargs, int) else 1):
            good = list(action.choices or [])
            words.append(str(rng.choice(good)) if good and rng.random() < 0.8 else value())
    if "--season" not in words and words[0] in ("season", "card"):
        words[1:1] = ["--season", "s.gpkg"] if words[0] == "season" else []
    if words[0] == "open":  # serves until it is stopped
        words.append("--help")
    return tuple(words)


def _parsers() -> dict[str, argparse.ArgumentParser]:
    """Every command and action with its own parser."""
    from groundtruth.cli.main import build_parser

    found: dict[str, argparse.ArgumentParser] = {}

    def walk(parser: argparse.ArgumentParser, name: str) -> None:
        inner = [a for a in parser._actions if isinstance(a, argparse._SubParsersAction)]
        if not inner:
            found[name] = parser
        for action in inner:
            for word, sub in action.choices.items():
                walk(sub, f"{name} {word}".strip())

    walk(build_parser(), "")
    return found


def sound_files(folder: Path) -> None:
    """The files that every call starts from."""
    import csv

    import openpyxl

    from groundtruth.cli.main import main
    from groundtruth.io.geopackage import line, to_blob
    from groundtruth.io.geopackage_tables import GEOPACKAGE
    from groundtruth.season import add_change, add_run, export_season

    sys.path[:0] = [str(ROOT / "tests"), str(ROOT / "tests" / "season")]
    from datetime import date

    from test_record import run_of

    for name in ("run.toml", "turns.csv", "track.gpx"):
        shutil.copy(SAMPLE / name, folder / name)
    for name, content in (
        ("bench.csv", BENCH), ("weighed.csv", WEIGHED), ("stands.csv", STANDS),
        ("crops.csv", CROPS), ("beds.csv", BEDS_CSV), ("beds.geojson", BEDS_JSON),
        ("farm.geojson", FARM_JSON), ("farm.kml", FARM_KML),
    ):  # fmt: skip
        (folder / name).write_text(content, encoding="utf-8")
    book = openpyxl.Workbook()
    with open(folder / "turns.csv", encoding="utf-8", newline="") as rows:
        for row in csv.reader(rows):
            book.active.append([float(c) if c.replace(".", "", 1).isdigit() else c for c in row])
    book.save(folder / "turns.xlsx")
    with contextlib.redirect_stdout(io.StringIO()):
        assert main(["measure", str(folder / "run.toml"), "--out", str(folder)]) == 0
    (folder / "map.html").unlink()
    (folder / "report.html").unlink()
    record = folder / "s.gpkg"
    for number in (1, 2, 3):
        add_run(record, run_of(number), soil="dry" if number % 2 else "wet")
    add_change(record, day=date(2026, 5, 14), kind="tyre")
    for form in ("csv", "geojson", "parquet"):
        export_season(record, folder / form, form)
    with closing(sqlite3.connect(folder / "map.gpkg")) as db:
        db.executescript(GEOPACKAGE)
        db.execute(
            "INSERT INTO gpkg_contents (table_name, data_type, identifier, srs_id)"
            " VALUES ('b', 'features', 'b', 4326)"
        )
        db.execute(
            "INSERT INTO gpkg_geometry_columns VALUES ('b', 'geom', 'LINESTRING', 4326, 0, 0)"
        )
        db.execute("CREATE TABLE b (id INTEGER PRIMARY KEY, name TEXT, block TEXT, geom BLOB)")
        for k in range(3):
            shape = to_blob(line([(7.1 + k / 1e4, 48.7), (7.1 + k / 1e4, 48.701)]))
            db.execute("INSERT INTO b VALUES (?, ?, 'East', ?)", (k, f"A{k}", shape))
        db.commit()


class TooSlow(BaseException):
    """The call went on beyond the limit."""


@contextlib.contextmanager
def _limited() -> Iterator[None]:
    def stop(*_: object) -> None:
        raise TooSlow

    before = signal.signal(signal.SIGALRM, stop)
    signal.alarm(LIMIT_S)
    try:
        yield
    finally:
        signal.alarm(0)
        signal.signal(signal.SIGALRM, before)


def call(words: Sequence[str], folder: Path) -> str:
    """Run a command in a folder; returns what is wrong with how it ended, "" if nothing."""
    from groundtruth.cli.main import UNPLANNED, main

    out, err = io.StringIO(), io.StringIO()
    here = os.getcwd()
    os.chdir(folder)
    try:
        with _limited(), contextlib.redirect_stdout(out), contextlib.redirect_stderr(err):
            code = main(list(words))
    except SystemExit as end:
        if end.code == 2 and "usage:" in err.getvalue():  # argparse explains at length
            return ""
        code = end.code if isinstance(end.code, int) else -1
    except TooSlow:
        return f"more than {LIMIT_S} s"
    except BaseException:
        return traceback.format_exc()
    finally:
        os.chdir(here)
    said = err.getvalue()
    if code == UNPLANNED:
        return said + _details(said)
    if code not in (0, 1, 2):
        return f"exit code {code}: {said}"
    if code == 2 and (said.count("\n") != 1 or not said.startswith("groundtruth: ")):
        return f"no line of refusal: {said!r}"
    if code == 2 and not said.strip().isprintable():
        return f"a refusal that cannot be shown: {said!r}"
    for text_said in (said, out.getvalue()):
        if any(mark in text_said for mark in ("\x1b", "\u202e", "\u2028")):
            return f"raw controls: {text_said[:500]!r}"
    if parts := [p.name for p in folder.rglob("*.part*")]:
        return f"left behind: {parts}"
    return ""


def _details(said: str) -> str:
    from groundtruth.cli.last_net import BEGINNING

    at = said.find(tempfile.gettempdir())
    if at < 0 or BEGINNING not in said:
        return ""
    file = Path(said[at:].split(".txt")[0] + ".txt")
    with contextlib.suppress(OSError):
        details = file.read_text(encoding="utf-8")
        file.unlink()
        return details
    return ""


def one_case(door: str, seed: int, sound: Path, folder: Path) -> list[tuple[tuple[str, ...], str]]:
    """Spoil a copy of the sound files in ``folder`` by the seed, run, return what was wrong."""
    rng = random.Random(f"{door} {seed}")
    left_out = () if door == "import" else ("geojson", "parquet")
    shutil.copytree(sound, folder, ignore=shutil.ignore_patterns(*left_out))
    DOORS[door].spoil(rng, folder)
    if door == "options":
        commands: Sequence[tuple[str, ...]] = [option_words(rng)]
    elif DOORS[door].whole:
        commands = DOORS[door].commands
    else:
        commands = [rng.choice(DOORS[door].commands)]
    return [(words, wrong) for words in commands if (wrong := call(words, folder))]


def main() -> None:
    """Run a door for some minutes; print what was wrong, once for each place in the code."""
    parser = argparse.ArgumentParser(description=__doc__)
    parser.add_argument("door", choices=DOORS)
    parser.add_argument("--minutes", type=float, default=10.0)
    parser.add_argument("--seed", type=int, default=1, help="of the first case")
    parser.add_argument("--keep", type=Path, help="folder for what was wrong")
    args = parser.parse_args()
    with contextlib.suppress(ImportError):
        import resource

        resource.setrlimit(resource.RLIMIT_AS, (LIMIT_BYTES, LIMIT_BYTES))
    warnings.simplefilter("error")
    seen: dict[str, int] = {}
    calls = 0
    end = time.monotonic() + 60 * args.minutes
    with tempfile.TemporaryDirectory() as name:
        sound = Path(name) / "sound"
        sound.mkdir()
        sound_files(sound)
        seed = args.seed
        while time.monotonic() < end:
            folder = Path(name) / "case"
            wrong = one_case(args.door, seed, sound, folder)
            calls += len(DOORS[args.door].commands) if DOORS[args.door].whole else 1
            for words, what in wrong:
                key = "\n".join(what.strip().splitlines()[-3:])[:200]
                seen[key] = seen.get(key, 0) + 1
                if seen[key] == 1:
                    said = " ".join(ascii(word)[:80] for word in words)
                    print(f"--- seed {seed}: {said}\n{what[-1500:]}", flush=True)
                    if args.keep:
                        shutil.copytree(folder, args.keep / f"{args.door}-{seed}")
            shutil.rmtree(folder)
            seed += 1
    print(f"{args.door}: {seed - args.seed} cases, {calls} calls, {len(seen)} kinds of fault")
    sys.exit(bool(seen))


if __name__ == "__main__":
    main()
