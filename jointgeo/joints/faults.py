"""Whatever a plug-in does wrong, as one PluginError that names type, distribution, file and line.

Knows errors and what Python can raise; knows no joint type, no registry and no drawing.

Theory of operation. Third-party code may raise anything, SystemExit and KeyboardInterrupt among
it, run into itself without end, or print where somebody else's program reads an answer. Each of
its methods is therefore run by ``answers``, which lets an InputError pass (that is the caller's)
and makes a PluginError of all else. The types that ship are not wrapped and pay nothing.

The trap: a person's own Ctrl-C arrives as KeyboardInterrupt in the middle of a plug-in's code. A
signal is only ever looked for between statements, never at a ``raise``; so one that stands at a
``raise`` was raised by the code itself, and every other is the person's and passes.
"""

from __future__ import annotations

import dis
import functools
import sys
import threading
from collections.abc import Callable, Iterable
from pathlib import Path
from types import TracebackType
from typing import Any

from jointgeo.errors import InputError, PluginError, one_line

__all__ = [
    "JOINT_METHODS",
    "answers",
    "answers_for",
    "came_from",
    "guard",
    "is_shipped",
    "origin",
    "told",
]

_LIBRARY = str(Path(__file__).parents[1])
_RAISE = dis.opmap["RAISE_VARARGS"]
_REASON = 500  # characters; the library's own messages are shorter
#: Of the methods that a type may write, those that the library calls.
JOINT_METHODS = (
    "__attrs_post_init__",
    "also",
    "checks",
    "draw",
    "examples",
    "from_dict",
    "measure",
    "notes",
    "sizes",
    "to_dict",
)
#: What bars that cannot be measured raise; ``between`` makes an InputError of it.
_UNMEASURED = (ZeroDivisionError, ValueError, OverflowError)
_ORIGINS: dict[type, str] = {}


class _Printed(Exception):  # noqa: N818  # it is raised into a plug-in, and never gets out
    """A plug-in wrote to standard output, which belongs to the answer."""


class _Watched:
    """Standard output while a plug-in runs: its thread is refused, all others write on."""

    def __init__(self, real: Any) -> None:
        self._real = real

    def write(self, text: str) -> int:
        _refuse()
        return int(self._real.write(text))

    def __getattr__(self, name: str) -> Any:
        if name == "buffer":
            _refuse()
        return getattr(self._real, name)


class _Running(threading.local):
    depth = 0
    printed = ""


_RUNNING = _Running()
_LOCK = threading.Lock()
_COUNT = 0


def _refuse() -> None:
    if _RUNNING.depth:
        frame = sys._getframe(2)
        _RUNNING.printed = f"{Path(frame.f_code.co_filename).name}:{frame.f_lineno}"
        raise _Printed("a plug-in must not write to standard output")


def _enter() -> None:
    global _COUNT
    with _LOCK:
        _COUNT += 1
        if not isinstance(sys.stdout, _Watched):
            sys.stdout = _Watched(sys.stdout)


def _leave() -> None:
    global _COUNT
    with _LOCK:
        _COUNT -= 1
        # If somebody has put a stream of his own there meanwhile, it is his to take away.
        if not _COUNT and isinstance(sys.stdout, _Watched):
            sys.stdout = sys.stdout._real


class answers:  # noqa: N801  # used like a function, in a with statement
    """Runs a plug-in's code: InputError passes, all else is its PluginError.

    joint_type, distribution: whom to name. module: the plug-in's own; what stands in the same
    package is told as the place. passing: exceptions that are let through as well. kind: of what.
    """

    __slots__ = ("_depth", "distribution", "joint_type", "kind", "passing", "root")

    def __init__(
        self,
        joint_type: str,
        distribution: str,
        module: str = "",
        passing: tuple[type[BaseException], ...] = (),
        kind: str = "joint type",
    ) -> None:
        self.kind = kind
        self.joint_type = joint_type
        self.distribution = distribution
        self.root = module if module.startswith("jointgeo.") else module.partition(".")[0]
        self.passing: tuple[type[BaseException], ...] = (InputError, *passing)

    def __enter__(self) -> None:
        _enter()
        _RUNNING.depth += 1

    def __exit__(
        self,
        kind: type[BaseException] | None,
        error: BaseException | None,
        trace: TracebackType | None,
    ) -> None:
        _RUNNING.depth -= 1
        _leave()
        printed = _RUNNING.printed
        if printed and not _RUNNING.depth:
            _RUNNING.printed = ""
            reason = "it writes to standard output, which belongs to the answer"
            raise self._fault(reason, printed) from error
        if error is None or isinstance(error, self.passing):
            return
        if isinstance(error, KeyboardInterrupt) and not _raised(trace):
            return
        where = _place(trace, self.root, error)
        if isinstance(error, PluginError):
            if not error.joint_type:
                own = self.joint_type, self.distribution, where, self.kind
                raise _cut(error).named(*own) from error
            return
        reason = f"{type(error).__name__}: {told(error)}"
        raise self._fault(reason, where) from error

    def _fault(self, reason: str, where: str) -> PluginError:
        return PluginError(reason, self.joint_type, self.distribution, where, self.kind)


def _cut(error: PluginError) -> PluginError:
    return PluginError(one_line(error.reason, _REASON), where=error.where)


def told(error: BaseException) -> str:
    """What an exception says, short and on one line; a third party's may fail even at that."""
    try:
        return one_line(str(error), _REASON - 100)
    except Exception:
        return "(its message cannot be printed)"


def _raised(trace: TracebackType | None) -> bool:
    """Whether the innermost frame stands at a ``raise``."""
    if trace is None:
        return False
    while trace.tb_next is not None:
        trace = trace.tb_next
    code = trace.tb_frame.f_code.co_code
    return 0 <= trace.tb_lasti < len(code) and code[trace.tb_lasti] == _RAISE


def _place(trace: TracebackType | None, root: str, error: BaseException) -> str:
    """File and line of the innermost frame of the plug-in's own package; "" for none."""
    found = ""
    if isinstance(error, SyntaxError) and error.filename:
        found = f"{Path(error.filename).name}:{error.lineno}"
    while trace is not None:
        name = str(trace.tb_frame.f_globals.get("__name__", ""))
        if root and (name == root or name.startswith(f"{root}.")):
            found = f"{Path(trace.tb_frame.f_code.co_filename).name}:{trace.tb_lineno}"
        trace = trace.tb_next
    return found


def guard(
    cls: type,
    distribution: str,
    methods: Iterable[str] = JOINT_METHODS,
    kind: str = "joint type",
) -> None:
    """Let every method of ``cls`` that the library calls answer for itself."""
    for name in methods:
        if getattr(cls, name, None) is None:
            continue
        passing = _UNMEASURED if name == "measure" else ()
        held = next(c.__dict__[name] for c in cls.__mro__ if name in c.__dict__)
        if isinstance(held, classmethod | staticmethod):
            form = type(held)
            made = _wrapped(held.__func__, cls, distribution, passing, kind)
            setattr(cls, name, form(made))
        elif callable(held):
            setattr(cls, name, _wrapped(held, cls, distribution, passing, kind))


def _wrapped(
    method: Callable[..., Any],
    cls: type,
    distribution: str,
    passing: tuple[type[BaseException], ...],
    kind: str,
) -> Callable[..., Any]:
    name = str(cls.name)  # type: ignore[attr-defined]  # every joint type has one

    @functools.wraps(method)
    def run(*given: Any, **named: Any) -> Any:
        with answers(name, distribution, cls.__module__, passing, kind):
            return method(*given, **named)

    return run


def came_from(cls: type, distribution: str) -> None:
    """Remember name and version of the distribution that a class came from."""
    _ORIGINS[cls] = distribution


def origin(cls: type) -> str:
    """Name and version of the distribution that a class came from, as far as is known."""
    return _ORIGINS.get(cls, "an unknown distribution")


def is_shipped(cls: type) -> bool:
    """Whether a class is of the library itself, which answers for it without being asked."""
    return cls.__module__.startswith("jointgeo.")


def answers_for(cls: type) -> answers:
    """As ``answers``, for what is made of a type's drawing or answer after it gave it."""
    return answers(str(getattr(cls, "name", cls.__name__)), origin(cls), cls.__module__)
