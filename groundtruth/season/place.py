"""Where the season's record is kept."""

from __future__ import annotations

import os
import sys
from pathlib import Path

ENVIRONMENT = "GROUNDTRUTH_SEASON"
FILE_NAME = "season.gpkg"


def season_path(given: Path | str | None = None) -> Path:
    """Where the record is: as given, else GROUNDTRUTH_SEASON, else the platform's data folder.

    XDG Base Directory Specification on Unix, ~/Library/Application Support on macOS,
    %LOCALAPPDATA% on Windows (common practice there).
    """
    if given:
        return Path(given)
    if named := os.environ.get(ENVIRONMENT):
        return Path(named)
    home = Path.home()
    if sys.platform == "win32":
        base = Path(os.environ.get("LOCALAPPDATA") or home / "AppData" / "Local")
    elif sys.platform == "darwin":
        base = home / "Library" / "Application Support"
    else:
        base = Path(os.environ.get("XDG_DATA_HOME") or home / ".local" / "share")
    return base / "groundtruth" / FILE_NAME
