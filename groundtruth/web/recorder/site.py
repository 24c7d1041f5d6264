"""The files of the recorder's page, and the list by which its service worker keeps them."""

from __future__ import annotations

import json
import os
from collections.abc import Mapping
from dataclasses import dataclass
from hashlib import sha256
from importlib.resources import files
from pathlib import Path

from ...core.errors import InputError
from ...io.writing import hashes, make_folder, sealed, write_all_whole

LIST = "site-files.js"
"""Names what belongs to the page, with a version that changes with any byte of it."""
MANIFEST = "site.json"
"""Names the files with their SHA-256, by which `io.writing` knows them as ours."""
SERVICE_WORKER = "worker.js"


@dataclass(frozen=True, slots=True)
class RecorderSite:
    """The folder that was written, and its files by name."""

    folder: Path
    names: tuple[str, ...]


def recorder_files() -> dict[str, bytes]:
    """All files of the page by name, the list and the manifest among them."""
    pages = {
        entry.name: entry.read_bytes()
        for entry in sorted(files(__package__).joinpath("pages").iterdir(), key=lambda e: e.name)
        if entry.is_file()
    }
    pages[LIST] = _list_of(pages)
    manifest = {"tool": "groundtruth page", "files": hashes(pages)}
    pages[MANIFEST] = sealed(json.dumps(manifest, indent=1)).encode()
    return pages


def _list_of(pages: Mapping[str, bytes]) -> bytes:
    version = sha256()
    for name, content in pages.items():
        version.update(f"{name} {len(content)} ".encode() + content)
    kept = [name for name in pages if name != SERVICE_WORKER]  # browsers keep the worker themselves
    site = {"version": version.hexdigest()[:16], "files": kept}
    return f"self.SITE = {json.dumps(site)};\n".encode()


def write_recorder(folder: str | os.PathLike[str], *, overwrite: bool = False) -> RecorderSite:
    """Write the page into a folder, made if missing, each file whole or not at all.

    Files that an earlier call left and nobody changed are replaced, others only with ``overwrite``.

    Raises
    ------
    InputError : the folder cannot be made or written to, or a file is in the way.
    """
    place = Path(folder)
    try:
        make_folder(place)
    except OSError as error:
        raise InputError(f"{place}: cannot be made ({error.strerror})") from error
    pages = recorder_files()
    write_all_whole({place / name: data for name, data in pages.items()}, overwrite=overwrite)
    return RecorderSite(folder=place, names=tuple(pages))
