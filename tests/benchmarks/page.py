"""Tables of measured figures as Markdown, put between the markers of a page of `docs/`."""

from __future__ import annotations

from collections.abc import Sequence
from pathlib import Path


def markdown_row(cells: Sequence[object]) -> str:
    """One line of a Markdown table."""
    return "| " + " | ".join(str(c) for c in cells) + " |"


def markdown_table(head: Sequence[str], rows: Sequence[Sequence[object]]) -> str:
    """A Markdown table whose first column is text and whose others are figures."""
    rule = ["---", *["---:"] * (len(head) - 1)]
    return "\n".join(markdown_row(r) for r in (head, rule, *rows))


def markers(name: str) -> tuple[str, str]:
    """The two lines of a page between which the table of that name stands."""
    return f"<!-- {name}: begin -->", f"<!-- {name}: end -->"


def write_between(page: Path, text: str, name: str) -> None:
    """Replace what stands between a table's markers; refused where the page lacks them."""
    begin, end = markers(name)
    old = page.read_text(encoding="utf-8")
    if begin not in old or end not in old:
        raise SystemExit(f"{page}: the markers {begin} and {end} are missing")
    before, rest = old.split(begin, 1)
    after = rest.split(end, 1)[1]
    new = page.with_suffix(".md.tmp")
    new.write_text(f"{before}{begin}\n\n{text}\n\n{end}{after}", encoding="utf-8")
    new.replace(page)
