"""Bytes of a damaged XML file made clean enough for expat, with what was repaired counted."""

from __future__ import annotations

import codecs
import re
from collections.abc import Callable, Iterator

from ...core.language import English
from ..decoding import WRONG_BYTE, encoding_of, latin_of

CHUNK = 1 << 16
_CONTROL = re.compile("[\x00-\x08\x0b\x0c\x0e-\x1f\ufffe\uffff\ud800-\udfff]")
_AMPERSAND = re.compile(
    "&(?!(?:amp|lt|gt|quot|apos|#(?:0*(?:9|10|13|3[2-9]|[4-9]\\d|[1-9]\\d{2,4})"
    "|x0*(?:9|[aAdD]|[2-9a-fA-F][0-9a-fA-F]|[1-9a-cA-C][0-9a-fA-F]{2,3})));)"
)
_ONE_BYTE = re.compile(r"iso8859-\d+|cp125\d|koi8-\w")
_LATIN, _CONTROLS, _AMPERSANDS, _HEAD = (
    English("characters that are not UTF-8 read as Windows Latin"),
    English("control character left out"),
    English("bare & read as text"),
    English("characters before the XML declaration left out"),
)
Replacement = str | Callable[[re.Match[str]], str]
_REPAIRS: tuple[tuple[str, re.Pattern[str], Replacement], ...] = (
    (_LATIN, WRONG_BYTE, latin_of),
    (_CONTROLS, _CONTROL, ""),
    (_AMPERSANDS, _AMPERSAND, "&amp;"),
)


class RepairedXml:
    """A file's bytes as clean UTF-8: Latin-1 decoded, control characters and bare & repaired.

    After the `pieces` are through, ``counts`` says how often each repair was needed, and
    ``first_lines`` where first.
    """

    def __init__(self, data: bytes) -> None:
        self._data = data
        self.counts: dict[str, int] = dict.fromkeys((_HEAD, _LATIN, _CONTROLS, _AMPERSANDS), 0)
        self.first_lines = dict.fromkeys(self.counts, 1)
        self._line = 1  # of the text to come

    def pieces(self) -> Iterator[bytes]:
        """Mended pieces, about as long as they were read."""
        encoding = _encoding(self._data[:CHUNK])
        errors = "replace" if encoding.startswith(("utf-16", "utf-32")) else "surrogateescape"
        decoder = codecs.getincrementaldecoder(encoding)(errors)
        held, started = "", False
        for at in range(0, len(self._data) + CHUNK, CHUNK):
            piece = self._data[at : at + CHUNK]
            text = held + decoder.decode(piece, not piece)
            if not started:
                begin = max(text.find("<"), 0)
                started = text[begin : begin + 1] == "<"
                self.counts[_HEAD] += begin > 0 and text[:begin] != "\ufeff"
                self._line += text.count("\n", 0, begin)
                text = text[begin:]
            # an entity may be cut by the end of the piece; the longest is 10 characters
            cut = text.rfind("&", -12) if piece else -1
            held, text = (text[cut:], text[:cut]) if cut >= 0 else ("", text)
            for what, wrong, right in _REPAIRS:
                text = self._repair(text, what, wrong, right)
            self._line += text.count("\n")
            if text:
                yield text.encode()

    def _repair(self, text: str, what: str, wrong: re.Pattern[str], right: Replacement) -> str:
        """The text repaired, with the repairs counted and the line of the first kept."""
        repaired, count = wrong.subn(right, text)
        if count and not self.counts[what] and (first := wrong.search(text)):
            self.first_lines[what] = self._line + text.count("\n", 0, first.start())
        self.counts[what] += count
        return repaired


def _encoding(head: bytes) -> str:
    marked = encoding_of(head)
    if marked:
        return marked
    declared = re.match(rb"\s*<\?xml[^>]*encoding=[\"']([A-Za-z0-9._-]{1,40})[\"']", head)
    try:
        name = codecs.lookup(declared[1].decode()).name if declared else "utf-8"
    except LookupError:
        return "utf-8"
    return name if _ONE_BYTE.fullmatch(name) else "utf-8"
