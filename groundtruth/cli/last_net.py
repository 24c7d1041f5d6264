"""What becomes of an error that nobody planned: one line, and the details in a file."""

from __future__ import annotations

import os
import platform
import sys
import tempfile
import traceback
from collections.abc import Sequence

from .. import __version__
from ..core.safe_text import visible

BEGINNING = "groundtruth-error-"
"""How the names of files with details begin, in the system's folder for temporary files."""


def told(error: Exception, argv: Sequence[str] | None) -> str:
    """The line to print. The details go to a file, or where none can be written nowhere."""
    words = list(sys.argv[1:] if argv is None else argv)
    details = (
        f"groundtruth {__version__}, Python {platform.python_version()}, {platform.platform()}\n"
        f"groundtruth {' '.join(ascii(word) for word in words)}\n\n"
        f"{''.join(traceback.format_exception(error))}"
    )
    what = visible(f"{type(error).__name__}: {error}".partition("\n")[0], 120)
    said = f"a fault of ours that was not foreseen ({what}); what was written is whole"
    try:
        handle, name = tempfile.mkstemp(prefix=BEGINNING, suffix=".txt")
        with os.fdopen(handle, "w", encoding="utf-8", errors="backslashreplace") as file:
            file.write(details)
    except OSError:
        return said
    return f"{said}; please report it with {name} (look through it first)"
