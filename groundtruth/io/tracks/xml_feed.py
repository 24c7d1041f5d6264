"""Feed XML to expat in pieces, with guards against files made to do harm, and mend damage.

Refused: a DOCTYPE (so that no entity can expand or point elsewhere), nesting deeper than
64, more than 64 attributes, a single tag or attribute above 1 MB, more than 1 MB of text in one
element, too many points. A file that stops in the middle keeps what stood before. A file with
characters that XML does not allow is read a second time with them mended.
"""

from __future__ import annotations

import re
from collections.abc import Callable, Iterator
from typing import Any, BinaryIO, NoReturn, Protocol
from xml.parsers import expat

from ...core.errors import TrackFileError
from .raw_fixes import MAX_POINTS, Columns, NoTrackError, too_many, too_sparse
from .xml_repair import CHUNK, Mender

MAX_DEPTH = 64
MAX_ATTRIBUTES = 64
MAX_TOKEN = 1 << 20
FREE_BYTES = 16 << 20
BYTES_PER_POINT = 5000
"""Beyond 16 MB a file must hold a point for so many bytes; the wordiest recorders need 1000."""
_ENDINGS = frozenset(
    expat.errors.codes[getattr(expat.errors, name)]
    for name in (
        "XML_ERROR_NO_ELEMENTS",
        "XML_ERROR_UNCLOSED_TOKEN",
        "XML_ERROR_PARTIAL_CHAR",
        "XML_ERROR_UNCLOSED_CDATA_SECTION",
    )
)
_JUNK = expat.errors.codes[expat.errors.XML_ERROR_JUNK_AFTER_DOC_ELEMENT]


class Limits:
    """The guards' state that handlers share with the feeding loop.

    ``pieces`` collects the text of the element being read; handlers empty it at every tag.
    """

    __slots__ = ("_name", "_parser", "feed", "pieces")

    def __init__(self, name: str, parser: expat.XMLParserType) -> None:
        self._name, self._parser = name, parser
        self.pieces: list[str] = []
        self.feed: Feed | None = None

    def refuse(self, depth: int) -> NoReturn:
        """Raise for nesting or attributes beyond the limits."""
        what = (
            f"elements nested deeper than {MAX_DEPTH}"
            if depth > MAX_DEPTH
            else f"an element with more than {MAX_ATTRIBUTES} attributes"
        )
        self.fail(what)

    def fail(self, what: str) -> NoReturn:
        """Raise for something that no track recorder writes."""
        line = self._parser.CurrentLineNumber + (self.feed.lines if self.feed else 0)
        raise TrackFileError(f"{self._name}, line {line}: {what}; no recorder writes such a file")

    def check(self, fed: int, rows: int) -> None:
        """Look at what one piece of the file has left behind."""
        if rows > MAX_POINTS:
            raise too_many(self._name)
        if fed > FREE_BYTES and fed > BYTES_PER_POINT * rows:
            raise too_sparse(self._name)
        if fed - self._parser.CurrentByteIndex > MAX_TOKEN:
            self.fail("a single tag or attribute of more than 1 MB")
        if len(self.pieces) > 1 and sum(map(len, self.pieces)) > MAX_TOKEN:
            self.fail("more than 1 MB of text in one element")


class Feed:
    """Bytes on their way to expat, of which a format may take some itself.

    ``fed`` counts the bytes given to expat; ``last`` is the piece given to it last, which began at
    ``last_at`` of ``fed`` and at ``offset`` in ``piece``.
    """

    __slots__ = ("fed", "last", "last_at", "lines", "offset", "parser", "piece")

    def __init__(self, parser: expat.XMLParserType) -> None:
        self.parser = parser
        self.fed = self.last_at = self.offset = self.lines = 0
        self.last = self.piece = b""

    def give(self, data: bytes, offset: int = 0) -> None:
        """Give bytes to expat; they stand at ``offset`` in the piece read from the file."""
        self.last, self.last_at, self.offset = data, self.fed, offset
        self.parser.Parse(data, False)
        self.fed += len(data)

    def skip(self, lines: int) -> None:
        """Count lines that expat does not see."""
        self.lines += lines

    def left(self) -> bytes:
        """After an error: the bytes from its place to the end of the piece."""
        begin = max(0, self.parser.ErrorByteIndex - self.last_at)
        return self.piece[self.offset + begin :] if begin <= len(self.last) else b""


class XmlReader(Protocol):
    """What a format gives to `drive`."""

    columns: Columns

    def wire(self, parser: expat.XMLParserType, limits: Limits) -> None:
        """Set the parser's element and text handlers."""

    def take(self, feed: Feed, piece: bytes) -> None:
        """Read a piece of the file: ``feed.give(piece)``, or better."""

    def rows(self) -> int:
        """Rows read so far."""

    def finish(self) -> Columns:
        """The columns, after the last byte."""


class _Damaged(Exception):
    """The bytes are not well-formed; where, and what expat says."""


def drive(
    open_stream: Callable[[], BinaryIO], name: str, reader: Callable[[], XmlReader]
) -> Columns:
    """Read a file with a fresh reader; if its characters are damaged, once more with them mended.

    Raises
    ------
    TrackFileError : the file is made to do harm, or nothing can be read from it.
    """
    first = reader()
    try:
        with open_stream() as stream:
            _feed(iter(lambda: stream.read(CHUNK), b""), name, first, None)
        return first.finish()
    except _Damaged:
        pass
    second = reader()
    with open_stream() as stream:
        mended = Mender(stream)
        try:
            _feed(mended.pieces(), name, second, "utf-8")
        except _Damaged as why:
            if not second.rows():
                raise NoTrackError(f"{name}: cannot be read as XML: {why}") from None
            second.columns.tally.repair(
                f"the file is broken there ({why}): what stands before is used", second.rows()
            )
        for text, count in mended.counts.items():
            if count:
                second.columns.tally.repair_of_line(text, mended.first_lines[text], count)
    return second.finish()


def _no_doctype(limits: Limits) -> Callable[..., None]:
    def refuse(*_: Any) -> None:
        limits.fail("a DOCTYPE, which may hide harmful entities")

    return refuse


def _feed(pieces: Iterator[bytes], name: str, reader: XmlReader, encoding: str | None) -> None:
    """Feed one file, which may hold several documents one after the other."""
    rest: bytes = b""
    documents = 0
    while True:
        parser = expat.ParserCreate(encoding)
        parser.buffer_text = True
        limits = Limits(name, parser)
        reader.wire(parser, limits)
        parser.StartDoctypeDeclHandler = _no_doctype(limits)
        following = _one_document(parser, limits, pieces, rest, reader)
        documents += 1
        if following is None:
            return
        rest = following
        if documents == 1:
            reader.columns.tally.repair(
                "several documents in one file read one after the other", reader.rows() + 1
            )
        if documents > 1000:
            limits.fail("more than 1000 documents in one file")


def _one_document(
    parser: expat.XMLParserType,
    limits: Limits,
    pieces: Iterator[bytes],
    rest: bytes,
    reader: XmlReader,
) -> bytes | None:
    """Read to the end of a document; the bytes that begin the next one, or None."""
    feed = Feed(parser)
    limits.feed = feed
    piece = rest
    tally = reader.columns.tally
    try:
        while True:
            if piece:
                feed.piece = piece
                reader.take(feed, piece)
                limits.check(feed.fed, reader.rows())
            piece = next(pieces, b"")
            if not piece:
                break
        feed.last = feed.piece = b""
        feed.last_at = feed.fed
        parser.Parse(b"", True)
    except expat.ExpatError as error:
        left = feed.left()
        if not left.strip(b"\0") and (piece or feed.fed):
            text = "the file is cut off there: what stands before is used"
            if error.code in _ENDINGS or left:
                if not reader.rows() and error.code in _ENDINGS and feed.fed + len(piece) < 8:
                    raise _Damaged(str(error)) from None
                tally.repair(text, reader.rows())
                return None
        if error.code == _JUNK:
            begin = re.search(rb"<\?xml|<gpx|<kml", left)
            if begin and not left[: begin.start()].strip(b"\0\r\n\t \xef\xbb\xbf"):
                return left[begin.start() :]
            tally.repair("text after the end of the document left out", reader.rows())
            return None
        raise _Damaged(
            f"{expat.ErrorString(error.code)}, line {error.lineno + feed.lines}"
        ) from None
    except (LookupError, ValueError) as error:  # expat's words for an encoding it does not know
        if isinstance(error, TrackFileError) or feed.fed:
            raise
        raise _Damaged("unknown character encoding") from None
    return None
