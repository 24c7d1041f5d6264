"""What people read, in the language that is asked for.

Every sentence is a template with named fields. The English one stands in the code and is its key
in the catalogues, PO files as GNU gettext has them, one a language in `core/words`. Figures keep
to the language's decimal sign. Documents for programs, records and errors stay English.
"""

from __future__ import annotations

from collections.abc import Iterable, Iterator, Sequence
from contextlib import contextmanager
from contextvars import ContextVar
from functools import cache
from gettext import GNUTranslations, NullTranslations
from importlib.resources import files
from typing import Any, Self

ENGLISH = "en"
LANGUAGES = (ENGLISH, "de")
_COMMA = frozenset({"de"})
"""Languages that write decimals behind a comma."""
_LEAST_SEEN = 1e-4
"""What is smaller is the error of a calculation, and reads 0."""
_asked: ContextVar[str] = ContextVar("language", default=ENGLISH)


@contextmanager
def speaking(language: str) -> Iterator[None]:
    """Say everything in this language meanwhile, in this thread or task only.

    Raises
    ------
    ValueError : there is no catalogue of it.
    """
    if language not in LANGUAGES:
        raise ValueError(f"no words in {language!r}; there are {', '.join(LANGUAGES)}")
    before = _asked.set(language)
    try:
        yield
    finally:
        _asked.reset(before)


def language() -> str:
    """The language asked for, as HTML names it (BCP 47): "en", "de"."""
    return _asked.get()


class English(str):
    """English text that knows its template, to be said in another language later: see `said`.

    >>> English("line {line} left out", line=3)
    'line 3 left out'
    """

    template: str
    more: str | None
    fields: dict[str, Any]

    def __new__(cls, template: str, /, **fields: Any) -> Self:
        """The template filled in; a field is text, a number or `English` itself."""
        return cls._made(template, None, fields)

    @classmethod
    def counted(cls, count: int, one: str, more: str, /, **fields: Any) -> Self:
        """The form for this count, which is the field ``count``."""
        return cls._made(one, more, {"count": count, **fields})

    @classmethod
    def _made(cls, template: str, more: str | None, fields: dict[str, Any]) -> Self:
        shown = template if more is None or fields["count"] == 1 else more
        figures = {name: _Seen(v) if isinstance(v, float) else v for name, v in fields.items()}
        made = super().__new__(cls, shown.format(**figures))
        made.template, made.more, made.fields = template, more, fields
        return made

    def __reduce__(self) -> tuple[Any, ...]:
        """How copies and other processes get it, template and all."""
        return self._made, (self.template, self.more, self.fields)


def by_text(*texts: English) -> dict[str, English]:
    """The texts by what they are in English, to say one of which only that is known."""
    return {str(text): text for text in texts}


class Template(str):
    """A template that a script fills in: a catalogue has it, see `map_of_words`."""

    __slots__ = ()


class Plural(tuple[str, str]):
    """The forms of such a template for one and for more."""

    __slots__ = ()

    def __new__(cls, one: str, more: str, /) -> Self:
        """Both forms, with the field ``count``."""
        return super().__new__(cls, (one, more))


def map_of_words(templates: Iterable[Template | Plural]) -> dict[str, str]:
    """The templates in the language asked for, by the English ones; empty for English."""
    catalogue = _catalogue(_asked.get())
    found: dict[str, str] = {}
    for template in templates if _asked.get() != ENGLISH else ():
        if isinstance(template, Plural):
            found |= {form: catalogue.ngettext(*template, n) for n, form in enumerate(template, 1)}
        else:
            found[str(template)] = catalogue.gettext(template)
    return found


def in_a_row(texts: Sequence[str]) -> str:
    """The texts with commas between them, each still able to be said in another language."""
    found: str = ""
    for number, text in enumerate(texts):
        found = English("{some}, {one}", some=found, one=text) if number else text
    return found


def said(text: str) -> str:
    """The text in the language asked for; text that knows no template stays as it is."""
    if not isinstance(text, English):
        return text
    if text.more is None:
        return say(text.template, **text.fields)
    fields = {name: value for name, value in text.fields.items() if name != "count"}
    return many(text.fields["count"], text.template, text.more, **fields)


def say(template: str, /, **fields: Any) -> str:
    """The sentence in the language asked for, its fields filled in."""
    return _filled(_catalogue(_asked.get()).gettext(template), fields)


def many(count: int, one: str, more: str, /, **fields: Any) -> str:
    """The form for this count, which is the field ``count``.

    >>> many(1, "{count} pass", "{count} passes"), many(12, "{count} pass", "{count} passes")
    ('1 pass', '12 passes')
    """
    template = _catalogue(_asked.get()).ngettext(one, more, count)
    return _filled(template, {"count": count, **fields})


def decimals(number: str) -> str:
    """A number as written with a decimal point, with the sign of the language."""
    return number.replace(".", ",") if _asked.get() in _COMMA else number


def fixed(value: float, places: int) -> str:
    """A number with so many decimals; what is not 0 never reads 0, down to a ten-thousandth.

    >>> fixed(12.34, 1), fixed(0.3, 0), fixed(-0.02, 1), fixed(0.0, 1)
    ('12.3', '0.3', '-0.02', '0.0')
    """
    return f"{_Seen(value):.{places}f}"


class _Seen(float):
    """A number that does not vanish where templates round it to fixed decimals."""

    def __format__(self, how: str) -> str:
        text = super().__format__(how)
        vanished = how.endswith("f") and not text.strip("+-0.,")
        if vanished and abs(self) >= _LEAST_SEEN:
            return super().__format__(f"{'+' * how.startswith('+')}.1g")
        return text


class _Figure(_Seen):
    """One that templates format with the decimal sign of the language too."""

    def __format__(self, how: str) -> str:
        return decimals(super().__format__(how))


def _filled(template: str, fields: dict[str, Any]) -> str:
    return template.format(**{name: _field(value) for name, value in fields.items()})


def _field(value: Any) -> Any:
    if isinstance(value, English):
        return said(value)
    return _Figure(value) if isinstance(value, float) else value


@cache
def _catalogue(language: str) -> NullTranslations:
    if language == ENGLISH:
        return NullTranslations()
    with files(__package__).joinpath("words", f"{language}.mo").open("rb") as file:
        return GNUTranslations(file)
