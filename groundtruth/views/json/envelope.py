"""The JSON documents that commands print."""

from __future__ import annotations

import json
from typing import Any

SCHEMA_VERSION = 1
"""Raised when a key is taken away or changes its meaning; new keys alone do not raise it."""


def json_document(kind: str, body: dict[str, Any]) -> str:
    """A JSON document as text; ``kind`` names what it holds."""
    document = {"tool": "groundtruth", "kind": kind, "schema_version": SCHEMA_VERSION, **body}
    # ASCII: whatever the output's encoding is, and no mark in it turns the reading order
    return json.dumps(_rounded(document), indent=2, ensure_ascii=True, allow_nan=False)


def _rounded(value: Any) -> Any:
    """Numbers to 12 significant digits, so that 24 does not read 24.000000000000004."""
    if isinstance(value, float):
        return float(f"{value:.12g}")
    if isinstance(value, dict):
        return {key: _rounded(entry) for key, entry in value.items()}
    if isinstance(value, list | tuple):
        return [_rounded(entry) for entry in value]
    return value
