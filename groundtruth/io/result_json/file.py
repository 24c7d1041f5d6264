"""Read a result from the file that `groundtruth measure` wrote."""

from __future__ import annotations

from os import PathLike

from ...core.errors import InputError
from ...core.result import Result
from ..files import MAX_TRACK_BYTES, read_file
from .read import result_from_json


def read_result(path: str | PathLike[str]) -> Result:
    """The result in a file.

    Raises
    ------
    InputError : the file cannot be read, or holds no result; the message names it.
    """
    data, file = read_file(path, error=InputError, what="result", limit=MAX_TRACK_BYTES)
    try:
        text = data.decode("utf-8")
    except UnicodeDecodeError:
        raise InputError(
            f"{file.name}: is no text; give the result.json that groundtruth measure wrote"
        ) from None
    return result_from_json(text, file.name)
