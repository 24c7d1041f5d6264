"""No public class or function name means two things in the package."""

import ast
from collections import defaultdict
from pathlib import Path

PACKAGE = Path(__file__).parents[1] / "groundtruth"

EACH_COMMAND_HAS = {"add_arguments", "run"}
"""The command line finds these two by name in every module of `cli/commands`."""


def definitions():
    """Where each public name is defined at the top of a module, methods left out."""
    found = defaultdict(list)
    for path in sorted(PACKAGE.rglob("*.py")):
        command = path.parent.name == "commands"
        for node in ast.parse(path.read_text(encoding="utf-8")).body:
            if not isinstance(node, ast.ClassDef | ast.FunctionDef | ast.AsyncFunctionDef):
                continue
            if node.name.startswith("_") or (command and node.name in EACH_COMMAND_HAS):
                continue
            found[node.name].append(path.relative_to(PACKAGE).as_posix())
    return found


def test_a_name_means_one_thing():
    doubled = {name: places for name, places in definitions().items() if len(places) > 1}
    assert not doubled, f"defined twice: {doubled}"
