"""Bytes of a damaged XML file made clean enough for expat, with what was mended counted."""

from __future__ import annotations

import codecs
import re
from collections.abc import Iterator
from typing import BinaryIO

from ..decoding import decode_latin, encoding_of

CHUNK = 1 << 16
_CONTROL = re.compile("[\x00-\x08\x0b\x0c\x0e-\x1f\ufffe\uffff\ud800-\udfff]")
_AMPERSAND = re.compile(
    "&(?!(?:amp|lt|gt|quot|apos|#(?:0*(?:9|10|13|3[2-9]|[4-9]\\d|[1-9]\\d{2,4})"
    "|x0*(?:9|[aAdD]|[2-9a-fA-F][0-9a-fA-F]|[1-9a-cA-C][0-9a-fA-F]{2,3})));)"
)
_ONE_BYTE = re.compile(r"iso8859-\d+|cp125\d|koi8-\w")
_LATIN, _CONTROLS, _AMPERSANDS, _HEAD = (
    "characters that are not UTF-8 read as Windows Latin",
    "control character left out",
    "bare & read as text",
    "characters before the XML declaration left out",
)


class Mender:
    """The file's bytes as clean UTF-8: Latin-1 decoded, control characters and bare & mended."""

    def __init__(self, stream: BinaryIO) -> None:
        self._stream = stream
        self.counts = dict.fromkeys((_HEAD, _LATIN, _CONTROLS, _AMPERSANDS), 0)
        self.first_lines = dict.fromkeys(self.counts, 1)
        self._line = 1  # of the text to come
        self._decoded = 1  # of the bytes to come

    def pieces(self) -> Iterator[bytes]:
        """Mended pieces, about as long as they were read."""
        head = self._stream.read(CHUNK)
        decoder = codecs.getincrementaldecoder(self._encoding(head))("strict")
        codecs.register_error("groundtruth-mender", self._latin)
        decoder.errors = "groundtruth-mender"
        held, started, piece = "", False, head
        while True:
            fresh = decoder.decode(piece, not piece)
            self._decoded += fresh.count("\n")
            text = held + fresh
            if not started:
                begin = text.find("<")
                if begin > 0 and text[:begin] != "\ufeff":
                    self.counts[_HEAD] += 1
                self._line += text.count("\n", 0, max(begin, 0))
                text, started = text[max(begin, 0) :], begin >= 0
            # an entity may be cut by the end of the piece; the longest is 10 characters
            cut = text.rfind("&", -12) if piece else -1
            held, text = (text[cut:], text[:cut]) if cut >= 0 else ("", text)
            text = self._mend(text, _CONTROL, "", _CONTROLS)
            text = self._mend(text, _AMPERSAND, "&amp;", _AMPERSANDS)
            self._line += text.count("\n")
            if text:
                yield text.encode()
            if not piece:
                return
            piece = self._stream.read(CHUNK)

    def _mend(self, text: str, wrong: re.Pattern[str], right: str, what: str) -> str:
        mended, count = wrong.subn(right, text)
        if count:
            if not self.counts[what] and (first := wrong.search(text)):
                self.first_lines[what] = self._line + text.count("\n", 0, first.start())
            self.counts[what] += count
        return mended

    def _latin(self, error: UnicodeError) -> tuple[str, int]:
        if not isinstance(error, UnicodeDecodeError):
            raise error
        if not self.counts[_LATIN]:
            before = error.object[: error.start]
            self.first_lines[_LATIN] = self._decoded + before.count(b"\n")
        self.counts[_LATIN] += error.end - error.start
        return decode_latin(error.object[error.start : error.end]), error.end

    @staticmethod
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
