"""The disk refuses one call: the command is refused in one line or done, nothing is there by half.

strace lets one write, sync, cut, removal or rename of a real process fail, as a failing disk
(EIO) or a full one (ENOSPC) does: each such call of every writing command in turn. Short writes
are real ones too: the system takes as many bytes as the process may write (RLIMIT_FSIZE) and
refuses the rest. All of them: GROUNDTRUTH_DISK_ERRORS=100000 python -m pytest -m whole_days
tests/season/test_disk_errors.py
"""

import contextlib
import io
import json
import os
import random
import shutil
import subprocess
import sys
from dataclasses import replace
from functools import partial
from pathlib import Path

import pytest

if __name__ == "__main__":
    sys.path[:0] = [str(Path(__file__).parents[1]), str(Path(__file__).parent)]

from power_loss import available
from test_corrections import BENCH, STANDS, given
from test_record import run_of

from groundtruth.cli.main import main
from groundtruth.core.errors import GroundtruthError
from groundtruth.core.measured import Measured
from groundtruth.io.result_json import result_to_json
from groundtruth.season import import_season, reading
from groundtruth.season.backups import backups
from groundtruth.season.checking import check

RUN = Path(__file__).parents[2] / "sample_tracks" / "dry-firm"
RUN_FILES = ("run.toml", "track.gpx", "turns.csv")
SIMULATED = (*RUN_FILES, "truth.json")
ERRORS = int(os.environ.get("GROUNDTRUTH_DISK_ERRORS", "120"))
CALLS = ("pwrite64", "write", "fsync", "fdatasync", "ftruncate", "unlink", "rename")
REASONS = ("EIO", "ENOSPC")
BURNT = 400
"""strace counts the calls of each process: a child makes so many for nothing, less those that may
pass before the one that fails."""
MORE_BENCH = BENCH.replace("118", "119").replace("161", "163")
BEDS = (
    "name,block,start_longitude,start_latitude,end_longitude,end_latitude,width\n"
    "A1,East,7.1,48.7,7.1,48.701,1.2 m\nA2,East,7.1001,48.7,7.1001,48.701,1.2 m\n"
)
ON = ("season", "--season", "s.gpkg")
CARD = ("card", "bench.csv", "--settings", "H4,H6", "--crop", "leek", "--spacing", "15 cm")
GROUND = ("--ground-per-turn", "60 cm")
COMMANDS = {
    "begin": ("season", "--season", "new.gpkg", "add", "r1.json"),
    "add": (*ON, "add", "r3.json", "--soil", "wet"),
    "replace": (*ON, "add", "other.json", "--replace"),
    "change": (*ON, "change", "gear", "--day", "2027-06-09"),
    "bench": (*ON, "bench", "more.csv", "--also"),
    "correct": (*ON, "bench", "bench.csv", "--replace"),
    "stands": (*ON, "stands", "stands.csv"),
    "beds": (*ON, "beds", "beds.csv"),
    "edit": (*ON, "edit", "run", "run 1", "--note", "by hand"),
    "remove": (*ON, "remove", "run", "run 2"),
    "undo": (*ON, "undo"),
    "restore": (*ON, "restore", "1"),
    "rescue": (*ON, "rescue", "new.gpkg"),
    "export": (*ON, "export", "out"),
    "geojson": (*ON, "export", "shapes", "--format", "geojson"),
    "gpx": (*ON, "export", "gpx", "--format", "gpx"),
    "import": ("season", "--season", "new.gpkg", "import", "out"),
    "map": (*ON, "map", "--out", "map.html"),
    "card": (*CARD, *GROUND, "--season", "s.gpkg", "--out", "card.html"),
    "measure": ("measure", "run/run.toml", "--out", "results"),
    "simulate": ("simulate", "--scenario", "one pass", "--out", "day"),
}
EARLIER = {"measure": ("--units", "metric"), "simulate": ("--seed", "2")}
"""With these words besides they were called before, so that other files lie there."""
PAGES = (
    "map.html", "card.html", "gpx/beds.gpx", *(f"day/{name}" for name in SIMULATED),
    *(f"results/{name}" for name in ("map.html", "report.html", "result.json")),
)  # fmt: skip


def begin(root):
    """A record, its export, and the sheets and pages of an earlier day."""
    (root / "run").mkdir(parents=True)
    for name in RUN_FILES:
        shutil.copy(RUN / name, root / "run")
    for name, text in (
        ("bench.csv", BENCH), ("more.csv", MORE_BENCH), ("stands.csv", STANDS), ("beds.csv", BEDS),
    ):  # fmt: skip
        (root / name).write_text(text, encoding="utf-8")
    for number in (1, 2, 3):
        (root / f"r{number}.json").write_text(result_to_json(run_of(number)), encoding="utf-8")
    first = run_of(1)
    other = replace(first, ground_per_turn=Measured(0.9 * first.ground_per_turn.value, 0.01))
    (root / "other.json").write_text(result_to_json(other), encoding="utf-8")
    for words in (
        (*ON, "add", "r1.json"),
        (*ON, "export", "out"),
        *(COMMANDS[name] for name in ("geojson", "gpx", "map", "card")),
        *((*COMMANDS[name], *words) for name, words in EARLIER.items()),
        (*ON, "add", "r2.json", "--soil", "dry"),
        (*ON, "bench", "bench.csv"),
    ):
        assert ended(root, words) == "told", words
    shutil.copy(root / "more.csv", root / "bench.csv")  # put right since


def ended(root, words):
    """Run a command in a folder: "told" that it is done, "refused" in one line, or what else."""
    out, err = io.StringIO(), io.StringIO()
    os.chdir(root)
    try:
        with contextlib.redirect_stdout(out), contextlib.redirect_stderr(err):
            code = main(list(words))
    except BaseException as fault:
        return f"fault {type(fault).__name__} {str(fault)[:80]}"
    said = err.getvalue()
    if code == 0:
        return "told"
    fits = said.startswith("groundtruth: ") and said.count("\n") == 1 and said.strip().isprintable()
    return "refused" if code == 2 and fits else f"code {code}: {said[:200]}"


def burn(call, count, spare):
    """Make a system call so many times to no effect."""
    handle = os.open(spare, os.O_RDWR | os.O_CREAT)
    names = [spare, f"{spare}-"]
    for k in range(count):
        match call:
            case "pwrite64":
                os.pwrite(handle, b"x", 0)
            case "write":
                os.write(handle, b"x")
            case "fsync":
                os.fsync(handle)
            case "fdatasync":
                os.fdatasync(handle)
            case "ftruncate":
                os.ftruncate(handle, 0)
            case "unlink":
                os.close(os.open(f"{spare}-{k}", os.O_CREAT))
                os.unlink(f"{spare}-{k}")
            case "rename":
                os.rename(*names)
                names.reverse()
    os.close(handle)


def forked(root, words, before=lambda: None):
    """Run a command in a child; a folder beside its own says how it ended."""
    child = os.fork()
    if child == 0:
        try:
            before()
            end = ended(root, words)
            os.mkdir(f"{root}.{end.replace('/', '_')[:200]}")
        finally:
            os._exit(0)
    os.waitpid(child, 0)
    return child


def how_it_ended(root):
    (one,) = root.parent.glob(f"{root.name}.*")
    one.rmdir()
    return one.name.removeprefix(f"{root.name}.")


def work(call, folder, cases):
    """A child for each case (command, place of the call that fails, 0 for none)."""
    pids = {}
    for name, place in cases:
        root = folder / f"{name}-{place}"
        shutil.copytree(folder.parent / "sound", root)
        spare, count = f"{folder}/spare", BURNT - place if place else 0
        pids[forked(root, COMMANDS[name], partial(burn, call, count, spare))] = name
    (folder / "pids.json").write_text(json.dumps(pids), encoding="utf-8")


def state(path):
    with reading(path):
        pass  # rolls back what was begun
    assert check(path).problems == ()
    return given(path)


class Judge:
    """What each command leaves where nothing fails, against what it left where something did."""

    def __init__(self, sound, folder):
        self.sound, self.states, self.files = sound, {}, {}
        self.before = state(self._copied(folder / "before") / "s.gpkg")
        for name, words in COMMANDS.items():
            root = self._copied(folder / f"whole-{name}")
            assert ended(root, words) == "told", name
            self.states[name] = state(root / "s.gpkg")
            self.files[name] = {page: (root / page).read_bytes() for page in PAGES}
            new = root / "new.gpkg"
            self.states[name, "new"] = state(new) if new.exists() else None
            shutil.rmtree(root)

    def _copied(self, root):
        shutil.copytree(self.sound, root)
        return root

    def __call__(self, root, name, end):
        assert end in ("told", "refused"), (root.name, end)
        told = end == "told"
        after = self.states[name]
        assert state(root / "s.gpkg") in ((after,) if told else (self.before, after)), root.name
        for copy in backups(root / "s.gpkg")[:1]:
            state(copy)
        for page in PAGES:
            old, new = (self.sound / page).read_bytes(), self.files[name][page]
            assert (root / page).read_bytes() in ((new,) if told else (old, new)), (root.name, page)
        whole, new = self.states[name, "new"], root / "new.gpkg"
        if whole is None or not new.exists() or new.stat().st_size == 0:
            assert not (told and whole), root.name
        else:
            with contextlib.suppress(GroundtruthError):  # a first writing that was not begun
                found = state(new)
                assert found == whole or not (told or found["runs"]), root.name
        try:
            runs = import_season(root / "out", root / "back.gpkg")
        except GroundtruthError:
            assert (name, end) == ("export", "refused"), root.name  # of two exports; says so
        else:
            assert runs in ((2,) if name == "export" and told else (1, 2)), root.name
        shutil.rmtree(root)


@pytest.fixture(scope="module")
def judge(tmp_path_factory):
    folder, here = tmp_path_factory.mktemp("disk"), os.getcwd()
    begin(folder / "sound")
    yield Judge(folder / "sound", folder)
    os.chdir(here)


@pytest.mark.whole_days
@pytest.mark.skipif(not hasattr(os, "fork"), reason="children are forked")
def test_one_refused_call_costs_the_command_at_most(judge, capsys):
    if not available():
        if os.environ.get("CI"):
            pytest.fail("strace is needed here")
        pytest.skip("no strace here")
    folder = judge.sound.parent
    made = {call: _traced(call, folder / call, [(name, 0) for name in COMMANDS]) for call in CALLS}
    every = [
        (call, reason, name, place)
        for call in CALLS
        for reason in REASONS
        for name, count in made[call].items()
        for place in range(1, count + 1)
    ]
    assert max(n for counts in made.values() for n in counts.values()) < BURNT
    drawn = random.Random(1).sample(every, min(ERRORS, len(every)))
    counted = {"told": 0, "refused": 0}
    for call in CALLS:
        for reason in REASONS:
            cases = [(name, place) for c, r, name, place in drawn if (c, r) == (call, reason)]
            place_of = folder / f"{call}-{reason}"
            _traced(call, place_of, cases, f"inject={call}:error={reason}:when={BURNT}")
            for name, place in cases:
                root = place_of / f"{name}-{place}"
                end = how_it_ended(root)
                judge(root, name, end)
                counted[end] += 1
    assert counted["refused"] > len(drawn) / 10
    with capsys.disabled():
        print(
            f"\n{len(drawn)} of {len(every)} refused calls of {len(COMMANDS)} commands:"
            f" {counted['refused']} refused in one line, {counted['told']} done all the same"
        )


def _traced(call, folder, cases, *inject):
    """The cases under strace; returns how often each command made that call."""
    folder.mkdir(exist_ok=True)
    words = [sys.executable, __file__, call, str(folder), json.dumps(cases)]
    options = [word for one in (f"trace={call}", *inject) for word in ("-e", one)]
    trace = folder / "trace"
    subprocess.run(
        ["strace", "-f", "--seccomp-bpf", "-o", str(trace), *options, *words],
        check=True,
        env=os.environ,
    )
    pids = json.loads((folder / "pids.json").read_text())
    found = dict.fromkeys(pids.values(), 0)
    for line in trace.read_text(errors="replace").splitlines():
        pid, _, rest = line.partition(" ")
        if pid in pids and rest.lstrip().startswith(f"{call}("):
            found[pids[pid]] += 1
    if not inject:
        for one in folder.iterdir():
            shutil.rmtree(one) if one.is_dir() else one.unlink()
    return found


@pytest.mark.whole_days
@pytest.mark.skipif(not hasattr(os, "fork"), reason="children are forked")
def test_a_short_write_costs_the_command_at_most(judge, capsys):
    """A process that may write files of so many bytes, and a few of the bytes of the last write."""
    import resource

    rng, folder = random.Random(2), judge.sound.parent / "short"
    folder.mkdir()
    counted = {"told": 0, "refused": 0}
    largest = 2 * (judge.sound / "s.gpkg").stat().st_size
    for k in range(ERRORS // 2 if ERRORS < 1000 else 500):
        name = rng.choice(list(COMMANDS))
        root = folder / f"{name}-{k}"
        shutil.copytree(judge.sound, root)
        most = int(largest ** rng.uniform(0.2, 1.0))

        def limit(most=most):
            resource.setrlimit(resource.RLIMIT_FSIZE, (most, most))

        forked(root, COMMANDS[name], limit)
        end = how_it_ended(root)
        judge(root, name, end)
        counted[end] += 1
    assert min(counted.values()) > 0
    with capsys.disabled():
        print(
            f"\n{sum(counted.values())} short writes: {counted['refused']} refused in one line,"
            f" {counted['told']} short of no file"
        )


if __name__ == "__main__":
    work(sys.argv[1], Path(sys.argv[2]), json.loads(sys.argv[3]))
