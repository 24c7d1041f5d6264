"""Text from files, made safe to look at.

A name in a track or turn sheet may hold escape sequences that drive a terminal, or characters
that reverse the reading order of the line they stand in (Unicode Technical Report 36, 3.5).
Names that are kept are cleaned of such characters; where text is shown as it is, they are shown by
their code.
"""

from __future__ import annotations

from unicodedata import category

_SHOWN_BY_CODE = {"Cc", "Cf", "Cs", "Zl", "Zp"}
"""Controls, format characters (bidirectional marks among them), lone surrogates, line and
paragraph separators (Unicode Standard, table 4-4)."""
_JOINERS = "\u200c\u200d"
"""Format characters that several scripts need for spelling (Unicode Standard, 23.2)."""
_LEFT_OUT = {*_SHOWN_BY_CODE, "Co", "Cn"}
NAME_LENGTH = 80


def clean(text: str, limit: int = NAME_LENGTH) -> str:
    """One line of file text to be kept as a name: invisible and private characters become spaces.

    These are the Unicode categories Cc, Cf, Cs, Co, Cn, Zl and Zp, which can make a text read as
    something else [Unicode Technical Report 36, 2.10].
    """
    kept = (" " if category(char) in _LEFT_OUT else char for char in text[: 8 * limit])
    line = " ".join("".join(kept).split())
    return line if len(line) <= limit else line[: limit - 1] + "…"


def plain(text: str) -> str:
    """The text with a space for every control, invisible character and lone surrogate."""
    return "".join(" " if category(char) in _SHOWN_BY_CODE else char for char in text)


def visible(text: str, limit: int | None = None) -> str:
    """The text with every invisible or line-breaking character written as its code.

    At most ``limit`` characters are kept, the last of them then an ellipsis.
    """
    if limit is not None:  # before the work, so that a gigantic name costs nothing
        text = text if len(text) <= limit else text[: limit - 1] + "…"
    shown = "".join(_by_code(c) if category(c) in _SHOWN_BY_CODE else c for c in text)
    if limit is not None and len(shown) > limit:
        shown = shown[: limit - 1] + "…"
    return shown


def _by_code(character: str) -> str:
    if character in _JOINERS:
        return character
    code = ord(character)
    if code < 0x100:
        return f"\\x{code:02x}"
    return f"\\u{code:04x}" if code < 0x10000 else f"\\U{code:08x}"


_SPELT_IN_ASCII = str.maketrans(
    dict.fromkeys("−–—", "-")
    | dict.fromkeys("’‘′", "'")
    | dict.fromkeys("“”„″", '"')
    | {"ä": "ae", "ö": "oe", "ü": "ue", "Ä": "Ae", "Ö": "Oe", "Ü": "Ue", "ß": "ss"}
    | dict.fromkeys("\u00a0\u202f", " ")
    | {"±": "+/-", "→": "->", "≥": ">=", "≤": "<=", "×": "x", "…": "...", "·": ".", "°": " deg"}
)


def encodable(text: str, encoding: str) -> str:
    """The text as far as an output's encoding can carry it, plain spellings for the rest.

    Raises
    ------
    LookupError : Python does not know the encoding.
    """
    try:
        text.encode(encoding)
    except UnicodeEncodeError:
        kept = [c if _fits(c, encoding) else c.translate(_SPELT_IN_ASCII) for c in text]
        return "".join(kept).encode(encoding, "replace").decode(encoding)
    return text


def _fits(character: str, encoding: str) -> bool:
    try:
        character.encode(encoding)
    except UnicodeEncodeError:
        return False
    return True
