"""Read runs of GPX points that are built alike by one pattern, learnt from a point just parsed.

A recorder writes all its points to one shape. Once expat has parsed a point, its own bytes give a
pattern: the same tags letter by letter, the numbers in between free. Where expat stands right
behind a point's end tag, text that the pattern matches from there on is a sequence of whole,
well-formed points, as the free parts can hold no markup and no entity; so they need not be given
to expat, and are read several times faster. Whatever does not match goes to expat as before.
"""

from __future__ import annotations

import re
from collections.abc import Callable
from dataclasses import dataclass

OPENING = re.compile(r"<(?:[\w.-]+:)?trkpt\b", re.A)
CLOSING = re.compile(r"</(?:[\w.-]+:)?trkpt>", re.A)
MAX_POINT = 4000  # characters of one point
_PIECE = re.compile(r"<[^<>]*>|[^<>]+")
_FREE = r"[\t\n\r -%'-;=?-~]*"  # printable ASCII without <, > and &
_NUMBER = r"([-+]?\d{1,3}(?:\.\d{0,20})?)"
_TAG = re.compile(r"<(?:[\w.-]+:)?trkpt((?:\s+[\w:.-]+\s*=\s*(?:\"[^\"]*\"|'[^']*'))*)\s*>", re.A)
_ATTRIBUTE = re.compile(r"\s+([\w:.-]+)\s*=\s*[\"']([^\"']*)[\"']", re.A)


@dataclass(frozen=True, slots=True)
class Shape:
    """A point's pattern; ``fields`` are the codes of what its groups hold, in order."""

    match: Callable[[str, int], re.Match[str] | None]
    fields: tuple[str | int, ...]


def learn(point: str, code_of: Callable[[str], int], wanted: frozenset[int]) -> Shape | None:
    """The shape of a parsed point (from its opening to behind its end tag), or None.

    ``code_of`` tells a tag's meaning; text of tags whose code is ``wanted`` becomes a group.
    """
    if len(point) > MAX_POINT or not point.isascii() or "<!" in point or "<?" in point:
        return None
    pieces = _PIECE.findall(point)
    if "".join(pieces) != point or len(OPENING.findall(point)) != 1:
        return None
    fields: list[str | int] = []
    pattern = [r"\s*"]
    for place, piece in enumerate(pieces):
        if place == 0:
            opened = _opening(piece, fields)
            if opened is None:
                return None
            pattern.append(opened)
        elif piece.startswith("<"):
            # a field that holds nothing, or other elements, has no text of its own to take
            code = 0 if piece.startswith("</") or piece.endswith("/>") else code_of(_name(piece))
            follows = pieces[place + 1] if place + 1 < len(pieces) else ""
            then = pieces[place + 2] if place + 2 < len(pieces) else ""
            pattern.append(re.escape(piece))
            if code in wanted:
                if follows.startswith("<") or not then.startswith("</"):
                    return None
                fields.append(code)
                pieces[place + 1] = ""  # the group stands for it
                pattern.append(f"({_FREE})")
        elif piece:
            pattern.append(_FREE)
    return Shape(re.compile("".join(pattern), re.A).match, tuple(fields))


def _name(tag: str) -> str:
    return re.split(r"[\s/>]", tag[1:], maxsplit=1)[0]


def _opening(tag: str, fields: list[str | int]) -> str | None:
    """Pattern of the point's own tag with its latitude and longitude free."""
    whole = _TAG.fullmatch(tag)
    if not whole:
        return None
    out, at = [], 0
    for found in _ATTRIBUTE.finditer(tag, whole.start(1), whole.end(1)):
        if found[1] in ("lat", "lon"):
            if not re.fullmatch(_NUMBER, found[2], re.A):
                return None
            out.append(re.escape(tag[at : found.start(2)]) + _NUMBER)
            fields.append(found[1])
            at = found.end(2)
        elif set(found[0]) & set("\"'<>&") - {found[0][-1]}:
            return None  # a quotation mark of the other kind within: leave it to expat
    if sorted(map(str, fields)) != ["lat", "lon"]:
        return None
    return "".join(out) + re.escape(tag[at:])
