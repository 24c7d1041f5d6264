"""Which files a call has opened to read, so that it never writes over one of them."""

from __future__ import annotations

import os
from collections.abc import Iterator
from contextlib import contextmanager
from contextvars import ContextVar
from typing import BinaryIO

_OPENED: ContextVar[set[tuple[int, int]] | None] = ContextVar("opened", default=None)
"""Device and inode of each file, which links of either kind share; None outside a call."""


@contextmanager
def inputs_remembered() -> Iterator[None]:
    """Remember, until the end of the block, which files are read."""
    token = _OPENED.set(set())
    try:
        yield
    finally:
        _OPENED.reset(token)


def remember_input(stream: BinaryIO) -> None:
    """Note an open file as an input of the call, where one is under way."""
    opened = _OPENED.get()
    if opened is not None:
        opened.add(_identity(os.fstat(stream.fileno())))


def is_input(status: os.stat_result) -> bool:
    """Whether the file of this status was read in this call, under whatever name."""
    return _identity(status) in (_OPENED.get() or ())


def _identity(status: os.stat_result) -> tuple[int, int]:
    return status.st_dev, status.st_ino
