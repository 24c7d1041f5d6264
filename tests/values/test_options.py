"""Whatever is typed after any option of any command: an answer, or one clear line and exit 2.

The options come from the parser, so that a new one is tried too.
"""

from __future__ import annotations

import shutil
from pathlib import Path

import hostile
import pytest

from groundtruth.cli import main as command_line

SAMPLE = Path(__file__).parents[2] / "sample_tracks" / "dry-firm"
GROUND = ["--ground-per-turn", "60 cm"]
ORDER = ["--settings", "hole 9,hole 10,hole 11,hole 12,hole 13"]
CHOICE = ["bench.csv", *ORDER, *GROUND, "--crop", "beet"]
SPACED = ["--spacing", "5 cm"]
USUAL = {
    "measure": ["track.gpx", "--turns", "none.csv", "--time-zone", "America/Chicago"],
    "inspect": ["none.gpx"],
    "plan": ["--bed-length", "100 m", "--speed", "3 km/h"],
    "target": GROUND,
    "bench": ["bench.csv", *ORDER],
    "choose": CHOICE,
    "turning": ["--speed", "3 km/h", *GROUND],
    "seed": ["40 m"],
    "stands": ["stands.csv"],
    "spacing": ["spacings.csv", "--spacing", "2 in"],
    "card": [*CHOICE, "--overwrite"],
    "simulate": ["--scenario", "none", "--out", "x"],
    "season": ["path"],
    "season add": ["none.json"],
    "season change": ["tyre", "--day", "2027-05-12"],
    "season beds": ["none.geojson"],
    "season bench": ["none.csv"],
    "season stands": ["none.csv"],
    "season compare": ["--change", "2027-05-12"],
    "season map": ["--out", "map.html"],
    "season export": ["x"],
    "season import": ["none"],
    "season remove": ["run", "none"],
    "season edit": ["run", "none"],
    "season rescue": ["new.gpkg"],
    "season show": [], "season chart": [], "season path": [], "season log": [], "season undo": [],
    "season check": [], "season restore": [], "page": ["--out", "page"],
    "open": ["--no-browser"],
    "many": ["none", "--out", "fleet"],
    "fleet seeders": ["none"], "fleet slip": ["none"], "fleet phones": ["none"],
    "fleet versions": ["none", "0.2.0"], "fleet history": ["none", "blue"],
    "fleet prior": ["none", "--out", "prior.json"],
    "fleet add": ["none", "none.json"],
    "fleet map": ["none", "--out", "cells.gpkg"],
    "fleet load": ["none", "--into", "none"],
    "fleet schema": [],
    "share": ["none.json", "--out", "row.json"],
}  # fmt: skip
"""What each command is called with; a command that is not here fails."""
NEEDS_SPACING = ("target", "choose", "seed", "card")
WAYS = ("--spacing", "--plants-per-bed", "--rate", "--crops", "--result")
PLACES = list(hostile.places(command_line.build_parser()))


def usual_of(place: hostile.Place) -> list[str]:
    usual = list(USUAL[" ".join(place.command)])
    if place.command[0] in NEEDS_SPACING and place.option not in WAYS:
        usual += SPACED
    if place.option == "--rate":
        usual += ["--row-spacing", "30 cm", "--seeds-per-gram", "60"]
    if place.option == "--result":
        usual = [word for word in usual if word not in GROUND]
    return usual


@pytest.fixture(scope="module")
def folder(tmp_path_factory):
    folder = tmp_path_factory.mktemp("values")
    for file in SAMPLE.iterdir():
        shutil.copy(file, folder)
    return folder


@pytest.mark.parametrize("place", PLACES, ids=str)
def test_any_value_of_any_option(folder, monkeypatch, capsys, place):
    monkeypatch.chdir(folder)
    monkeypatch.setenv("GROUNDTRUTH_SEASON", str(folder / "none.gpkg"))
    monkeypatch.setenv("HOME", str(folder))
    monkeypatch.setattr("uvicorn.Server.run", lambda *_, **__: None)  # the page is ready to answer
    parser = command_line.build_parser()
    monkeypatch.setattr(command_line, "build_parser", lambda: parser)
    slow = place.command[0] == "plan" and place.option in ("--time-zone", "--track")
    for value in hostile.FEW if slow else hostile.ALL:
        try:
            code = command_line.main(place.call(usual_of(place), value))
        except SystemExit as stop:  # argparse refused it
            code = stop.code
        said = capsys.readouterr()
        assert code in (0, 1, 2), (value, said)
        for text in (said.out, said.err):
            assert not hostile.raw_in(text), (value, text)
        assert value in said.out or not hostile.no_figure_in(said.out), (value, said.out)
        if code == 2:
            line = said.err.splitlines()[-1]
            assert line.startswith("groundtruth"), (value, said.err)
            assert len(line) < 700, value
