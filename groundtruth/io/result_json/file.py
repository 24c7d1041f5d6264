"""Read a result from the file that `groundtruth measure` wrote."""

from __future__ import annotations

from ...core.errors import InputError
from ...core.result import Result
from ..files import MAX_RESULT_BYTES, FileInput, load
from .read import result_from_json


def read_result(path: FileInput) -> Result:
    """The result in a file.

    Raises
    ------
    InputError : the file cannot be read, or holds no result; the message names it.
    """
    source = load(path, error=InputError, what="result", limit=MAX_RESULT_BYTES)
    try:
        text = source.data.decode("utf-8")
    except UnicodeDecodeError:
        raise InputError(
            "is no text; give the result.json that groundtruth measure wrote", file=source.name
        ) from None
    return result_from_json(text, source.name)
