"""`groundtruth open`: the page on the own computer, in the browser."""

from __future__ import annotations

import argparse
from pathlib import Path

HELP = "open the page in the browser: drop a track, type the counts, see the figure"


def add_arguments(parser: argparse.ArgumentParser) -> None:
    """Options of `open`."""
    parser.add_argument(
        "--folder",
        metavar="DIR",
        type=Path,
        help="where runs are saved (default: groundtruth in your home folder)",
    )
    parser.add_argument("--season", metavar="FILE", type=Path, help="the season's record")
    parser.add_argument("--port", type=int, help="port on this computer (default: a fixed one)")
    parser.add_argument(
        "--no-browser", action="store_true", help="only print the address, open nothing"
    )
    parser.epilog = (
        "The page answers to this computer only, and only with the secret at the end of its "
        "address, which is new at each start. Stop it with Ctrl+C; what was typed is kept."
    )


def run(args: argparse.Namespace) -> int:
    """Answer until stopped."""
    from ...season import season_path
    from ...web.page.desk import Desk
    from ...web.page.server import serve

    record = season_path(args.season)
    saved = args.folder if args.folder is not None else Path.home() / "groundtruth"
    desk = Desk(folder=saved / ".page", saved=saved)

    def opened(address: str) -> None:
        print(f"The page is open at {address}", flush=True)
        print("Stop it with Ctrl+C; what was typed is kept.", flush=True)
        if not args.no_browser:
            import webbrowser

            webbrowser.open(address)

    serve(desk, record, port=args.port, opened=opened)
    return 0
