"""The documented Python names can be imported, and importing the package costs nothing."""

import ast
import re
import subprocess
import sys
from importlib import import_module
from pathlib import Path

import pytest

ROOT = Path(__file__).parents[1]
PACKAGES = ("groundtruth", *(f"groundtruth.{room}" for room in (
    "beds", "io", "planning", "season", "seeding", "simulation", "views",
)))  # fmt: skip
HEAVY = "numpy scipy pyproj rich gpxpy sqlite3 pandas shapely folium"


def names_checked_by_type(package):
    """Module and name of each import that only a type checker sees."""
    text = Path(import_module(package).__file__).read_text(encoding="utf-8")
    guarded = next(
        node
        for node in ast.parse(text).body
        if isinstance(node, ast.If) and getattr(node.test, "id", "") == "TYPE_CHECKING"
    )
    return {
        alias.name
        for node in guarded.body
        if isinstance(node, ast.ImportFrom)
        for alias in node.names
    }


@pytest.mark.parametrize("package", PACKAGES)
def test_every_public_name_is_there(package):
    module = import_module(package)
    assert set(module.__all__) == names_checked_by_type(package)
    for name in module.__all__:
        assert getattr(module, name) is not None
        # a module of that name would be found in place of the function
        assert not list(Path(module.__file__).parent.glob(f"{name}.py")), name


def test_an_unknown_name_is_said_so():
    with pytest.raises(AttributeError, match=r"'groundtruth\.seeding' has no attribute 'sowe'"):
        import_module("groundtruth.seeding").sowe  # noqa: B018


def documented():
    """Each import line and dotted name in the documents' examples."""
    for path in [ROOT / "README.md", *sorted((ROOT / "docs").glob("*.md"))]:
        text = path.read_text(encoding="utf-8")
        for line in re.findall(r"^(?:from groundtruth|import groundtruth).*$", text, re.M):
            yield path.name, line
        for name, package in re.findall(
            r"`(\w+)(?:\([^`]*\))?`\s+from\s+`(groundtruth[\w.]*)`", text
        ):
            yield path.name, f"from {package} import {name}"
        for dotted in re.findall(r"\bgroundtruth\.[\w.]*\w\(", text):
            yield path.name, f"import groundtruth; {dotted[:-1]}"


@pytest.mark.parametrize(("page", "line"), sorted(set(documented())))
def test_documented_names_are_public(page, line):
    exec(line, {"groundtruth": import_module("groundtruth")})
    for module in re.findall(r"^from ([\w.]+) import", line):
        assert module in PACKAGES, f"{page}: {module} is no public namespace"


def test_documents_hold_examples():
    assert len(set(documented())) >= 8


@pytest.mark.parametrize("code", [
    "import groundtruth",
    "import groundtruth.seeding, groundtruth.season, groundtruth.io, groundtruth.planning",
    "import uvicorn\nfrom groundtruth.web.page import desk, server\n"
    "from groundtruth.season import season_path",  # all that the first page needs
    "import runpy\nsys.argv = ['groundtruth', '--help']\n"
    "try:\n    runpy.run_module('groundtruth', run_name='__main__')\nexcept SystemExit:\n    pass",
])  # fmt: skip
def test_nothing_heavy_is_loaded(code):
    check = (
        f"import sys\n{code}\n"
        f"heavy = set('{HEAVY}'.split()) & set(sys.modules)\nassert not heavy, heavy\n"
    )
    subprocess.run([sys.executable, "-c", check], check=True, capture_output=True)
