"""Feed XML to expat in pieces, with guards against files made to do harm, and repair damage.

Refused: a DOCTYPE (so that no entity can expand or point elsewhere), nesting deeper than
64, more than 64 attributes, more than 10,000 different names, a single tag or attribute above 1 MB,
more than 1 MB of text in one element, too many points. A file that stops in the middle keeps what
stood before. A file with characters that XML does not allow is read a second time with them
repaired.
"""

from __future__ import annotations

import re
from collections.abc import Callable, Iterator
from typing import Any, NoReturn, Protocol
from xml.parsers import expat

from ...core.errors import TrackFileError
from ...core.language import English
from ..files import Source
from .raw_fixes import MAX_POINTS, FixColumns, NoTrackError, too_many, too_sparse
from .xml_repair import CHUNK, RepairedXml

MAX_DEPTH = 64
MAX_ATTRIBUTES = 64
MAX_TOKEN = 1 << 20
MAX_NAMES = 10_000
MAX_DOCUMENTS = 1000
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

    __slots__ = ("_lines_before", "_name", "_parser", "pieces")

    def __init__(self, name: str, parser: expat.XMLParserType, lines_before: int) -> None:
        self._name, self._parser, self._lines_before = name, parser, lines_before
        self.pieces: list[str] = []

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
        line = self._parser.CurrentLineNumber + self._lines_before
        raise TrackFileError(f"{what}; no recorder writes such a file", file=self._name, line=line)

    def check(self, fed: int, rows: int) -> None:
        """Look at what one piece of the file has left behind."""
        if rows > MAX_POINTS:
            raise too_many(self._name)
        if fed > FREE_BYTES and fed > BYTES_PER_POINT * rows:
            raise too_sparse(self._name)
        if len(self._parser.intern) > MAX_NAMES:  # each is kept until the end
            self.fail(f"more than {MAX_NAMES:,} names of elements and attributes")
        if fed - self._parser.CurrentByteIndex > MAX_TOKEN:
            self.fail("a single tag or attribute of more than 1 MB")
        if len(self.pieces) > 1 and sum(map(len, self.pieces)) > MAX_TOKEN:
            self.fail("more than 1 MB of text in one element")


class XmlReader(Protocol):
    """What a format gives to `read_xml`: it fills columns from the calls of an XML parser."""

    columns: FixColumns

    def wire(self, parser: expat.XMLParserType, limits: Limits) -> None:
        """Set the parser's element and text handlers."""

    def rows(self) -> int:
        """Rows read so far."""

    def finish(self) -> FixColumns:
        """The columns, after the last byte."""


class _Damaged(Exception):
    """The bytes are not well-formed; where, and what expat says."""


def read_xml(source: Source, reader: Callable[[], XmlReader]) -> FixColumns:
    """Read a file with a fresh reader; if its characters are damaged, once more with them repaired.

    Raises
    ------
    TrackFileError : the file is made to do harm, or nothing can be read from it.
    """
    first = reader()
    data = memoryview(source.data)
    try:
        pieces = (bytes(data[at : at + CHUNK]) for at in range(0, len(data), CHUNK))
        _read_documents(pieces, source.name, first, None)
        return first.finish()
    except _Damaged:
        pass
    second = reader()
    repaired = RepairedXml(source.data)
    tally = second.columns.tally
    try:
        _read_documents(repaired.pieces(), source.name, second, "utf-8")
    except _Damaged as why:
        if not second.rows():
            raise NoTrackError(f"cannot be read as XML: {why}", file=source.name) from None
        tally.repair(
            English("the file is broken there ({why}): what stands before is used", why=str(why)),
            second.rows(),
        )
    for text, count in repaired.counts.items():
        if count:
            tally.repair_of_line(text, repaired.first_lines[text], count)
    return second.finish()


def _read_documents(
    pieces: Iterator[bytes], name: str, reader: XmlReader, encoding: str | None
) -> None:
    """Read a file, which may hold several documents one after the other."""
    rest: bytes | None = b""
    documents = lines = 0
    while rest is not None:
        parser = expat.ParserCreate(encoding)
        parser.buffer_text = True
        limits = Limits(name, parser, lines)
        reader.wire(parser, limits)
        parser.StartDoctypeDeclHandler = _no_doctype(limits)
        documents += 1
        if documents == 2:
            reader.columns.tally.repair(
                English("several documents in one file read one after the other"), reader.rows() + 1
            )
        if documents > MAX_DOCUMENTS:
            limits.fail(f"more than {MAX_DOCUMENTS} documents in one file")
        rest, read = _read_document(parser, limits, pieces, rest, reader, lines)
        lines += read


def _no_doctype(limits: Limits) -> Callable[..., None]:
    def refuse(*_: Any) -> None:
        limits.fail("a DOCTYPE, which may hide harmful entities")

    return refuse


def _read_document(
    parser: expat.XMLParserType,
    limits: Limits,
    pieces: Iterator[bytes],
    piece: bytes,
    reader: XmlReader,
    lines_before: int,
) -> tuple[bytes | None, int]:
    """Read to the end of a document.

    Returned are the bytes that begin the next document, None at the end of the file, and the
    lines of the file before them.
    """
    tally = reader.columns.tally
    fed = 0  # bytes of this document before the piece
    try:
        while True:
            parser.Parse(piece, False)
            fed += len(piece)
            limits.check(fed, reader.rows())
            piece = next(pieces, b"")
            if not piece:
                break
        parser.Parse(b"", True)
    except expat.ExpatError as error:
        left = piece[max(0, parser.ErrorByteIndex - fed) :]
        at_the_end = error.code in _ENDINGS
        too_short = at_the_end and fed < 8 and not reader.rows()
        if not left.strip(b"\0") and (left or at_the_end) and not too_short:
            tally.repair(
                English("the file is cut off there: what stands before is used"), reader.rows()
            )
            return None, 0
        if error.code == _JUNK:
            begin = re.search(rb"<\?xml|<gpx|<kml", left)
            if begin and not left[: begin.start()].strip(b"\0\r\n\t \xef\xbb\xbf"):
                lines = error.lineno - 1 + left.count(b"\n", 0, begin.start())
                return left[begin.start() :], lines
            tally.repair(English("text after the end of the document left out"), reader.rows())
            return None, 0
        line = error.lineno + lines_before
        raise _Damaged(f"{expat.ErrorString(error.code)}, line {line}") from None
    except (LookupError, ValueError) as error:  # expat's words for an encoding it does not know
        if isinstance(error, TrackFileError) or fed:
            raise
        raise _Damaged("unknown character encoding") from None
    return None, 0
