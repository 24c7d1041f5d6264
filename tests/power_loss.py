"""What a disk may hold after the power went: replayed from the writes and syncs of a real process.

A process is traced with strace. Every write, rename, removal and sync within one folder goes into
a model of a disk that keeps nothing for sure until it is synced: of what was not, any sectors of
512 bytes may have arrived or not, in any order, a longer file may hold zeros where nothing
arrived, and names may be made, moved or removed or not (those of one name in order). This is more
than ext4, APFS or NTFS allow themselves; a folder's names last only once the folder is synced
[POSIX.1-2017, fsync, rationale; T. S. Pillai et al. 2014, "All file systems are not created equal",
OSDI, from memory].
"""

from __future__ import annotations

import os
import random
import re
import shutil
import subprocess
from collections.abc import Iterator
from dataclasses import dataclass, field
from pathlib import Path

SECTOR = 512
_CALLS = (
    "openat,open,creat,close,dup,dup2,dup3,fcntl,write,pwrite64,writev,pwritev,pwritev2,lseek,"
    "fsync,fdatasync,rename,renameat,renameat2,link,linkat,unlink,unlinkat,ftruncate,truncate,"
    "mkdir,mkdirat,rmdir,fallocate,sendfile,copy_file_range,msync,sync_file_range,io_uring_setup"
)
_LINE = re.compile(r"(?:\d+ +)?(\w+)\((.*)\) += (-?\d+)")
_TEXT = re.compile(r'"((?:\\x[0-9a-f]{2})*)"(?:\.\.\.)?')


def available() -> bool:
    """Whether processes can be traced here."""
    strace = shutil.which("strace")
    return (
        bool(strace)
        and not subprocess.run(
            [strace, "-o", os.devnull, "true"], capture_output=True, check=False
        ).returncode
    )


def traced(words: list[str], trace: Path, **options: object) -> None:
    """Run a command and write down its system calls."""
    subprocess.run(
        ["strace", "-f", "-xx", "-s", str(1 << 26), "-e", f"trace={_CALLS}", "-e", "signal=none",
         "-o", str(trace), *words],
        check=True, **options,
    )  # fmt: skip


@dataclass(eq=False)
class Inode:
    """A file: as processes see it, as it lasts, and what was written since it was synced."""

    live: bytearray = field(default_factory=bytearray)
    lasting: bytes = b""
    pending: list[tuple[int, bytes | None]] = field(default_factory=list)
    """(offset, bytes), or (size, None) where it was cut or grown."""

    def write(self, at: int, data: bytes) -> None:
        _put(self.live, at, data)
        self.pending.append((at, bytes(data)))

    def resize(self, size: int) -> None:
        _resize(self.live, size)
        self.pending.append((size, None))

    def sync(self) -> None:
        self.lasting = bytes(self.live)
        self.pending.clear()

    def after_loss(self, rng: random.Random) -> bytes:
        """One of the contents that it may have."""
        chance = rng.choice((0.0, 0.1, 0.5, 0.9, 1.0))
        upto = rng.randint(0, len(self.pending)) if rng.random() < 0.5 else len(self.pending)
        data = bytearray(self.lasting)
        for at, written in self.pending[:upto]:
            if written is None:
                if rng.random() < chance:
                    _resize(data, at)
                continue
            start = at
            while start < at + len(written):
                end = min((start // SECTOR + 1) * SECTOR, at + len(written))
                if rng.random() < chance:
                    _put(data, start, written[start - at : end - at])
                start = end
            if len(data) < at + len(written) and rng.random() < chance:
                _resize(data, at + len(written))  # the length arrived, the bytes did not
        return bytes(data)


def _put(data: bytearray, at: int, piece: bytes) -> None:
    if len(data) < at:
        data.extend(bytes(at - len(data)))
    data[at : at + len(piece)] = piece


def _resize(data: bytearray, size: int) -> None:
    del data[size:]
    data.extend(bytes(size - len(data)))


Name = tuple[str, Inode | None]
"""A name and the file that it stands for then, None where there is none; "" content for folders."""


@dataclass
class Disk:
    """The files below one folder, as they are and as they last."""

    root: str
    live: dict[str, Inode] = field(default_factory=dict)
    lasting: dict[str, Inode] = field(default_factory=dict)
    folders: set[str] = field(default_factory=set)
    lasting_folders: set[str] = field(default_factory=set)
    pending: list[tuple[Name, ...]] = field(default_factory=list)
    made: list[str] = field(default_factory=list)
    """Folders that were made and whose name may not last yet."""

    def change(self, *names: Name) -> None:
        for path, inode in names:
            if inode is None:
                self.live.pop(path, None)
            else:
                self.live[path] = inode
        self.pending.append(names)

    def make_folder(self, path: str) -> None:
        self.folders.add(path)
        self.made.append(path)

    def sync_folder(self, folder: str) -> None:
        kept = []
        for names in self.pending:
            if any(os.path.dirname(path) == folder for path, _ in names):
                for path, inode in names:
                    _set(self.lasting, path, inode)
            else:
                kept.append(names)
        self.pending = kept
        for path in [p for p in self.made if os.path.dirname(p) == folder]:
            self.made.remove(path)
            self.lasting_folders.add(path)

    def after_loss(self, rng: random.Random, place: Path) -> None:
        """Write one of the states that may be found into a new folder."""
        chance = rng.choice((0.0, 0.5, 0.9, 1.0))
        names, lost = dict(self.lasting), set[str]()
        for change in self.pending:
            if any(path in lost for path, _ in change) or rng.random() >= chance:
                lost.update(path for path, _ in change)
                continue
            for path, inode in change:
                _set(names, path, inode)
        gone = [path for path in self.made if rng.random() >= chance]
        contents = {id(inode): inode.after_loss(rng) for inode in names.values()}
        self._write(place, names, contents, gone)

    def as_seen(self, place: Path) -> None:
        """Write the state that processes see into a new folder."""
        contents = {id(inode): bytes(inode.live) for inode in self.live.values()}
        self._write(place, self.live, contents, [])

    def _write(
        self, place: Path, names: dict[str, Inode], contents: dict[int, bytes], gone: list[str]
    ) -> None:
        def lost(path: str) -> bool:
            return any(path == folder or path.startswith(folder + "/") for folder in gone)

        place.mkdir(parents=True)
        for folder in sorted(self.folders):
            if not lost(folder):
                (place / os.path.relpath(folder, self.root)).mkdir(parents=True, exist_ok=True)
        for path, inode in names.items():
            if not lost(path):
                file = place / os.path.relpath(path, self.root)
                file.parent.mkdir(parents=True, exist_ok=True)
                file.write_bytes(contents[id(inode)])


def _set(names: dict[str, Inode], path: str, inode: Inode | None) -> None:
    if inode is None:
        names.pop(path, None)
    else:
        names[path] = inode


@dataclass
class _Open:
    inode: Inode | None
    folder: str
    at: int = 0
    append: bool = False


def replay(trace: Path, root: Path) -> Iterator[tuple[Disk, bytes]]:
    """The disk after each call that changed it, and what the call wrote to standard output.

    The same disk is given again and again. A call that this model does not know is an error, so
    that no write passes it by.
    """
    disk = Disk(str(root))
    files: dict[int, _Open] = {}
    for line in trace.read_text(encoding="ascii").splitlines():
        assert "unfinished" not in line or "exit" in line, f"two threads write: {line[:200]}"
        match = _LINE.search(line)
        if match is None:
            continue
        call, arguments, result = match[1], match[2], int(match[3])
        if result < 0:
            continue
        texts = [bytes.fromhex(t.replace("\\x", "")) for t in _TEXT.findall(arguments)]
        words = [w.strip() for w in _TEXT.sub("", arguments).split(",")]
        said = _apply(disk, files, call, texts, words, result, arguments)
        if said is not None:
            yield disk, said


def _inside(disk: Disk, path: bytes) -> str | None:
    text = os.path.normpath(os.fsdecode(path))
    return text if text == disk.root or text.startswith(disk.root + "/") else None


def _apply(
    disk: Disk,
    files: dict[int, _Open],
    call: str,
    texts: list[bytes],
    words: list[str],
    result: int,
    arguments: str,
) -> bytes | None:
    """Apply a call; None where it changed nothing that is looked at."""
    if call in ("openat", "open", "creat"):
        files.pop(result, None)
        path = _inside(disk, texts[0])
        if path is None:
            return None
        if path in disk.folders or path == disk.root or "O_DIRECTORY" in arguments:
            files[result] = _Open(None, path)
            return None
        inode, is_new = disk.live.get(path), False
        if inode is None:
            assert "O_CREAT" in arguments, f"{path} was not there"
            inode, is_new = Inode(), True
            disk.change((path, inode))
        files[result] = _Open(inode, "", append="O_APPEND" in arguments)
        if "O_TRUNC" in arguments and inode.live:
            inode.resize(0)
            is_new = True
        return b"" if is_new else None
    if call == "close":
        files.pop(int(words[0]), None)
        return None
    if call in ("dup", "dup2", "dup3") or (call == "fcntl" and "F_DUPFD" in arguments):
        if int(words[0]) in files:
            files[result] = files[int(words[0])]
        return None
    if call == "fcntl":
        return None
    if call in ("write", "pwrite64") and int(words[0]) == 1:
        return texts[0]
    handle = files.get(int(words[0])) if words[0].isdigit() else None
    if call in ("write", "pwrite64", "lseek", "fsync", "fdatasync", "ftruncate"):
        if handle is None:
            return None
        return _apply_to_file(disk, handle, call, texts, words, result)
    if call in ("sendfile", "copy_file_range"):
        source, target = (0, 2) if call == "copy_file_range" else (1, 0)
        read, written = files.get(int(words[source])), files.get(int(words[target]))
        if read is None or written is None:
            assert written is None, "copied from outside"
            return None
        assert read.inode is not None
        assert written.inode is not None
        given = re.search(r"\[(\d+)\]", arguments)  # where to read, else where it stands
        start = int(given[1]) if given else read.at
        written.inode.write(written.at, bytes(read.inode.live[start : start + result]))
        written.at += result
        read.at += 0 if given else result
        return b""
    assert handle is None, f"an unknown call: {call}"
    paths = [_inside(disk, text) for text in texts]
    if not any(paths):
        return None
    assert all(paths), f"a name from outside: {texts}"
    first = str(paths[0])
    if call in ("rename", "renameat", "renameat2"):
        disk.change((str(paths[1]), disk.live[first]), (first, None))
    elif call in ("link", "linkat"):
        disk.change((str(paths[1]), disk.live[first]))
    elif call in ("unlink", "unlinkat"):
        disk.change((first, None))
    elif call in ("mkdir", "mkdirat"):
        disk.make_folder(first)
    else:
        raise AssertionError(f"an unknown call: {call}")
    return b""


def _apply_to_file(
    disk: Disk, handle: _Open, call: str, texts: list[bytes], words: list[str], result: int
) -> bytes | None:
    inode = handle.inode
    if call in ("fsync", "fdatasync"):
        if inode is None:
            disk.sync_folder(handle.folder)
        else:
            inode.sync()
        return b""
    if inode is None:
        return None
    if call == "lseek":
        handle.at = result
        return None
    if call == "ftruncate":
        inode.resize(int(words[1]))
        return b""
    assert len(texts[0]) >= result
    data = texts[0][:result]
    if call == "pwrite64":
        inode.write(int(words[-1]), data)
    else:
        at = len(inode.live) if handle.append else handle.at
        inode.write(at, data)
        handle.at = at + len(data)
    return b""
