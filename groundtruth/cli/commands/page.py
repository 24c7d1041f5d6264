"""`groundtruth page`: the page with which a phone records track and counts, as files for a host."""

from __future__ import annotations

import argparse
from pathlib import Path

from ...core.safe_text import visible
from .output_options import add_overwrite

HELP = "write the page with which a phone records the track and the counts"


def add_arguments(parser: argparse.ArgumentParser) -> None:
    """Options of `page`."""
    parser.add_argument(
        "--out", metavar="FOLDER", type=Path, required=True, help="folder for it; made if missing"
    )
    add_overwrite(parser)


def run(args: argparse.Namespace) -> int:
    """Write the page, say what to do with it."""
    from ...web.recorder import write_recorder

    site = write_recorder(args.out, overwrite=args.overwrite)
    print(f"Written: {visible(str(site.folder))}, {len(site.names)} files.")
    print(
        "Put the folder on any https host, open it once on the phone and add it to the home\n"
        "screen. Over http, or with a self-made certificate, the browser gives no positions or\n"
        "does not keep the page for use without signal. To look at it on this computer:\n"
        f"  python3 -m http.server --bind 127.0.0.1 --directory {visible(str(site.folder))}\n"
        "  http://127.0.0.1:8000/"
    )
    return 0
