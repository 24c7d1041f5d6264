"""A result as JSON text, and back. The keys are documented in docs/result-json.md."""

from .file import read_result
from .read import result_from_json
from .write import SCHEMA_VERSION, result_to_dict, result_to_json

__all__ = [
    "SCHEMA_VERSION",
    "read_result",
    "result_from_json",
    "result_to_dict",
    "result_to_json",
]
