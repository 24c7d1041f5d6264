"""Make a new record beside its place and put it there when all of it is in."""

from __future__ import annotations

import os
from collections.abc import Iterator
from contextlib import contextmanager, suppress
from pathlib import Path

from ..io.writing import clear_parts, flush_folder, make_folder, part_beside
from .store import SeasonError, is_free


@contextmanager
def new_record(path: Path) -> Iterator[Path]:
    """A file beside ``path`` to make the record in; a refusal or a crash leaves nothing of it.

    Raises
    ------
    SeasonError : there is a record at ``path`` already, or its folder cannot be made.
    """
    taken = SeasonError(f"{path}: is there already; name a new file")
    try:
        make_folder(path.parent)
    except OSError as err:
        raise SeasonError(f"{path.parent}: cannot be made ({err.strerror})") from err
    if not is_free(path):
        raise taken
    clear_parts(path.parent)
    part = part_beside(path)
    try:
        yield part
        try:
            if path.exists():
                _moved(part, path)  # over an empty file
            else:
                os.link(part, path)
        except FileExistsError:
            raise taken from None
        except OSError:  # a file system without links
            _moved(part, path)
    finally:
        for rest in (part, part.with_name(part.name + "-journal")):
            with suppress(OSError):  # the next call clears it away
                rest.unlink(missing_ok=True)
    flush_folder(path.parent)


def _moved(part: Path, path: Path) -> None:
    try:
        os.replace(part, path)
    except OSError as err:
        raise SeasonError(f"{path}: cannot be put there ({err.strerror})") from err
