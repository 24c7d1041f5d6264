"""Where a scheduler may be: on this computer, or behind TLS on both sides."""

from __future__ import annotations

import ipaddress
import re
from dataclasses import dataclass
from pathlib import Path

from ..core.errors import InputError

_ADDRESS = re.compile(
    r"(?P<scheme>[a-z]+)://(?P<host>\[[0-9a-fA-F:.]+\]|[\w.-]+):(?P<port>\d{1,5})"
)


@dataclass(frozen=True, slots=True, kw_only=True)
class SchedulerAddress:
    """A scheduler that was started beforehand, with the files of TLS where it speaks that.

    Raises
    ------
    InputError : it is no address; it is neither TLS nor on this computer; a file is missing.
    """

    address: str
    tls_ca: Path | None = None
    tls_cert: Path | None = None
    tls_key: Path | None = None

    def __post_init__(self) -> None:
        found = _ADDRESS.fullmatch(self.address)
        if not found or found["scheme"] not in ("tls", "tcp"):
            raise InputError(
                f"--scheduler {self.address}: is no address of a scheduler; write tls://HOST:PORT"
            )
        files = {"--tls-ca": self.tls_ca, "--tls-cert": self.tls_cert, "--tls-key": self.tls_key}
        given = {option: file for option, file in files.items() if file is not None}
        if found["scheme"] == "tcp":
            if not _is_this_computer(found["host"]):
                raise InputError(
                    f"--scheduler {self.address}: whoever reaches a port of Dask can run any "
                    "program there; over a network use tls://HOST:PORT with --tls-ca, --tls-cert "
                    "and --tls-key (docs/many.md)"
                )
            if given:
                raise InputError(f"{next(iter(given))}: belongs to tls://, not to {self.address}")
            return
        for option, file in files.items():
            if file is None:
                raise InputError(
                    f"--scheduler {self.address}: needs {option} FILE too; with --tls-ca, "
                    "--tls-cert and --tls-key both sides show who they are"
                )
            if not file.is_file():
                raise InputError(f"{option} {file}: there is no such file")

    @property
    def encrypted(self) -> bool:
        """Whether it speaks TLS."""
        return self.address.startswith("tls:")


def _is_this_computer(host: str) -> bool:
    if host == "localhost":
        return True
    try:
        return ipaddress.ip_address(host.strip("[]")).is_loopback
    except ValueError:
        return False
