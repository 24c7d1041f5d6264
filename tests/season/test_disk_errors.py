"""The disk refuses one call: the step is refused in one line or done, and nothing is there by half.

strace lets one write, sync, removal or rename of a real process fail, as a failing or full disk
does. More of them: GROUNDTRUTH_DISK_ERRORS=1000 pytest -m whole_days
tests/season/test_disk_errors.py
"""

import json
import os
import shutil
import subprocess
import sys
from pathlib import Path

import pytest

if __name__ == "__main__":
    sys.path[:0] = [str(Path(__file__).parents[1]), str(Path(__file__).parent)]

from power_loss import available
from test_corrections import given
from test_record import run_of

from groundtruth.core.errors import GroundtruthError
from groundtruth.io.writing import write_all_whole
from groundtruth.season import add_run, export_season, import_season, reading
from groundtruth.season.backups import backups
from groundtruth.season.checking import check, restore
from groundtruth.season.corrections import undo
from groundtruth.views.html import html_page, node

ERRORS = int(os.environ.get("GROUNDTRUTH_DISK_ERRORS", "105"))
REFUSED = {"pwrite64": "ENOSPC", "write": "EIO", "fsync": "EIO", "fdatasync": "EIO",
           "ftruncate": "EIO", "unlink": "EIO", "rename": "EIO"}  # fmt: skip
BURNT = 1000
"""strace counts the calls of each process: a child makes so many for nothing, less those that may
pass before the one that fails."""


def pages(text):
    page = html_page(title="t", body=[node("main", text * 3000)], styles=[])
    return {"map.html": page, "report.html": page}


STEPS = (
    lambda root: add_run(root / "s.gpkg", run_of(3), soil="wet"),
    lambda root: export_season(root / "s.gpkg", root / "out", "csv"),
    lambda root: write_all_whole({root / n: t for n, t in pages("b").items()}),
    lambda root: undo(root / "s.gpkg"),
    lambda root: restore(root / "s.gpkg", "1"),
)


def begin(root):
    """A record, an export and two pages."""
    root.mkdir()
    for number in (1, 2):
        add_run(root / "s.gpkg", run_of(number), soil="dry")
    export_season(root / "s.gpkg", root / "out", "csv")
    write_all_whole({root / n: t for n, t in pages("a").items()})


def burn(call, count, spare):
    """Make a system call so many times to no effect."""
    handle = os.open(spare, os.O_RDWR | os.O_CREAT)
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
                os.rename(spare, f"{spare}-")
                os.rename(f"{spare}-", spare) if os.path.exists(f"{spare}-") else None
    os.close(handle)


def work(call, folder, places):
    """One child for each place: the steps, until one is refused. Folders say how it ended."""
    for place in places:
        root = folder / f"{call}-{place}"
        child = os.fork()
        if child == 0:
            try:
                twice = 2 if call == "rename" else 1
                burn(call, (BURNT - place) // twice, f"{folder}/spare-{call}")
                for number, step in enumerate(STEPS):
                    step(root)
                    os.mkdir(f"{root}.{number}-told")
            except GroundtruthError as refusal:
                os.mkdir(f"{root}.refused" if str(refusal).isprintable() else f"{root}.unclear")
            except BaseException as fault:
                os.mkdir(f"{root}.fault-{type(fault).__name__}-{str(fault)[:80].replace('/', '_')}")
            finally:
                os._exit(0)
        os.waitpid(child, 0)


def state(path):
    with reading(path):
        pass  # rolls back what was begun
    assert check(path).problems == ()
    return given(path)


@pytest.mark.whole_days
@pytest.mark.skipif(not hasattr(os, "fork"), reason="children are forked")
def test_one_refused_call_costs_the_step_at_most(tmp_path):
    if not available():
        if os.environ.get("CI"):
            pytest.fail("strace is needed here")
        pytest.skip("no strace here")
    sound, after = tmp_path / "sound", tmp_path / "after"
    begin(sound)
    shutil.copytree(sound, after)
    states = [state(after / "s.gpkg")]
    for step in STEPS:
        step(after)
        states.append(state(after / "s.gpkg"))
    refused = done = 0
    for call, error in REFUSED.items():
        folder = tmp_path / call
        folder.mkdir()
        each = ERRORS // len(REFUSED)
        made = _traced(call, folder, sound, [BURNT])  # nothing is burnt and nothing fails
        places = [*dict.fromkeys(1 + k * made // each for k in range(each))]
        _traced(call, folder, sound, places, f"inject={call}:error={error}:when={BURNT}")
        for place in places:
            root = folder / f"{call}-{place}"
            ended = [p.name.removeprefix(f"{root.name}.") for p in folder.glob(f"{root.name}.*")]
            told = [name for name in ended if name.endswith("-told")]
            rest = [name for name in ended if name not in told]
            assert rest in ([], ["refused"]), root.name
            refused += rest == ["refused"]
            done += not rest
            _judge(root, len(told), states)
            shutil.rmtree(root)
    assert refused > ERRORS / 10
    print(f"{done + refused} refused calls: {refused} steps refused, {done} done all the same")


def _traced(call, folder, sound, places, *inject):
    """The steps for each of the places under strace; returns the number of calls of that kind."""
    for place in dict.fromkeys(places):
        shutil.copytree(sound, folder / f"{call}-{place}")
    trace = folder.parent / f"trace-{call}"
    words = [sys.executable, __file__, call, str(folder), json.dumps([*dict.fromkeys(places)])]
    options = [word for one in (f"trace={call}", *inject) for word in ("-e", one)]
    subprocess.run(["strace", "-f", "-o", str(trace), *options, *words], check=True, env=os.environ)
    return sum(f" {call}(" in text for text in trace.read_text(errors="replace").splitlines())


def _judge(root, told, states):
    where = root.name
    assert state(root / "s.gpkg") in states[told : told + 2], where
    for copy in backups(root / "s.gpkg"):
        state(copy)
    old, new = pages("a"), pages("b")
    for name in old:
        kept = (old[name], new[name]) if told == 2 else ((new if told > 2 else old)[name],)
        assert (root / name).read_text() in kept, where
    try:
        runs = import_season(root / "out", root / "back.gpkg")
    except GroundtruthError:
        assert told == 1, where  # of two exports; says so
    else:
        assert runs == (2 if told < 1 else 3) or told == 1, where


if __name__ == "__main__":
    work(sys.argv[1], Path(sys.argv[2]), json.loads(sys.argv[3]))
