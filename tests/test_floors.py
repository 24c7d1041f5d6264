"""Imports inside the package point down the floors only, so that no room depends on a later one."""

import ast
import re
from pathlib import Path

import pytest

PACKAGE = Path(__file__).parents[1] / "groundtruth"

FLOORS = [
    {"core"},
    {"io", "stats", "passes", "estimator", "beds"},
    {"seeding", "simulation"},
    {"measurement", "planning", "season", "fleet"},
    {"views"},
    {"app"},
    {"web", "many"},
    {"cli"},
]
"""From the ground up. A file may import only from lower floors, and from its own room."""

RANK = {room: floor for floor, rooms in enumerate(FLOORS) for room in rooms}

MODULES = sorted(
    p
    for p in PACKAGE.rglob("*.py")
    if p.relative_to(PACKAGE).as_posix() not in ("__init__.py", "__main__.py")
)


def room(path: Path) -> str:
    """The top-level module or subpackage that a file belongs to."""
    return path.relative_to(PACKAGE).with_suffix("").parts[0]


def rooms_used(path: Path) -> set[str]:
    """Rooms of the package that a file imports from."""
    depth = len(path.relative_to(PACKAGE).parts)  # dots that lead to the package itself
    found = set()
    for node in ast.walk(ast.parse(path.read_text(encoding="utf-8"))):
        if isinstance(node, ast.ImportFrom) and node.level:
            if node.level == depth:
                names = [node.module] if node.module else [alias.name for alias in node.names]
                found |= {name.split(".")[0] for name in names}
        elif isinstance(node, ast.ImportFrom):
            assert (node.module or "").split(".")[0] != "groundtruth", "import siblings relatively"
        elif isinstance(node, ast.Import):
            assert all(a.name.split(".")[0] != "groundtruth" for a in node.names), (
                "import siblings relatively"
            )
    return found - {"__version__"}


@pytest.mark.parametrize("path", MODULES, ids=lambda p: str(p.relative_to(PACKAGE)))
def test_imports_point_down(path):
    own = room(path)
    assert own in RANK, f"{own} has no floor yet; give it one"
    upwards = {used for used in rooms_used(path) if RANK[used] >= RANK[own]}
    assert not upwards, f"{own} may not import {sorted(upwards)}"


def test_every_folder_is_a_room_with_a_floor():
    folders = {p.parent.name for p in PACKAGE.glob("*/__init__.py")}
    assert folders == set(RANK)


def test_only_the_command_line_knows_its_options():
    """What lies below gets typed requests, so that a page can ask the same."""
    for path in MODULES:
        if room(path) != "cli":
            assert "argparse" not in path.read_text(encoding="utf-8"), path


def test_the_page_for_developers_names_every_room_once_with_its_floor():
    text = (PACKAGE.parent / "DEVELOPERS.md").read_text(encoding="utf-8")
    rows = re.findall(r"(?m)^\| (\d) \| `(\w+)` \| \w", text)
    assert sorted((name, int(floor)) for floor, name in rows) == sorted(
        (name, rank + 1) for name, rank in RANK.items()
    )


def test_files_named_in_the_page_for_developers_are_there():
    text = (PACKAGE.parent / "DEVELOPERS.md").read_text(encoding="utf-8")
    for name in re.findall(r"`((?:groundtruth|tests|docs|sample_tracks)/[\w./-]*)`", text):
        assert (PACKAGE.parent / name).exists(), name


LOADED_BY_NAME = {
    "cli/main.py": "the module of the command that was typed",
    "core/lazy_names.py": "the modules of a package's own public names",
    "core/result.py": "views.notebook, against the floors: a result draws itself in a notebook",
    "season/query.py": "views.notebook, against the floors: so does a season",
}
"""Modules that are loaded by their names, which the test above cannot see, and what for."""


def test_modules_are_loaded_by_name_only_where_it_is_said():
    loading = {
        path.relative_to(PACKAGE).as_posix()
        for path in MODULES
        if re.search(r"import_module|__import__", path.read_text(encoding="utf-8"))
    }
    assert loading == set(LOADED_BY_NAME)


def test_a_wrong_import_is_seen(tmp_path, monkeypatch):
    """The test above can fail: an upward import is reported as a used room."""
    (tmp_path / "travel").mkdir()
    wrong = tmp_path / "travel" / "model.py"
    wrong.write_text("def f():\n    from ..pipeline import measure\n    from .noise import x\n")
    monkeypatch.setattr("test_floors.PACKAGE", tmp_path)
    assert rooms_used(wrong) == {"pipeline"}


def test_nothing_is_set_for_the_whole_process():
    """A page answers several at once; only the command line, alone in its process, may set."""
    setting = re.compile(r"os\.umask|field_size_limit\(|register_error\(|environ\.setdefault")
    found = {
        path.relative_to(PACKAGE).as_posix()
        for path in MODULES
        if setting.search(path.read_text(encoding="utf-8"))
    }
    assert found == {"cli/main.py"}
