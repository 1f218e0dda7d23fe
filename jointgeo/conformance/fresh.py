"""Answers of a process that has answered nothing else.

Knows how to find a class again in another process; judges nothing.

The other process imports a class once and answers each set of parameters in a copy of itself that
has never seen another, so that nothing a type may keep between two joints is there. Where a process
cannot be copied a new one is started for each set.
"""

from __future__ import annotations

import atexit
import contextlib
import hashlib
import importlib
import importlib.util
import json
import os
import subprocess
import sys
from functools import cache
from pathlib import Path
from typing import Any

from jointgeo.conformance.bench import wide_fixture
from jointgeo.conformance.subject import answers
from jointgeo.errors import PluginError
from jointgeo.joints.joint_type import JointType

__all__ = ["answer", "fresh_answers"]

COPIES = hasattr(os, "fork")


def answer(cls: type[JointType], values: dict[str, Any]) -> str:
    """A digest of both hands' answers on the wide fixture."""
    text = repr(list(answers(cls(**values), wide_fixture())))
    return hashlib.sha256(text.encode()).hexdigest()


def fresh_answers(cls: type[JointType], sets: tuple[dict[str, Any], ...]) -> list[str]:
    """``answer`` of each set of parameters, each in a process that has answered nothing else.

    Raises PluginError where the class is not found again by its module and name.
    """
    if COPIES:
        return _copies().asked(cls, list(sets))
    found: list[str] = []
    for one in sets:
        with _Other() as other:
            found += other.asked(cls, [one])
    return found


@cache
def _copies() -> _Other:
    """One process to make copies of, for as long as this one lasts."""
    other = _Other()
    atexit.register(other.end)
    return other


class _Other:
    """A process that reads a question on each line and answers with a line."""

    def __init__(self) -> None:
        run = [sys.executable, "-c", f"import {__name__} as f; f.main()"]
        self._process = subprocess.Popen(  # noqa: S603 - this very interpreter and this very file
            run, stdin=subprocess.PIPE, stdout=subprocess.PIPE, text=True, encoding="utf-8"
        )

    def __enter__(self) -> _Other:
        return self

    def __exit__(self, *_: object) -> None:
        self.end()

    def end(self) -> None:
        """Let it read to the end of its questions, and wait for it."""
        self._process.communicate()

    def asked(self, cls: type[JointType], sets: list[dict[str, Any]]) -> list[str]:
        file = str(getattr(sys.modules[cls.__module__], "__file__", None) or "")
        named = {"module": cls.__module__, "file": file, "name": cls.__qualname__}
        stdin, stdout = self._process.stdin, self._process.stdout
        if stdin is None or stdout is None:
            raise RuntimeError("the other process has no pipes")
        stdin.write(json.dumps(named | {"path": sys.path, "sets": sets}) + "\n")
        stdin.flush()
        told = json.loads(stdout.readline() or '{"fault": "it ended"}')
        if "fault" in told:
            raise PluginError(f"the class cannot be used in a process of its own: {told['fault']}")
        return [str(found) for found in told["answers"]]


# The other process -------------------------------------------------------------------


def main() -> None:
    """Answer each question on standard input with a line on standard output."""
    real, sys.stdout = sys.stdout, sys.stderr  # what a type prints is none of the answer
    for line in sys.stdin:
        request = json.loads(line)
        sys.path[:] = [*sys.path, *(p for p in request["path"] if p not in sys.path)]
        try:
            cls = _found(request["module"], request["file"], request["name"])
            told: dict[str, Any] = {"answers": [_apart(cls, v) for v in request["sets"]]}
        except Exception as error:  # a plug-in's module may raise anything at all
            told = {"fault": f"{type(error).__name__}: {error}"}
        real.write(json.dumps(told) + "\n")
        real.flush()


def _found(module: str, file: str, name: str) -> type[JointType]:
    root = Path(file).resolve().parents[module.count(".")] if file else Path()
    sys.path.append(str(root))
    found: Any
    try:
        found = importlib.import_module(module)
    except ImportError:  # loaded from its file by somebody's own hand
        spec = importlib.util.spec_from_file_location(module, file)
        if spec is None or spec.loader is None:
            raise
        found = importlib.util.module_from_spec(spec)
        sys.modules[module] = found
        spec.loader.exec_module(found)
    for step in name.split("."):
        found = getattr(found, step)
    cls: type[JointType] = found
    return cls


def _apart(cls: type[JointType], values: dict[str, Any]) -> str:
    """``answer`` in a copy of this process; what it raises is the answer too."""
    if not COPIES:
        return _told(cls, values)
    read, write = os.pipe()
    child = os.fork()
    if not child:
        with contextlib.suppress(BaseException):
            os.write(write, _told(cls, values).encode())
        os._exit(0)
    os.close(write)
    with os.fdopen(read, encoding="utf-8") as pipe:
        said = pipe.read()
    os.waitpid(child, 0)
    return said


def _told(cls: type[JointType], values: dict[str, Any]) -> str:
    try:
        return answer(cls, values)
    except Exception as error:  # a plug-in's class may raise anything; it is compared, not judged
        return f"{type(error).__name__}: {error}"
