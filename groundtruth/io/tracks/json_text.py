"""JSON files of tracks to Python values: bounded, in any encoding, whole or cut off."""

from __future__ import annotations

import json
import re
from dataclasses import dataclass
from typing import Any

from ...core.errors import TrackFileError
from ...core.safe_text import clean
from ..bounded_json import MAX_MEMORY, memory_of, nested_too_deeply
from ..decoding import decode, first_wrong_line
from ..files import Source
from .raw_fixes import NoTrackError

MAX_JSON_BYTES = 128 << 20
_LIST_OR_NONE = re.compile(r"[\s:]*(\[?)")
_BETWEEN = re.compile(r"[\s,\x1e]*")


@dataclass(frozen=True, slots=True)
class JsonRepair:
    """What had to be repaired: the encoding (a remark, and from which line), and a lost end."""

    remark: str
    line: int
    cut: bool


def read_json(source: Source) -> tuple[Any, JsonRepair]:
    """The document in a file, or what stands whole of it as a list of GeoJSON features.

    Raises
    ------
    TrackFileError : it is no JSON, nested too deeply, or too large to be held.
    """
    name, data = source.name, source.data
    if len(data) > MAX_JSON_BYTES:
        raise TrackFileError(
            f"more than {MAX_JSON_BYTES >> 20} MB of JSON; split the file by days", file=name
        )
    if memory_of(data) > MAX_MEMORY:
        raise TrackFileError(
            "so many values of JSON that they would fill the memory; split the file by days",
            file=name,
        )
    text, remark = decode(data)
    wrong_line = first_wrong_line(data) if remark else 0
    if nested_too_deeply(text):
        raise TrackFileError("JSON nested too deeply; no recorder writes it", file=name)
    try:
        return json.loads(text), JsonRepair(remark, wrong_line, cut=False)
    except ValueError as why:
        features, cut = _whole_features(text)
        if not features:
            reason = str(why).partition(": line")[0]
            line = why.lineno if isinstance(why, json.JSONDecodeError) else None
            raise NoTrackError(
                f"is no whole JSON ({clean(reason)})", file=name, line=line
            ) from None
        return features, JsonRepair(remark, wrong_line, cut)


def _whole_features(text: str) -> tuple[list[Any], bool]:
    """Features that stand whole in a collection or list which breaks off, or one after the other.

    The latter are one for each line, or text sequences [RFC 8142]. The second value says whether
    something that is not whole stands behind them.
    """
    opened = text.find('"features"')
    text = text[opened + len('"features"') :] if opened >= 0 else text
    start = _LIST_OR_NONE.match(text)
    at = start.end() if start else 0
    decoder = json.JSONDecoder()
    features: list[Any] = []
    while True:
        at = _BETWEEN.match(text, at).end()  # type: ignore[union-attr] # it matches nothing too
        if at == len(text):
            return features, bool(start and start[1])
        try:
            feature, at = decoder.raw_decode(text, at)
        except (ValueError, RecursionError):
            return features, True
        if isinstance(feature, dict):
            features.append(feature)
