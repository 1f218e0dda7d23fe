"""The subcommand ``serve``: found by entry point, so that the library knows nothing of it.

Knows argparse, and the names of what the extra ``service`` installs; imports none of
that until it runs, so that help works without it.
"""

from __future__ import annotations

import argparse
import sys
from pathlib import Path
from typing import Any

from jointgeo.errors import how_to_install

__all__ = ["add"]

HOST, PORT = "127.0.0.1", 8765
EXTRA = frozenset(
    (
        "apispec",
        "flask",
        "flask_smorest",
        "flask_swagger_ui",
        "marshmallow",
        "waitress",
        "webargs",
        "werkzeug",
    )
)


def add(subparsers: Any) -> None:
    """Register ``serve`` with the subparsers of the command line."""
    parser = subparsers.add_parser(
        "serve",
        help="answer over HTTP, for spreadsheets and other programs",
        description="Answer over HTTP on this machine until stopped with Ctrl-C.",
        epilog="Where other machines can reach it, it starts only if the environment variable "
        "JOINTGEO_TOKEN holds a secret; every request must then bear it, and a browser asks for it "
        "as a password, with any name. Exit codes: 0 stopped, 1 stopped with requests unanswered, "
        "2 it cannot start.",
    )
    parser.add_argument("--host", default=HOST, help=f"address to listen at (default {HOST})")
    parser.add_argument(
        "--port", type=_port, default=PORT, help=f"port to listen at, 0 for any (default {PORT})"
    )
    parser.add_argument(
        "--fixtures",
        type=Path,
        metavar="FOLDER",
        help="answer for the fixture files (*.toml) in this folder too, each asked by its file "
        "name, and read again when it changes",
    )
    parser.add_argument(
        "--fixture",
        type=Path,
        metavar="FILE",
        action="append",
        default=[],
        help="answer for this fixture file too, asked by the name in it, in place of one that "
        "ships under that name; may be given several times",
    )
    parser.set_defaults(run=_run)


def _port(text: str) -> int:
    if not (text.isascii() and text.isdecimal() and len(text) <= 5 and int(text) <= 65535):
        raise argparse.ArgumentTypeError(f"{text!r} is not a whole number from 0 to 65535")
    return int(text)


def _run(asked: argparse.Namespace) -> int:
    try:
        from jointgeo_service.server import StartError, serve
    except ModuleNotFoundError as error:
        missing = (error.name or "").partition(".")[0]
        if missing not in EXTRA:
            raise
        return _refuse(f"{missing} is missing; {how_to_install('service')}")
    try:
        return serve(asked.host, asked.port, folder=asked.fixtures, files=asked.fixture)
    except StartError as error:
        return _refuse(str(error))


def _refuse(why: str) -> int:
    print(f"jointgeo serve: {why}", file=sys.stderr)
    return 2
