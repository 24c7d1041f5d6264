"""HTML pages that need nothing but themselves.

A page is a tree of elements, never a template, so text from a file can only ever become text: the
standard library's serialiser escapes it, whatever is written in it. Scripts and styles are our own
files and are allowed by their hash, nothing else is [Content Security Policy Level 3, W3C, 2.3.1
and 6.7.2.3].
"""

from __future__ import annotations

import json
from base64 import b64encode
from collections.abc import Iterable
from hashlib import sha256
from importlib.resources import files
from xml.etree.ElementTree import Element, tostring

from ..core.language import language
from ..core.safe_text import visible
from ..io.writing import sealed

Child = Element | str | None


def node(tag: str, *children: Child, **attributes: str | None) -> Element:
    """An element with children; strings become text, None is left out.

    Attributes are written as Python names: ``class_`` for class, ``aria_label`` for aria-label;
    None leaves one out, "" sets it bare.
    """
    element = Element(tag)
    for name, value in attributes.items():
        if value is not None:
            element.set(name.rstrip("_").replace("_", "-"), visible(value))
    last: Element | None = None
    for child in children:
        if isinstance(child, Element):
            element.append(child)
            last = child
        elif child is not None:
            text = visible(child)
            if last is None:
                element.text = (element.text or "") + text
            else:
                last.tail = (last.tail or "") + text
    return element


def script(code: str) -> Element:
    """A script of ours, to run."""
    return _raw("script", code)


def style(rules: str) -> Element:
    """A style sheet of ours."""
    return _raw("style", rules)


def json_block(name: str, data: object) -> Element:
    """Data for a script of ours, which finds it by the id ``name``.

    The text is ASCII and free of ``<``, ``>`` and ``&``, so nothing in it can end the block
    [HTML Standard, "Restrictions for contents of script elements"].
    """
    text = json.dumps(data, ensure_ascii=True, allow_nan=False, separators=(",", ":"))
    for sign in "<>&":
        text = text.replace(sign, f"\\u{ord(sign):04x}")
    block = _raw("script", text)
    block.set("type", "application/json")
    block.set("id", name)
    return block


def _raw(tag: str, text: str) -> Element:
    if f"</{tag}" in text.lower() or "<!--" in text or "\r" in text:
        raise ValueError(f"this text cannot stand inside <{tag}>")  # ours, so a mistake of ours
    element = Element(tag)
    element.text = text
    return element


def html_page(
    *,
    title: str,
    body: Iterable[Element],
    styles: Iterable[Element],
    scripts: Iterable[Element] = (),
    images_from: str = "",
    body_class: str | None = None,
) -> str:
    """A whole page. ``scripts`` are run after the body is there, in order.

    Nothing is loaded from anywhere, but pictures from the origin ``images_from`` if one is given.
    """
    styles, scripts = tuple(styles), tuple(scripts)
    policy = "; ".join(
        [
            "default-src 'none'",
            f"style-src {_allowed(styles)}",
            f"script-src {_allowed(s for s in scripts if s.get('type') is None)}",
            "img-src " + (images_from or "'none'"),
            "base-uri 'none'",
            "form-action 'none'",
        ]
    )
    head = node(
        "head",
        node("meta", charset="utf-8"),
        node("meta", name="generator", content="groundtruth"),  # `writing` knows pages by it
        node("meta", http_equiv="Content-Security-Policy", content=policy),
        node("meta", name="viewport", content="width=device-width, initial-scale=1"),
        node("meta", name="color-scheme", content="light"),
        node("title", title),
        *styles,
    )
    page = node("html", head, node("body", *body, *scripts, class_=body_class), lang=language())
    return sealed(f"<!doctype html>\n{tostring(page, encoding='unicode', method='html')}\n")


def _allowed(blocks: Iterable[Element]) -> str:
    hashes = [
        f"'sha256-{b64encode(sha256((block.text or '').encode()).digest()).decode()}'"
        for block in blocks
    ]
    return " ".join(hashes) or "'none'"


def resource(folder: str, name: str) -> str:
    """The text of a file of ours in a folder of the views."""
    return files(__package__).joinpath(folder, name).read_text(encoding="utf-8")


def unbroken(text: str) -> str:
    """The text with spaces that no line breaks at, so that a number keeps its unit."""
    return text.replace(" ", "\u00a0")
