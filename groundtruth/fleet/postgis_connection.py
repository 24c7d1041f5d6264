"""A connection to a shared record, by a service that libpq knows: no password passes through us."""

from __future__ import annotations

import re
from collections.abc import Iterator
from contextlib import contextmanager
from typing import TYPE_CHECKING, Any

from ..core.errors import InputError
from ..core.safe_text import visible

if TYPE_CHECKING:
    from psycopg import Connection

CONNECT_WITHIN_S = 15
_NAME = re.compile(r"[\w.-]+")
_LOOPBACK = re.compile(r"localhost|127(\.\d{1,3}){3}|::1")
_CHECKED = ("verify-ca", "verify-full")


def driver() -> Any:
    """The package psycopg.

    Raises
    ------
    InputError : it is not installed, or what else a load needs.
    """
    try:
        import psycopg
        import pyarrow  # type: ignore[import-untyped, import-not-found, unused-ignore]  # noqa: F401
    except ImportError as err:
        raise InputError(
            f"a shared record needs the package {err.name}; install it with groundtruth[postgis]"
        ) from err
    return psycopg


@contextmanager
def connected(service: str) -> Iterator[Connection[Any]]:
    """A connection whose work is kept as a whole in the end, or not at all.

    ``service`` is a section of the file PGSERVICEFILE or ~/.pg_service.conf [PostgreSQL
    documentation, "The Connection Service File"]; passwords come from ~/.pgpass or PGPASSFILE.

    Raises
    ------
    InputError : psycopg is not installed, it is no service's name, the server cannot be reached or
        lets nobody in, or others could listen on the way.
    """
    psycopg = driver()
    if not _NAME.fullmatch(service):
        raise InputError(
            "--into takes the name of a service, of which libpq's file holds host, database and "
            "user; passwords belong into ~/.pgpass"
        )
    try:
        opened = psycopg.connect(
            service=service, connect_timeout=CONNECT_WITHIN_S, application_name="groundtruth"
        )
    except psycopg.Error as err:
        raise InputError(f"{service}: cannot be reached ({first_line(err)})") from err
    with opened as db:
        given = db.info.get_parameters()
        if danger := listened_to(db.info.host, given.get("sslmode", "")):
            raise InputError(f"{service}: {danger}")
        yield db


def listened_to(host: str, sslmode: str) -> str:
    """Why others on the way could read or change what is sent, "" where they could not."""
    at_home = not host or host[0] in "/@" or _LOOPBACK.fullmatch(host)
    if at_home or sslmode in _CHECKED:
        return ""
    return (
        f"the way to {visible(host, 80)} is open to others; write sslmode=verify-full and "
        "sslrootcert=FILE into the service"
    )


def first_line(error: Exception) -> str:
    """What a database says, in one line."""
    return visible(str(error).strip().partition("\n")[0], 200)
