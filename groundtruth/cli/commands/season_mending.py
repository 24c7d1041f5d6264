"""Actions of `groundtruth season` that take back, put right, check and restore."""

from __future__ import annotations

import argparse
from collections.abc import Callable
from pathlib import Path
from typing import TYPE_CHECKING

from ...core.errors import InputError
from ..output import tell

if TYPE_CHECKING:
    from ...season.corrections import Which

WHAT = ("run", "change", "bench", "stands", "beds")
EDITED = ("run", "change", "bed")
_OF_RUN = ("soil", "seeder", "note", "rename")
_OF_CHANGE = ("to_day", "kind", "seeder", "unit", "note")


def add_actions(action: Callable[[str, str], argparse.ArgumentParser]) -> None:
    """Their options."""
    action("log", "say what was done to the record, step by step")
    undo = action("undo", "take back the last step, or the step of a number")
    undo.add_argument("step", metavar="NUMBER", type=int, nargs="?", help="see season log")

    remove = action("remove", "take a run, a change, a sheet or the map of beds out of the record")
    remove.add_argument("what", choices=WHAT)
    _which(remove)

    edit = action("edit", "put right what is noted of a run or a change, or a bed's name")
    edit.add_argument("what", choices=EDITED)
    _which(edit)
    edit.add_argument("--soil", help="of a run")
    edit.add_argument("--seeder", help="of a run or a change")
    edit.add_argument("--note", help="of a run or a change")
    edit.add_argument("--rename", metavar="NEW", help="new name of a run or a bed")
    edit.add_argument("--to-day", metavar="YYYY-MM-DD", help="right day of a change")
    edit.add_argument("--kind", help="right kind of a change")
    edit.add_argument("--unit", help="row unit of a change")

    check = action("check", "look the record through for damage and for changes by other programs")
    check.add_argument(
        "--accept", action="store_true", help="take what is there now for right, and say so"
    )
    restore = action("restore", "put back a copy from before an earlier step; without one, list")
    restore.add_argument("copy", metavar="NUMBER|FILE", nargs="?")
    rescue = action("rescue", "make a new record of what can be read of a damaged one")
    rescue.add_argument("new", metavar="NEW.gpkg", type=Path)


def _which(parser: argparse.ArgumentParser) -> None:
    parser.add_argument(
        "name", metavar="NAME", nargs="?", default="", help="its name; of a change its kind"
    )
    parser.add_argument("--day", metavar="YYYY-MM-DD", default="", help="its day")
    parser.add_argument("--number", type=int, help="its number, where several fit")


def _path(args: argparse.Namespace) -> Path:
    from ...season import season_path

    return season_path(args.season)


def do_log(args: argparse.Namespace) -> int:
    """The steps."""
    from ...season.corrections import log

    for step in log(_path(args)):
        back = f" (taken back by step {step.undone_by})" if step.undone_by else ""
        tell(f"{step.number}  {step.at[:16].replace('T', ' ')}  {step.action}: {step.text}{back}")
    return 0


def do_undo(args: argparse.Namespace) -> int:
    """One step back."""
    from ...season.corrections import undo

    tell(undo(_path(args), args.step))
    return 0


def do_remove(args: argparse.Namespace) -> int:
    """Something out."""
    from ...season.corrections import remove

    tell(remove(_path(args), args.what, _meant(args)))
    return 0


def do_edit(args: argparse.Namespace) -> int:
    """Something put right."""
    from ...season.corrections import edit_change, edit_run, rename_bed
    from ..typed import day_of

    allowed = {"run": _OF_RUN, "change": _OF_CHANGE, "bed": ("rename",)}[args.what]
    given = {
        name: getattr(args, name).strip()
        for name in dict.fromkeys((*_OF_RUN, *_OF_CHANGE))
        if getattr(args, name) is not None
    }
    for name in given:
        if name not in allowed:
            raise InputError(f"--{name.replace('_', '-')}: a {args.what} has none")
    if not given:
        options = ", ".join("--" + name.replace("_", "-") for name in allowed)
        raise InputError(f"say what is to be put right: {options}")
    if args.what == "bed":
        tell(rename_bed(_path(args), args.name, given["rename"]))
        return 0
    if "soil" in given:
        given["soil"] = given["soil"].casefold()
    if "to_day" in given:
        given["day"] = day_of(given.pop("to_day"), "--to-day").isoformat()
    if "kind" in given:
        given["kind"] = given["kind"].lower().replace("-", " ")
    if "rename" in given:
        given["name"] = given.pop("rename")
    tell((edit_run if args.what == "run" else edit_change)(_path(args), _meant(args), given))
    return 0


def _meant(args: argparse.Namespace) -> Which:
    from ...season.corrections import Which
    from ..typed import day_of

    day = day_of(args.day, "--day").isoformat() if args.day else ""
    name = args.name.replace("-", " ") if args.what == "change" else args.name
    return Which(name=name, day=day, number=args.number)


def do_check(args: argparse.Namespace) -> int:
    """Sound or not."""
    from ...season.checking import accept, check

    path = _path(args)
    if args.accept:
        tell(accept(path))
        return 0
    found = check(path)
    for text in (*found.problems, *found.remarks):
        tell(text)
    if found.problems:
        tell(
            "Damaged. groundtruth season restore lists copies to put back; season rescue NEW.gpkg "
            "saves what can be read; season remove run takes a damaged run out; season check "
            "--accept takes everything as it is."
        )
        return 1
    tell(f"{path}: sound")
    return 0


def do_restore(args: argparse.Namespace) -> int:
    """A copy back, or the list of them."""
    from ...season import backups
    from ...season.checking import restore
    from ..typed import place_of

    path = _path(args)
    if args.copy is not None:
        tell(restore(path, str(place_of(args.copy, "COPY"))))
        return 0
    copies = backups.backups(path)
    if not copies:
        raise InputError(f"{backups.backup_folder(path)}: holds no copy of the record")
    for number, copy in enumerate(copies, start=1):
        tell(f"{number}  as it was until {backups.taken_at(copy)}  {copy}")
    return 0


def do_rescue(args: argparse.Namespace) -> int:
    """What can be read, into a new record."""
    from ...season.checking import rescue

    for text in rescue(_path(args), args.new):
        tell(text)
    tell(f"Written: {args.new}")
    return 0
