"""Write files whole or not at all, and never over what is not ours to replace.

Replaced without a question is only what groundtruth wrote itself and nobody has changed since:

- a page, GPX or JSON file that says so at its head (`MARKS`) and still fits the seal at its end;
- a file whose SHA-256 stands in a manifest of ours in the same folder (`MANIFESTS`), as do the
  tables of an export, the files of a simulated run and those of the recorder's page;
- a file that holds what is to be written already.

Any other file needs ``overwrite``. An input of the same call, a season's record (or any other
SQLite database), a folder, a device or a pipe is refused always. A link stays and its target is
written.
"""

from __future__ import annotations

import contextlib
import json
import os
import re
import secrets
import stat
import time
from collections.abc import Iterable, Mapping
from hashlib import sha256
from pathlib import Path

from ..core.errors import InputError
from ..core.opened import is_input

MARKS = (
    re.compile(rb'<!doctype html>.*?<meta name="generator" content="groundtruth">', re.S),
    re.compile(rb'<\?xml [^>]*>\s*<gpx [^>]*creator="groundtruth"'),
    re.compile(rb'\{\s*("schema_version": \d+,\s*)?"(tool|form)": "groundtruth[ "]'),
)
"""How files that groundtruth wrote begin."""
_SEAL = re.compile(
    rb'(?:<!-- sha256 ([0-9a-f]{64}) -->|,\n "sha256": "([0-9a-f]{64})"\n\})\s*\Z', re.S
)
"""A seal is the SHA-256 of all that stands before it."""
MANIFESTS = ("season.json", "truth.json", "site.json")
"""Files of ours that list others under "files", by name and SHA-256."""
_HEAD_BYTES = 4096
_DATABASE = (b"SQLite format 3\x00", b"\xd9\xd5\x05\xf9\x20\xa1\x63\xd7")
"""A database and its rollback journal [SQLite, "Database File Format", 1.3 and 3]."""
_PART = re.compile(r"\.groundtruth-(\d+)-[0-9a-f]{16}\.part(-journal)?")
_STALE_S = 86_400.0

Content = str | bytes


def write_whole(path: Path | str, content: Content, *, overwrite: bool = False) -> None:
    """Write a file (text as UTF-8) so that a reader finds the old one or the new, never a part.

    Raises
    ------
    InputError : see `check_places`; the folder is missing or not writable, or the disk is full.
    """
    write_all_whole({Path(path): content}, overwrite=overwrite)


def write_all_whole(contents: Mapping[Path, Content], *, overwrite: bool = False) -> None:
    """Write several files: all are first written out beside their places, then all put in place.

    A failure before the first is in place (no room, no permission) leaves every old file as it
    was. Putting in place is one rename a file, in the order given; the system offers no rename of
    several at once, so a crash between two renames leaves some new and some old, each of them
    whole.

    Raises
    ------
    InputError : see `check_places`; a folder is missing or not writable, or the disk is full.
    """
    new = {path: _bytes(content) for path, content in contents.items()}
    places = _checked(new, overwrite=overwrite)
    for folder in {place.parent for place in places.values()}:
        clear_parts(folder)
    waiting: list[tuple[Path, Path]] = []
    try:
        for path, data in new.items():
            waiting.append((_written_beside(path, places[path], data), path))
        for beside, path in waiting:
            try:
                os.replace(beside, places[path])
            except OSError as err:
                raise _refused(path, err) from err
    finally:
        for beside, _ in waiting:
            with contextlib.suppress(OSError):  # the next call clears it away
                beside.unlink()
    for folder in {place.parent for place in places.values()}:
        flush_folder(folder)


def check_places(paths: Iterable[Path], *, overwrite: bool = False) -> None:
    """Refuse, before any work is done, places that may not be written to.

    Raises
    ------
    InputError : a place is an input of this call, a database, a folder, a device or a pipe; or a
        file that groundtruth did not write, or that was changed since, and not ``overwrite``.
    """
    _checked(dict.fromkeys(paths), overwrite=overwrite)


def sealed(text: str) -> str:
    """A page, GPX or JSON text of ours with its seal, by which a change is noticed later."""
    if text.startswith("{"):
        body = text.rstrip().removesuffix("}").rstrip()
        return f'{body},\n "sha256": "{sha256(_bytes(body)).hexdigest()}"\n}}\n'
    return f"{text}<!-- sha256 {sha256(_bytes(text)).hexdigest()} -->\n"


def hashes(contents: Mapping[str, Content]) -> dict[str, str]:
    """The SHA-256 of each file's content, as a manifest lists it under "files"."""
    return {name: sha256(_bytes(content)).hexdigest() for name, content in contents.items()}


def part_beside(path: Path) -> Path:
    """A name beside ``path`` for what is not whole yet; `clear_parts` knows it."""
    return path.parent / f".groundtruth-{os.getpid()}-{secrets.token_hex(8)}.part"


def clear_parts(folder: Path) -> None:
    """Remove what a killed call left half written in a folder."""
    with contextlib.suppress(OSError):
        for entry in list(os.scandir(folder)):
            found = _PART.fullmatch(entry.name)
            if found and not _at_work(int(found[1]), entry):
                with contextlib.suppress(OSError):
                    os.unlink(entry.path)


def flush_folder(folder: Path) -> None:
    """Make renames in a folder last through a power cut, where folders can be flushed."""
    if os.name == "nt":
        return
    with contextlib.suppress(OSError):
        handle = os.open(folder, os.O_RDONLY)
        try:
            os.fsync(handle)
        finally:
            os.close(handle)


def make_folder(folder: Path) -> None:
    """Make a folder, and those above it, so that they last through a power cut.

    Raises
    ------
    OSError : it cannot be made.
    """
    made, missing = [], folder
    while not missing.exists() and missing != missing.parent:
        made.append(missing)
        missing = missing.parent
    folder.mkdir(parents=True, exist_ok=True)
    for new in made:
        flush_folder(new.parent)


def _bytes(content: Content) -> bytes:
    return content.encode("utf-8") if isinstance(content, str) else content


def _checked(contents: Mapping[Path, bytes | None], *, overwrite: bool) -> dict[Path, Path]:
    """Where each file really goes: links are followed."""
    places: dict[Path, Path] = {}
    for path, content in contents.items():
        try:
            place = Path(os.path.realpath(path, strict=path.exists()))
            if place.is_symlink():
                raise OSError("a link that leads to itself")
            status = place.stat() if place.exists() else None
        except (OSError, ValueError) as err:
            raise InputError(f"{path}: cannot be used as a place for a file") from err
        if place in places.values():
            raise InputError(f"{path}: two files are to be written there; is one of them a link?")
        if status is not None:
            _check_old(path, place, status, content, overwrite=overwrite)
        places[path] = place
    return places


def _check_old(
    path: Path, place: Path, status: os.stat_result, content: bytes | None, *, overwrite: bool
) -> None:
    if stat.S_ISDIR(status.st_mode):
        raise InputError(f"{path}: is a folder; a file is to be written there")
    if not stat.S_ISREG(status.st_mode):
        raise InputError(f"{path}: is a device or pipe; name a file to write")
    if is_input(status):
        raise InputError(f"{path}: was read just now and would be lost; write to another file")
    try:
        with open(place, "rb") as file:
            head = file.read(_HEAD_BYTES)
    except OSError as err:
        raise InputError(
            f"{path}: is there already and cannot be read ({err.strerror}); write to another file"
        ) from err
    if head.startswith(_DATABASE):
        raise InputError(f"{path}: is a season's record or a map; write to another file")
    if not overwrite and not _ours(place, head, status, content):
        raise InputError(
            f"{path}: was not written by groundtruth, or was changed since; write to another "
            "place, or replace it with --overwrite"
        )


def _ours(place: Path, head: bytes, status: os.stat_result, content: bytes | None) -> bool:
    if not head:
        return True
    try:
        if any(mark.match(head) for mark in MARKS):
            data = place.read_bytes()
            seal = _SEAL.search(data, max(0, len(data) - 120))
            if seal and sha256(data[: seal.start()]).hexdigest().encode() in seal.groups():
                return True
        if content is not None and status.st_size == len(content) and place.read_bytes() == content:
            return True
        listed = {h for name in MANIFESTS for h in _listed(place.parent / name, place.name)}
        return bool(listed) and sha256(place.read_bytes()).hexdigest() in listed
    except OSError:
        return False


def _listed(manifest: Path, name: str) -> list[str]:
    """The SHA-256 that a manifest of ours gives for a file, if any."""
    try:
        if not manifest.is_file() or manifest.stat().st_size > 1 << 22:
            return []
        data = manifest.read_bytes()
        if not any(mark.match(data[:_HEAD_BYTES]) for mark in MARKS):
            return []
        return [str(json.loads(data)["files"][name])]
    except (OSError, ValueError, KeyError, TypeError, RecursionError):
        return []


def _written_beside(path: Path, place: Path, data: bytes) -> Path:
    beside = part_beside(place)
    try:
        with open(beside, "xb") as file:
            file.write(data)
            file.flush()
            os.fsync(file.fileno())
        with contextlib.suppress(FileNotFoundError):
            beside.chmod(place.stat().st_mode & 0o777)  # a new file's is that of any other
    except BaseException as err:
        with contextlib.suppress(OSError):
            beside.unlink()
        if isinstance(err, OSError):
            raise _refused(path, err) from err
        raise
    return beside


def _at_work(process: int, entry: os.DirEntry[str]) -> bool:
    """Whether the process that makes a part may still run; asking Windows so would end it."""
    try:
        if process == os.getpid():
            return True
        if time.time() - entry.stat().st_mtime > _STALE_S:
            return False
        if os.name != "nt":
            os.kill(process, 0)
    except ProcessLookupError:
        return False
    except (OSError, OverflowError):
        pass
    return True


def _refused(path: Path, err: OSError) -> InputError:
    if isinstance(err, FileNotFoundError):
        reason = "there is no such folder; make it first or choose another"
    elif isinstance(err, PermissionError):
        reason = "the folder cannot be written to; choose another"
    else:
        reason = f"cannot be written ({err.strerror or err})"
    return InputError(f"{path}: {reason}")
