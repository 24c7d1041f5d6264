"""The desk: what is being worked on, kept on disk as it is typed, and where runs are saved."""

from __future__ import annotations

import json
import re
import secrets
import threading
from base64 import b64decode, b64encode
from dataclasses import dataclass, field
from pathlib import Path
from typing import Any

from ...core.errors import InputError
from ...core.safe_text import clean
from ...io.files import Source, load
from ...io.writing import make_folder, write_all_whole, write_whole

_DRAFT, _FILES, _BACKDROP = "draft.json", "files.json", "backdrop.json"
_MOST_FILES = 40
_FORM = "groundtruth page"
_NAME = re.compile(r"[0-9a-f]{16}")


class StaleDraftError(InputError):
    """The draft was changed elsewhere since it was last read here."""


@dataclass(frozen=True, slots=True)
class KeptFile:
    """A file that was dropped on the page: under which name it lies on the desk, and its own."""

    key: str
    name: str
    size: int


@dataclass(slots=True)
class Desk:
    """A folder of ours that holds one run in the making. Names in it are all our own.

    ``saved`` is where finished runs go, each into a folder of its own.
    """

    folder: Path
    saved: Path
    _lock: threading.RLock = field(default_factory=threading.RLock, repr=False)

    def open(self) -> None:
        """Make the folder, readable by its owner only.

        Raises
        ------
        InputError : it cannot be made.
        """
        try:
            make_folder(self.folder)
            self.folder.chmod(0o700)
        except OSError as error:
            raise InputError(f"{self.folder}: cannot be made ({error.strerror})") from error

    def draft(self) -> dict[str, Any]:
        """The revision and state as last kept; revision 0 where nothing is."""
        with self._lock:
            kept = self._read(_DRAFT)
            if isinstance(kept.get("revision"), int) and isinstance(kept.get("state"), dict):
                return {"revision": kept["revision"], "state": kept["state"]}
            return {"revision": 0, "state": {}}

    def keep(self, state: dict[str, Any], revision: int) -> int:
        """Keep what is typed; ``revision`` is the one it was typed over. Returns the new one.

        Raises
        ------
        StaleDraftError : another window kept something since.
        """
        with self._lock:
            now = int(self.draft()["revision"])
            if revision != now:
                raise StaleDraftError("changed in another window; reload to go on there")
            self._write(_DRAFT, {"revision": now + 1, "state": state})
            return now + 1

    def files(self) -> tuple[KeptFile, ...]:
        """The files on the desk in the order in which they came."""
        with self._lock:
            found = []
            for entry in self._read(_FILES).get("files", []):
                if isinstance(entry, dict) and _NAME.fullmatch(str(entry.get("key"))):
                    size = entry.get("size", 0)
                    name = Source(str(entry.get("name")), b"").name
                    found.append(KeptFile(entry["key"], name, int(size)))
            return tuple(found)

    def add(self, source: Source) -> KeptFile:
        """Keep a file under a name of our own.

        Raises
        ------
        InputError : there are too many already, or it cannot be written.
        """
        with self._lock:
            files = self.files()
            if len(files) >= _MOST_FILES:
                raise InputError(f"{_MOST_FILES} files lie here already; remove some first")
            name = _name_apart(source.name, {f.name for f in files})
            kept = KeptFile(secrets.token_hex(8), name, len(source.data))
            write_whole(self.folder / kept.key, source.data)
            self._write_files((*files, kept))
            return kept

    def remove(self, key: str) -> None:
        """Take a file off the desk; nothing happens where there is none of that key."""
        with self._lock:
            files = self.files()
            if any(f.key == key for f in files):
                self._write_files(tuple(f for f in files if f.key != key))
                (self.folder / key).unlink(missing_ok=True)

    def source(self, key: str) -> Source:
        """A file on the desk under its own name.

        Raises
        ------
        InputError : there is none of that key.
        """
        kept = next((f for f in self.files() if f.key == key), None)
        if kept is None:
            raise InputError("this file is gone; add it again")
        held = load(self.folder / kept.key, error=InputError, what="file", limit=1 << 30)
        return Source(kept.name, held.data)

    def keep_backdrop(self, source: Source) -> None:
        """Keep what stands behind the maps of all runs, in place of what stood there."""
        with self._lock:
            text = b64encode(source.data).decode()
            self._write(_BACKDROP, {"name": source.name, "data": text})

    def backdrop(self) -> Source | None:
        """What stands behind the maps, None where nothing does."""
        with self._lock:
            kept = self._read(_BACKDROP)
            try:
                return Source(str(kept["name"]), b64decode(str(kept["data"]), validate=True))
            except (KeyError, ValueError):
                return None

    def remove_backdrop(self) -> None:
        """Let nothing stand behind the maps."""
        with self._lock:
            (self.folder / _BACKDROP).unlink(missing_ok=True)

    def clear(self) -> None:
        """Take all files off the desk, and forget where the run was saved."""
        for kept in self.files():
            self.remove(kept.key)
        self._write_files((), saved_as="")

    def save(self, name: str, contents: dict[str, str | bytes]) -> Path:
        """Write a finished run into a folder called ``name``; the same run again into the same.

        Raises
        ------
        InputError : it cannot be written there.
        """
        with self._lock:
            before = str(self._read(_FILES).get("saved_as", ""))
            plain = re.sub(r"[^\w-]+", "-", clean(name, 60)).strip("-_") or "run"
            again = before == plain or re.fullmatch(re.escape(plain) + r"-\d+", before)
            own = before if again and (self.saved / before).is_dir() else self._free(plain)
            folder = self.saved / own
            try:
                make_folder(folder)
            except OSError as error:
                raise InputError(f"{folder}: cannot be made ({error.strerror})") from error
            write_all_whole({folder / n: c for n, c in contents.items()}, overwrite=True)
            self._write_files(self.files(), saved_as=own)
            return folder

    def _free(self, plain: str) -> str:
        number, name = 1, plain
        while (self.saved / name).exists():
            number += 1
            name = f"{plain}-{number}"
        return name

    def _write_files(self, files: tuple[KeptFile, ...], saved_as: str | None = None) -> None:
        if saved_as is None:
            saved_as = str(self._read(_FILES).get("saved_as", ""))
        listed = [{"key": f.key, "name": f.name, "size": f.size} for f in files]
        self._write(_FILES, {"files": listed, "saved_as": saved_as})

    def _read(self, name: str) -> dict[str, Any]:
        try:
            found = json.loads((self.folder / name).read_bytes())
        except (OSError, ValueError, RecursionError):
            return {}
        return found if isinstance(found, dict) and found.get("form") == _FORM else {}

    def _write(self, name: str, content: dict[str, Any]) -> None:
        text = json.dumps({"form": _FORM, **content}, allow_nan=False)
        write_whole(self.folder / name, text, overwrite=True)


def _name_apart(name: str, taken: set[str]) -> str:
    """The name, made to differ from those that are taken."""
    path, number, found = Path(name), 1, name
    while found in taken:
        number += 1
        found = f"{path.stem}-{number}{path.suffix}"
    return found
