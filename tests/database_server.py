"""A PostgreSQL server with PostGIS for tests, of their own: a new database in a temporary folder.

It listens on a Unix socket in that folder and on no port. Tests that use the fixture `server` are
skipped where no PostGIS is found, but fail when CI is set, so that a missing server cannot make the
checks vanish unnoticed.
"""

from __future__ import annotations

import os
import shutil
import signal
import subprocess
import tempfile
import time
from collections.abc import Iterator, Mapping
from contextlib import contextmanager
from dataclasses import dataclass
from pathlib import Path
from typing import Any

import pytest

SUPERUSER = "postgres"
AS_ROOT = hasattr(os, "geteuid") and os.geteuid() == 0
"""A PostgreSQL server refuses to run as root; it is run as the user that Debian makes for it."""


@dataclass
class Server:
    """A running server: ``folder`` holds its socket and the service file that names its roles."""

    binaries: Path
    folder: Path
    settings: Mapping[str, str]
    process: subprocess.Popen[bytes] | None = None

    @property
    def service_file(self) -> Path:
        """A service for each role, as libpq reads it."""
        return self.folder / "services.conf"

    def add_service(self, name: str, *, database: str, role: str) -> None:
        """Let a client connect to a database as a role by a word."""
        with open(self.service_file, "a", encoding="utf-8") as file:
            file.write(f"[{name}]\nhost={self.folder}\ndbname={database}\nuser={role}\n\n")

    def connect(self, database: str, role: str = SUPERUSER, **options: Any) -> Any:
        """A connection of psycopg in which each statement is a transaction of its own."""
        import psycopg

        return psycopg.connect(
            host=str(self.folder), dbname=database, user=role, autocommit=True, **options
        )

    def start(self) -> None:
        """Start it and wait until it answers."""
        import psycopg

        with open(self.folder / "log", "ab") as log:
            self.process = subprocess.Popen(
                [
                    *_ends_with_us(),
                    str(self.binaries / "postgres"),
                    *("-D", str(self.folder / "data"), "-k", str(self.folder)),
                    *("-c", "listen_addresses="),
                    *(word for pair in self.settings.items() for word in ("-c", "=".join(pair))),
                ],
                stdout=subprocess.DEVNULL,
                stderr=log,
                **_as_another(),
            )
        for _ in range(300):
            try:
                self.connect("postgres").close()
                return
            except psycopg.OperationalError:
                if self.process.poll() is not None:
                    break
                time.sleep(0.1)
        self.stop()
        raise RuntimeError(
            f"PostgreSQL does not start: {(self.folder / 'log').read_text()[-2000:]}"
        )

    def stop(self) -> None:
        """End it at once, as if it had crashed."""
        if self.process and self.process.poll() is None:
            self.process.send_signal(signal.SIGQUIT)
            self.process.wait(timeout=60)


def binaries() -> Path | None:
    """The folder with PostgreSQL's programs, where PostGIS belongs to it too."""
    on_path = shutil.which("postgres")
    folders = [Path(on_path).parent] if on_path else []
    folders += sorted(Path("/usr/lib/postgresql").glob("*/bin"), reverse=True)  # Debian's place
    for folder in folders:
        config = folder / "pg_config"
        if not config.exists():
            share = Path("/usr/share/postgresql") / folder.parent.name
        else:
            asked = subprocess.run([config, "--sharedir"], capture_output=True, text=True)
            share = Path(asked.stdout.strip())
        if (share / "extension" / "postgis.control").exists() and (folder / "initdb").exists():
            return folder
    return None


FOR_TESTS = {"fsync": "off", "autovacuum": "off", "jit": "off", "max_connections": "40"}


@contextmanager
def running(where: Path, settings: Mapping[str, str] = FOR_TESTS) -> Iterator[Server]:
    """A new server, stopped and removed in the end."""
    # a Unix socket's path may have some 100 bytes (sun_path, unix(7)), so no long test's name
    folder = Path(tempfile.mkdtemp(prefix="pg"))
    server = Server(where, folder, settings)
    try:
        if AS_ROOT:
            shutil.chown(folder, SUPERUSER)
        subprocess.run(
            [
                *(str(where / "initdb"), "-D", str(folder / "data"), "-U", SUPERUSER),
                *("-A", "trust", "-E", "UTF8", "--locale=C", "--no-sync"),
            ],
            check=True,
            stdout=subprocess.DEVNULL,
            **_as_another(),
        )
        server.start()
        yield server
    finally:
        server.stop()
        shutil.rmtree(folder, ignore_errors=True)


def _as_another() -> dict[str, Any]:
    return (
        {"user": SUPERUSER, "group": SUPERUSER, "extra_groups": [], "cwd": "/"} if AS_ROOT else {}
    )


def _ends_with_us() -> list[str]:
    """What makes the system end the server should the tests be killed (Linux)."""
    program = shutil.which("setpriv")
    return [program, "--pdeathsig", "QUIT"] if program else []


@pytest.fixture(scope="module")
def server() -> Iterator[Server]:
    """A server for the tests of a module."""
    where = binaries()
    if where is None:
        if os.environ.get("CI"):
            pytest.fail("no PostGIS found; CI must have one")
        pytest.skip("no PostGIS found")
    with running(where) as one:
        yield one
