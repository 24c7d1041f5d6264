"""A JSON document that the package wrote, read back by its kind and the version of its form."""

from __future__ import annotations

from collections.abc import Callable
from typing import TypeVar

from ..core.errors import InputError
from ..core.safe_text import visible
from .bounded_json import parse_json
from .files import Source
from .result_json.node import JsonNode

T = TypeVar("T")


def document_in(
    source: Source,
    build: Callable[[JsonNode], T],
    *,
    kind: str,
    version: int,
    no_json: str = "",
    another: str,
    renew: str,
) -> T:
    """What ``build`` makes of the document in a file, which must be of a kind and a version.

    ``no_json``, ``another`` and ``renew`` end the refusals of what is no JSON, of a document of
    another kind, and of one in another version.

    Raises
    ------
    InputError : the file holds no such document, or a value in it is refused.
    """
    try:
        data = parse_json(source.data.decode("utf-8"))
    except ValueError as error:
        raise InputError(
            f"not a {kind} ({visible(str(error), 80)}){no_json}", file=source.name
        ) from error
    if not isinstance(data, dict) or data.get("kind") != kind:
        raise InputError(f"this is no {kind}; {another}", file=source.name)
    node = JsonNode(data=data, file=source.name)
    if node.whole("schema_version") != version:
        raise InputError(f"of another version of its form; {renew}", file=source.name)
    try:
        return build(node)
    except InputError as error:
        if error.file:
            raise
        raise InputError(error.reason, file=source.name, column=error.column) from error
