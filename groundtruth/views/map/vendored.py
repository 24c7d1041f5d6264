"""What all map pages share: vendored Leaflet with its licence, our scripts for background and
position, and the north arrow."""

from __future__ import annotations

import re
from xml.etree.ElementTree import Element

from ...core.language import say
from ..html import node, resource


def leaflet_css() -> str:
    """The library's style sheet."""
    return _text("leaflet.css")


def leaflet_js() -> str:
    """The library's code under its licence, which asks to go along with every copy."""
    licence = resource("map/leaflet", "LICENSE")
    return f"/*\n{licence.strip()}\n*/\n{_text('leaflet.js')}"


def shared_scripts() -> dict[str, str]:
    """Our scripts that every map uses, by name: the background and the reader's own position."""
    return {name: resource("map", name) for name in ("backdrop.js", "own_position.js")}


def _text(name: str) -> str:
    """A vendored file, with what would point outside the page taken out: the pictures of controls
    that are not used here, and the place of the source map."""
    text = resource("map/leaflet", name)
    text = re.sub(r"url\(images/[^)]*\)", "none", text)
    return re.sub(r"^//# sourceMappingURL=.*$", "", text, flags=re.M)


def north_arrow() -> Element:
    """North is at the top."""
    outline = "M22 4 L36 42 L22 34 L8 42 Z"
    ink = "#17262b"
    return node(
        "svg",
        node("path", d=outline, fill="#fbfaf6", stroke="none"),
        node("path", d="M22 4 L22 34 L8 42 Z", fill=ink),
        node("path", d=outline, fill="none", stroke=ink, stroke_width="2", stroke_linejoin="round"),
        node(
            "text",
            "N",
            x="22",
            y="57",
            text_anchor="middle",
            font_size="15",
            font_weight="700",
            fill=ink,
        ),
        class_="north",
        viewBox="0 0 44 58",
        role="img",
        aria_label=say("North is at the top"),
    )
