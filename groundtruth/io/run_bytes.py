"""A run as the bytes of its files, to be read elsewhere: on another machine, or not at all."""

from __future__ import annotations

from dataclasses import dataclass
from os import PathLike
from pathlib import Path

from ..core.errors import InputError, RunFileError, TrackFileError, TurnSheetError
from ..core.run import Run
from .files import MAX_RUN_BYTES, MAX_SHEET_BYTES, Source, load, shown_name
from .run_file import default_name, named_files, read_run, run_table
from .run_table import RunTable
from .tracks.read import MAX_FILES

MAX_BYTES_OF_A_RUN = 128 << 20
"""Of all files together. Several days at 10 Hz are not that large."""


@dataclass(frozen=True, slots=True, kw_only=True)
class RunBytes:
    """A run's description and the files that it names, by their bytes.

    ``name`` is the run's where the description gives none.
    """

    description: Source
    files: tuple[Source, ...]
    name: str

    @property
    def size(self) -> int:
        """Bytes of all files."""
        return sum(len(one.data) for one in (self.description, *self.files))

    def read(self) -> Run:
        """The run, as `read_run` gives it for the file itself.

        Raises
        ------
        InputError : a file cannot be used; the message names it.
        """
        return read_run(self.description, files=self.files, name=self.name)


def load_run(path: str | PathLike[str], *, within: Path) -> RunBytes:
    """All files of a run, of which none may lie outside the folder ``within``.

    The folder is a fence for runs that strangers hand in: a description names any file.

    Raises
    ------
    InputError : a file is missing, too large, or lies outside; the description names no files.
    """
    description = load(path, error=RunFileError, what="run file", limit=MAX_RUN_BYTES)
    top = run_table(description)
    files: dict[str, tuple[Path, Source]] = {}
    kinds: dict[str, tuple[type[InputError], str, int]] = {
        "track": (TrackFileError, "track file", MAX_BYTES_OF_A_RUN),
        "turns": (TurnSheetError, "turn sheet", MAX_SHEET_BYTES),
    }
    for field, names in named_files(top).items():
        if len(names) > MAX_FILES:
            raise top.fail(field, f"{len(names)} files; up to {MAX_FILES} are read as one track")
        error, what, limit = kinds[field]
        for name in names:
            place = _fenced(Path(path).parent, name, within, field, top)
            shown = shown_name(name)
            if shown not in files:
                source = load(Path(path).parent / name, error=error, what=what, limit=limit)
                files[shown] = place, source
            elif files[shown][0] != place:
                raise top.error(field, f"two files are called {shown}; rename one of them")
            if sum(len(one.data) for _, one in files.values()) > MAX_BYTES_OF_A_RUN:
                raise top.error(
                    field,
                    f"its files together hold more than {MAX_BYTES_OF_A_RUN / 1e6:.0f} MB; measure "
                    "it alone with groundtruth measure",
                )
    return RunBytes(
        description=description,
        files=tuple(source for _, source in files.values()),
        name=default_name(path),
    )


def _fenced(folder: Path, name: str, within: Path, field: str, top: RunTable) -> Path:
    """Where a named file really lies: links are followed."""
    shown = shown_name(name)
    try:
        place = (folder / name).resolve()
        inside = place.is_relative_to(within.resolve())
    except (OSError, ValueError, RuntimeError):
        raise top.error(field, f"{shown}: its name cannot be used") from None
    if not inside:
        raise top.error(
            field,
            f"names {shown}, which lies outside the folder {shown_name(within.resolve())}; "
            "copy it beside the run file",
        )
    return place
