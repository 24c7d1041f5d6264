"""Why a record cannot be used, in one line that says what to do."""

from __future__ import annotations

import sqlite3
from collections.abc import Iterator
from contextlib import contextmanager
from pathlib import Path

from ..core.errors import InputError
from ..core.safe_text import visible
from ..io.database import FileExchanged

WAYS_OUT = (
    "groundtruth season check says more, season restore puts a sound copy back, season rescue "
    "NEW.gpkg saves what can be read"
)


class SeasonError(InputError):
    """The season's file cannot be used."""


class ValueRefused(sqlite3.DatabaseError):
    """A row holds a value that its column cannot hold, as only damage or another program makes it.

    ``row`` is the row's id, None where even that cannot be told; ``why`` names column and value.
    """

    def __init__(self, table: str, row: int | None, why: str) -> None:
        super().__init__(f"{table}, row {'?' if row is None else row}: {why}")
        self.table, self.row, self.why = table, row, why


def damaged(path: Path | str, what: str = "") -> SeasonError:
    """The refusal of a record whose bytes are not what was written."""
    return SeasonError(f"{path}: is damaged{f' ({what})' if what else ''}; {WAYS_OUT}")


@contextmanager
def translated(path: Path, wait_s: float) -> Iterator[None]:
    """SQLite's refusals in words that say what to do."""
    try:
        yield
    except FileExchanged as err:
        raise SeasonError(
            f"{path}: another file was put in its place meanwhile; nothing was changed, try again"
        ) from err
    except sqlite3.OperationalError as err:
        text = str(err)
        if "locked" in text or "busy" in text:
            raise SeasonError(
                f"{path}: another program has held it for {wait_s:.0f} s; close it there (a map "
                "program that edits?) and try again; nothing was changed"
            ) from err
        if "readonly" in text or "read-only" in text:
            raise SeasonError(
                f"{path}: is read-only; make it writable or choose another with --season"
            ) from err
        if "unable to open" in text:
            raise SeasonError(
                f"{path}: cannot be opened; check the folder and its permissions"
            ) from err
        if "full" in text:
            raise SeasonError(f"{path}: the disk is full; nothing was changed") from err
        if "malformed" in text or "decode" in text:
            raise damaged(path) from err
        raise SeasonError(f"{path}: cannot be used ({text}); {WAYS_OUT}") from err
    except sqlite3.IntegrityError as err:
        raise SeasonError(f"{path}: the record refused this ({err}); nothing was changed") from err
    except ValueRefused as err:
        raise damaged(path, visible(str(err), 200)) from err
    except (sqlite3.DatabaseError, UnicodeDecodeError) as err:
        raise damaged(path) from err  # not even SQLite's message can be read where names are broken
