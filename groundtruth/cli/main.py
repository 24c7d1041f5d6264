"""The command line: parse, call, show. Bad input ends in one line and exit code 2."""

from __future__ import annotations

import argparse
import errno
import os
import signal
import sys
import threading
from collections.abc import Iterator, Sequence
from contextlib import contextmanager, suppress
from importlib import import_module
from io import TextIOWrapper
from types import FrameType
from typing import TextIO

from .. import __version__
from ..core.errors import GroundtruthError
from ..core.language import ENGLISH, speaking
from ..core.opened import inputs_remembered
from ..core.safe_text import visible
from .commands.output_options import as_sentence
from .typed import Parser

COMMANDS = (
    "open",
    "measure",
    "many",
    "inspect",
    "plan",
    "target",
    "bench",
    "choose",
    "turning",
    "seed",
    "stands",
    "spacing",
    "card",
    "season",
    "fleet",
    "share",
    "page",
    "simulate",
)

BAD_INPUT = 2
INTERRUPTED = 130
CLOSED_PIPE = 141
OUTPUT_FAILED, UNPLANNED = 74, 70
"""EX_IOERR and EX_SOFTWARE of sysexits.h."""
_OUTPUT_FAILS = (errno.ENOSPC, errno.EIO, errno.EBADF, errno.EFBIG)
_DEFAULT = signal.SIG_DFL


def build_parser() -> argparse.ArgumentParser:
    """The parser with a subcommand for each module of `commands`."""
    parser = Parser(
        prog="groundtruth",
        description="The real ground covered per gear turn of ground-driven seeders, from a phone "
        "track and turn counts.",
        epilog="The maker's manual and local rules come first. Engine off, key out and seeder "
        "blocked before hands go near gears and chains.",
    )
    parser.add_argument("--version", action="version", version=f"groundtruth {__version__}")
    commands = parser.add_subparsers(dest="command", metavar="COMMAND", required=True)
    for name in COMMANDS:
        module = import_module(f".commands.{name}", __package__)
        sub = commands.add_parser(
            name.replace("_", "-"), help=module.HELP, description=as_sentence(module.HELP)
        )
        module.add_arguments(sub)
        sub.set_defaults(run=module.run)
    return parser


class _Ended(KeyboardInterrupt):
    """The system asked this process to end."""

    def __init__(self, number: int) -> None:
        super().__init__(number)
        self.number = number


@contextmanager
def _ended_in_order() -> Iterator[None]:
    """Let a request to end unwind the call, so that no part of a file is left behind."""

    def end(number: int, _frame: FrameType | None) -> None:
        raise _Ended(number)

    asked = [getattr(signal, name) for name in ("SIGTERM", "SIGHUP") if hasattr(signal, name)]
    mine = threading.current_thread() is threading.main_thread()
    # whoever calls us may have a handler of its own, or have started us deaf to hang-ups
    before = {n: signal.signal(n, end) for n in asked if mine and signal.getsignal(n) is _DEFAULT}
    try:
        yield
    finally:
        for number, handler in before.items():
            signal.signal(number, handler)


def main(argv: Sequence[str] | None = None) -> int:
    """Run a command; returns the exit code."""
    # the matrices are small: several threads of linear algebra would only wait for each other
    os.environ.setdefault("OPENBLAS_NUM_THREADS", "1")
    try:
        with _ended_in_order(), inputs_remembered():
            _print_anything()
            try:
                args = build_parser().parse_args(argv)
                with speaking(getattr(args, "language", ENGLISH)):
                    code: int = args.run(args)
            finally:  # help and version end the program from within
                _flush_errors()
                if sys.stdout is not None:  # closed before we were started
                    sys.stdout.flush()
    except GroundtruthError as error:
        _complain(str(error))
        return BAD_INPUT
    except KeyboardInterrupt as stop:
        _complain("stopped; nothing was written half")
        return 128 + stop.number if isinstance(stop, _Ended) else INTERRUPTED
    except BrokenPipeError:
        _silence(sys.stdout)  # whoever read it has gone
        return CLOSED_PIPE
    except MemoryError:
        _complain("this takes more memory than there is; nothing was written half")
        return UNPLANNED
    except Exception as error:
        output = isinstance(error, OSError) and error.filename is None
        if output and getattr(error, "errno", None) in _OUTPUT_FAILS:
            _silence(sys.stdout)
            _complain(
                f"the text cannot be printed ({getattr(error, 'strerror', '')}); files and the "
                "record are written whole all the same"
            )
            return OUTPUT_FAILED
        from .last_net import told

        _complain(told(error, argv))
        return UNPLANNED
    return code


def _complain(text: str) -> None:
    """One line on standard error, if anything can be said there."""
    try:
        print(f"groundtruth: {visible(text)}", file=sys.stderr, flush=True)
    except (OSError, ValueError):
        _silence(sys.stderr)


def _print_anything() -> None:
    """Let a terminal that cannot spell a character show its code, not end the work."""
    for stream in (sys.stdout, sys.stderr):
        if isinstance(stream, TextIOWrapper) and stream.errors == "strict":
            stream.reconfigure(errors="backslashreplace")


def _flush_errors() -> None:
    try:
        if sys.stderr is not None:
            sys.stderr.flush()
    except (OSError, ValueError):
        _silence(sys.stderr)


def _silence(stream: TextIO | None) -> None:
    """Keep the interpreter from writing to a broken output once more at its end."""
    with suppress(OSError, ValueError, AttributeError):
        os.dup2(os.open(os.devnull, os.O_WRONLY), stream.fileno())  # type: ignore[union-attr]
