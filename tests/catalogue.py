"""The catalogues of people's words: what the code says, and the PO file of each language.

``python -m tests.catalogue`` brings every PO file up to date with the code, keeping what is
translated, and makes the MO file that the program reads; it prints what is not translated.
``--new fi`` begins another language.
"""

from __future__ import annotations

import argparse
import ast
from datetime import UTC, datetime
from io import BytesIO
from pathlib import Path

from babel.messages.catalog import Catalog, Message
from babel.messages.mofile import write_mo
from babel.messages.pofile import read_po, write_po

PACKAGE = Path(__file__).parents[1] / "groundtruth"
WORDS = PACKAGE / "core" / "words"
PLACES: dict[str, tuple[int, ...]] = {
    "say": (0,),
    "English": (0,),
    "Template": (0,),
    "many": (1, 2),
    "counted": (1, 2),
    "Plural": (0, 1),
}
"""Where among the arguments of a call its template stands, or the two forms of one."""
Template = str | tuple[str, str]
_DAY = datetime(2027, 1, 1, tzinfo=UTC)
"""Of every catalogue, so that making one again changes nothing."""
_EMPTY = tuple(
    f'"{name}'
    for name in (
        "Project-Id",
        "Report-Msgid",
        "POT-Creation",
        "PO-Revision",
        "Last-Translator",
        "Language-Team",
        "Generated-By",
    )
)
"""Headers that say nothing here."""


def said_in(path: Path) -> tuple[set[Template], list[str]]:
    """The templates in a module, and the calls in which none can be seen."""
    found: set[Template] = set()
    unseen = []
    for node in ast.walk(ast.parse(path.read_text(encoding="utf-8"))):
        if not isinstance(node, ast.Call):
            continue
        name = getattr(node.func, "attr", getattr(node.func, "id", ""))
        given = [node.args[i] for i in PLACES.get(name, ()) if i < len(node.args)]
        texts = [a.value for a in given if isinstance(a, ast.Constant) and isinstance(a.value, str)]
        if len(texts) == len(PLACES.get(name, ())) > 0:
            found.add(texts[0] if len(texts) == 1 else (texts[0], texts[1]))
        elif name in PLACES:
            unseen.append(f"{path.relative_to(PACKAGE)}:{node.lineno}")
    return found, unseen


def said_in_code() -> tuple[set[Template], list[str]]:
    """All templates of the package, and the calls in which none can be seen."""
    found: set[Template] = set()
    unseen: list[str] = []
    for path in sorted(PACKAGE.rglob("*.py")):
        if path.name != "language.py":
            more, hidden = said_in(path)
            found |= more
            unseen += hidden
    return found, unseen


def languages() -> list[str]:
    """The languages that have a PO file."""
    return sorted(path.stem for path in WORDS.glob("*.po"))


def catalogue(language: str) -> Catalog:
    """The PO file of a language."""
    with (WORDS / f"{language}.po").open("rb") as file:
        return read_po(file, locale=language)


def untranslated(message: Message) -> bool:
    """Whether a form of a message is missing."""
    forms = message.string if isinstance(message.string, tuple) else (message.string,)
    return bool(message.id) and not all(forms)


def brought_up_to_date(old: Catalog) -> Catalog:
    """A catalogue with a message for every template in the code, translated as before."""
    new = Catalog(locale=old.locale, creation_date=_DAY, revision_date=_DAY, fuzzy=False)
    for template in sorted(said_in_code()[0], key=_key):
        before = old.get(_key(template))
        same = before is not None and isinstance(before.id, str) == isinstance(template, str)
        flags = ("python-brace-format",) if "{" in _key(template) else ()
        made = new.add(template, before.string if before and same else None, flags=flags)
        made.flags.discard("python-format")  # "95 % sure" is none
    return new


def _key(template: Template) -> str:
    return template if isinstance(template, str) else template[0]


def write(new: Catalog) -> None:
    """The PO file and the MO file made of it."""
    text = BytesIO()
    write_po(text, new, width=100)
    lines = text.getvalue().decode().lstrip().splitlines(keepends=True)
    kept = "".join(line for line in lines if not line.startswith((*_EMPTY, "# ", "#\n")))
    (WORDS / f"{new.locale}.po").write_text(kept, encoding="utf-8")
    with (WORDS / f"{new.locale}.mo").open("wb") as file:
        write_mo(file, new)


def main() -> None:
    """Bring all catalogues up to date, print what is not translated."""
    parser = argparse.ArgumentParser(description=__doc__)
    parser.add_argument("--new", metavar="LANGUAGE")
    begun = parser.parse_args().new
    old = [catalogue(one) for one in languages()] + ([Catalog(locale=begun)] if begun else [])
    for new in map(brought_up_to_date, old):
        write(new)
        for message in filter(untranslated, new):
            print(f"{new.locale}: {message.id}")


if __name__ == "__main__":
    main()
