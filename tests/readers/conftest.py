"""Small files to read, made here: an invented field at 48.7° N, 7.1° E on 12 May 2026."""

from __future__ import annotations

import pytest


@pytest.fixture
def write(tmp_path):
    """Write a file into a fresh folder and give its path."""

    def write_file(name: str, content: str | bytes):
        path = tmp_path / name
        path.parent.mkdir(parents=True, exist_ok=True)
        path.write_bytes(content.encode() if isinstance(content, str) else content)
        return path

    return write_file
