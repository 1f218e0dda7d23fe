"""Standard output and standard error as a command line needs them: any encoding, no half answer.

Knows streams; knows nothing of the rest of the library.

A sign that the terminal's encoding lacks is written as plainly as it can be (an ASCII ' for a
minute), never as an error. An answer that cannot be written whole, since the disk is full or
nothing is open to write to, is told on standard error and by the exit code: half an answer under
an exit code of success is the worst of all.
"""

from __future__ import annotations

import codecs
import contextlib
import errno
import os
import sys
from typing import Any

import attrs

__all__ = ["OWN_FAULT", "Writing", "ready"]

#: The exit code where the program itself fails, or its answer cannot be written.
OWN_FAULT = 4
_PLAIN = {
    "′": "'",
    "″": '"',
    "×": "x",
    "–": "-",
    "—": "-",
    "…": "...",
    "°": " deg",
    "±": "+/-",
    "→": "->",
    "≤": "<=",
    "≥": ">=",
    "µ": "u",
    "−": "-",
    "‘": "'",
    "’": "'",
    "“": '"',
    "”": '"',
    "\u00a0": " ",
    "\u2009": " ",
    "\u202f": " ",
}
_HANDLER = "jointgeo.plainly"


def _plainly(error: UnicodeError) -> tuple[str, int]:
    """An error handler of ``codecs``: the nearest signs of ASCII, and ? where there are none."""
    if not isinstance(error, UnicodeEncodeError):
        raise error
    lost = error.object[error.start : error.end]
    return "".join(_PLAIN.get(sign, "?") for sign in lost), error.end


@attrs.define
class Writing:
    """What became of the answer. closed: whether nothing was open to write it to."""

    closed: bool

    def finish(self, code: int = 0) -> int:
        """Write what is left; ``code``, or OWN_FAULT where the answer is not whole."""
        if self.closed:
            return self.lost(OSError(errno.EBADF, "standard output is closed"))
        try:
            sys.stdout.flush()
        except BrokenPipeError:
            self.give_up()
        except OSError as error:
            return self.lost(error)
        return code

    def lost(self, error: OSError) -> int:
        """Tell that the answer is not whole; the exit code."""
        self.give_up()
        with contextlib.suppress(OSError):
            reason = error.strerror or str(error)
            print(f"jointgeo: the answer cannot be written: {reason}", file=sys.stderr)
            sys.stderr.flush()
        return OWN_FAULT

    def give_up(self) -> None:
        """Let what is still to be written go nowhere: the interpreter tries again as it ends."""
        with contextlib.suppress(OSError, ValueError, AttributeError):
            nowhere = os.open(os.devnull, os.O_WRONLY)
            os.dup2(nowhere, sys.stdout.fileno())
            os.close(nowhere)


def ready() -> Writing:
    """Make both streams take any text; to be called before anything is written."""
    codecs.register_error(_HANDLER, _plainly)
    # A closed stream is None in Python, and what is printed to None is lost without a word.
    streams: Any = sys
    closed = streams.stdout is None
    for name in ("stdout", "stderr"):
        if getattr(streams, name) is None:
            nowhere = open(os.devnull, "w", encoding="utf-8")  # noqa: PTH123, SIM115  # to the end
            setattr(streams, name, nowhere)
        stream = getattr(streams, name)
        # Whoever has put another stream in its place, a test among them, knows what it takes.
        if hasattr(stream, "reconfigure"):
            stream.reconfigure(errors=_HANDLER)
    return Writing(closed)
