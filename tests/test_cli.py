"""The command line: what it prints, writes and refuses."""

from __future__ import annotations

import json
import re
import subprocess
import sys
from pathlib import Path

import pytest

from groundtruth.cli import main as cli
from groundtruth.cli.commands.measure import MAP, REPORT, RESULT

SAMPLES = Path(__file__).parents[1] / "sample_tracks"
DRY = SAMPLES / "dry-firm"


def groundtruth(*args, check_code=None):
    """Run a command in this process: (exit code)."""
    code = cli.main([str(a) for a in args])
    if check_code is not None:
        assert code == check_code
    return code


@pytest.fixture(scope="module")
def measured(tmp_path_factory):
    """The wet sample, measured once through the command."""
    out = tmp_path_factory.mktemp("out")
    done = subprocess.run(
        [sys.executable, "-m", "groundtruth", "measure", SAMPLES / "wet-soil" / "run.toml",
         "--out", out, "--json"],
        capture_output=True,
        text=True,
        check=False,
    )  # fmt: skip
    assert done.returncode == 0, done.stderr
    return out, done


def test_measure_writes_three_files_and_prints_json(measured):
    out, done = measured
    assert {p.name for p in out.iterdir()} == {MAP, REPORT, RESULT}
    assert json.loads(done.stdout) == json.loads((out / RESULT).read_text(encoding="utf-8"))
    assert "Written" in done.stderr


def test_the_result_holds_what_is_promised(measured):
    out, _ = measured
    result = json.loads((out / RESULT).read_text(encoding="utf-8"))
    truth = json.loads((SAMPLES / "wet-soil" / "truth.json").read_text(encoding="utf-8"))
    low, high = result["ground_per_turn_95_m"]
    # the sound units' own truth (our simulator's): unit 4 drags and is left out of the figure
    sound = [u["ground_per_turn_m"] for u in truth["units"] if u["unit"] != "4"]
    assert low < sum(sound) / len(sound) < high
    assert low < result["ground_per_turn_m"] < high
    assert result["slip"] == pytest.approx(truth["slip"], abs=3 * result["slip_u"] + 0.02)
    assert {p["number"] for p in result["passes"]} == set(range(1, 9))
    for key in ("unit", "start", "end", "distance_m", "distance_u_m", "turns"):
        assert all(key in p for p in result["passes"])
    target = result["targets"][0]
    assert target["seeds_per_turn"] > target["seeds_per_turn_in_use"]
    assert {len(i["sha256"]) for i in result["inputs"]} == {64}
    assert [u["unit"] for u in result["row_units"] if u["lags"]] == ["4"]


def test_nothing_heavy_is_loaded_for_help():
    code = (
        "import sys\n"
        "from groundtruth.cli.main import main\n"
        "try:\n    main(['--help'])\nexcept SystemExit:\n    pass\n"
        "heavy = {'numpy', 'scipy', 'pyproj', 'rich', 'gpxpy', 'sqlite3'} & set(sys.modules)\n"
        "assert not heavy, heavy\n"
    )
    subprocess.run([sys.executable, "-c", code], check=True, capture_output=True)


@pytest.mark.parametrize("command", [(), *[(name,) for name in cli.COMMANDS]])
def test_every_command_explains_itself(command, capsys):
    with pytest.raises(SystemExit) as left:
        cli.main([*[c.replace("_", "-") for c in command], "--help"])
    assert left.value.code == 0
    assert len(capsys.readouterr().out) > 200


def test_a_track_without_a_description(tmp_path, capsys):
    groundtruth(
        "measure", DRY / "track.gpx", "--turns", DRY / "turns.csv", "--wheel", "71.5 in",
        "--gear-turns-per-wheel-turn", "2.4", "--time-zone", "America/Chicago", "--units", "us",
        "--in-use", "29.8 in", "--out", tmp_path, check_code=0,
    )  # fmt: skip
    shown = capsys.readouterr().out
    assert "One gear turn covers 30." in shown
    assert "\x1b" not in shown  # written to a pipe: no colours
    assert (tmp_path / MAP).stat().st_size > 100_000


def test_inspect_says_what_a_track_holds(capsys):
    groundtruth("inspect", DRY / "track.gpx", "--json", check_code=0)
    found = json.loads(capsys.readouterr().out)
    assert len(found["passes"]) == 8
    assert found["fields"]["speed"] == 1
    assert all(p["start_found"] == "stopped" for p in found["passes"])
    groundtruth("inspect", DRY / "track.gpx", "--units", "us", check_code=0)
    assert "8 passes found" in capsys.readouterr().out


def test_samples_are_what_the_simulator_writes(tmp_path, capsys):
    groundtruth("simulate", "--samples", tmp_path, check_code=0)
    for path in sorted(p for p in tmp_path.rglob("*") if p.is_file()):
        kept = SAMPLES / path.relative_to(tmp_path)
        assert path.read_bytes() == kept.read_bytes(), kept.name
    assert len(capsys.readouterr().out.splitlines()) == 4


GPX = '<gpx version="1.1"><trk><trkseg>{}</trkseg></trk></gpx>'
POINT = '<trkpt lat="50.0" lon="5.0"><time>2026-05-04T06:00:00Z</time></trkpt>'
RUN = 'track = "track.gpx"\nturns = "turns.csv"\n[seeder]\nwheel_circumference = "{wheel}"\n'


def broken_run(folder, *, track=None, turns=None, run=None):
    """A copy of the dry sample with some of its files replaced."""
    files = {"track.gpx": track, "turns.csv": turns, "run.toml": run}
    for name, text in files.items():
        content = (DRY / name).read_bytes() if text is None else text.encode()
        (folder / name).write_bytes(content)
    return folder / "run.toml"


DRY_TURNS = (DRY / "turns.csv").read_text(encoding="utf-8")
DRY_TRACK = (DRY / "track.gpx").read_text(encoding="utf-8")


@pytest.mark.parametrize(
    ("replaced", "words"),
    [
        ({"track": ""}, "track.gpx"),
        ({"track": "no xml at all, just words\n"}, "track.gpx"),
        ({"track": GPX.format("")}, "track.gpx"),
        ({"track": GPX.format(POINT)}, "track.gpx"),
        ({"track": GPX.format('<trkpt lat="50" lon="5"/>' * 9)}, "track.gpx"),
        ({"track": "<html><body>Please log in</body></html>"}, "track.gpx"),
        ({"turns": DRY_TURNS.replace("2027-04-27", "2027-04-26")}, "before the track begins"),
        ({"turns": "pass,unit,turns\n1,1,0\n"}, "turns.csv"),
        ({"turns": "pass,unit,turns\n1,1,-4\n"}, "turns.csv"),
        ({"turns": ""}, "turns.csv"),
        ({"turns": "pass,unit,tunrs\n1,1,150\n"}, "turns"),
        ({"run": RUN.format(wheel="-1.9 m")}, "wheel_circumference"),
        ({"run": RUN.format(wheel="190 furlongs")}, "furlongs"),
        ({"run": RUN.format(wheel="190")}, "190"),
        ({"run": RUN.format(wheel="1.9 m") + "row_unit = 3\n"}, "row_units"),
        ({"run": "track = \n"}, "run.toml"),
        ({"run": 'track = "gone.gpx"\nturns = "turns.csv"\n'}, "gone.gpx"),
    ],
    ids=lambda v: None if isinstance(v, dict) else v.replace(" ", "-")[:30],
)
def test_bad_input_is_one_line_and_code_2(replaced, words, tmp_path, capsys):
    run = broken_run(tmp_path, **replaced)
    before = sorted(tmp_path.iterdir())
    assert groundtruth("measure", run) == 2
    out, err = capsys.readouterr()
    assert out == ""
    assert err.startswith("groundtruth: ")
    assert err.count("\n") == 1, err
    assert words in err
    assert sorted(tmp_path.iterdir()) == before, "something was written"


def test_a_track_cut_off_in_the_middle_is_used_up_to_there(tmp_path, capsys):
    cut = DRY_TRACK[: int(len(DRY_TRACK) * 0.97)]
    run = broken_run(tmp_path, track=cut)
    assert groundtruth("measure", run) == 0
    shown = capsys.readouterr().out
    assert "Repaired" in shown
    assert "track.gpx" in shown


@pytest.mark.parametrize(
    ("lost", "says"),
    [
        # the sheet ends pass 1 at 08:09:55 by the farm's clock, 13:09:55 UTC
        (
            ("13:09:40", "13:10:12"),
            "pass 1: the track has no fix from 08:09:39 to 08:10:13, where its end was; "
            "the pass is left out",
        ),
        # in the middle of a pass a gap only makes it less sure
        (("13:09:00", "13:09:20"), ""),
    ],
)
def test_a_pass_whose_end_the_track_did_not_see_is_left_out(tmp_path, capsys, lost, says):
    first, last = lost

    def kept(point):
        return "" if first <= re.search(r"T(\d\d:\d\d:\d\d)", point[0])[1] <= last else point[0]

    track = re.sub(r"\s*<trkpt.*?</trkpt>", kept, DRY_TRACK, flags=re.S)
    assert groundtruth("measure", broken_run(tmp_path, track=track)) == 0
    shown = capsys.readouterr().out
    assert ("the pass is left out" in shown) == bool(says)
    assert says in shown
    result = json.loads((tmp_path / "result.json").read_text(encoding="ascii"))
    assert {p["number"] for p in result["passes"]} == set(range(2 if says else 1, 9))


@pytest.mark.parametrize(
    "args",
    [
        ("measure",),
        ("measure", "track.gpx", "--units", "furlong"),
        ("no-such-command",),
        ("simulate",),
    ],
)
def test_misuse_exits_2(args, capsys):
    with pytest.raises(SystemExit) as left:
        cli.main(list(args))
    assert left.value.code == 2
    assert capsys.readouterr().err


@pytest.mark.parametrize(
    ("args", "words"),
    [
        (("measure", DRY / "track.gpx"), "add --turns"),
        (("measure", DRY / "run.toml", "--wheel", "2 m"), "write it into run.toml"),
        (("measure", "nowhere.toml"), "nowhere.toml"),
        (("simulate", "--scenario", "a day at sea", "--out", "x"), "--list"),
        (("simulate", "--scenario", "calm phone"), "needs --out"),
    ],
)
def test_options_that_do_not_fit_are_explained(args, words, capsys):
    assert groundtruth(*args) == 2
    assert words in capsys.readouterr().err


def test_a_folder_that_cannot_be_made_is_said(tmp_path, capsys):
    (tmp_path / "file").write_text("")
    assert groundtruth("measure", DRY / "run.toml", "--out", tmp_path / "file" / "deeper") == 2
    assert "cannot be made" in capsys.readouterr().err


def test_three_lines_of_python():
    import groundtruth as package

    result = package.measure(package.read_run(DRY / "run.toml"))
    assert 0.7 < result.ground_per_turn.value < 0.85
    with pytest.raises(AttributeError):
        _ = package.no_such_thing
    assert set(package.__all__) <= set(dir(package))
