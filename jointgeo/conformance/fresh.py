"""Answers of a process that has answered nothing else.

Knows how to find a class again in another process; judges nothing.

``python -m jointgeo.conformance.fresh`` is the other process: it imports the class once and answers
each set of parameters in a copy of itself that has never seen another, so that nothing a type may
keep between two joints is there. Where a process cannot be copied it answers one set and ends.
"""

from __future__ import annotations

import contextlib
import hashlib
import importlib
import importlib.util
import json
import os
import subprocess
import sys
from pathlib import Path
from typing import Any

from jointgeo.conformance.bench import wide_fixture
from jointgeo.conformance.subject import answers
from jointgeo.errors import PluginError
from jointgeo.joints.joint_type import JointType

__all__ = ["answer", "fresh_answers"]

COPIES = hasattr(os, "fork")
LONGEST_S = 120.0  # for all sets of one type; the slowest that ships takes one


def answer(cls: type[JointType], values: dict[str, Any]) -> str:
    """A digest of both hands' answers on the wide fixture."""
    text = repr(list(answers(cls(**values), wide_fixture())))
    return hashlib.sha256(text.encode()).hexdigest()


def fresh_answers(cls: type[JointType], sets: tuple[dict[str, Any], ...]) -> list[str]:
    """``answer`` of each set of parameters, each in a process that has answered nothing else.

    Raises PluginError where the class is not found again by its module and name.
    """
    lots = [list(sets)] if COPIES else [[one] for one in sets]
    return [found for lot in lots for found in _asked(cls, lot)]


def _asked(cls: type[JointType], sets: list[dict[str, Any]]) -> list[str]:
    module = sys.modules[cls.__module__]
    file = str(getattr(module, "__file__", None) or "")
    request = {
        "module": cls.__module__,
        "file": file,
        "name": cls.__qualname__,
        "path": sys.path,
        "sets": sets,
    }
    run = [sys.executable, "-c", f"import {__name__} as f; f.main()"]
    done = subprocess.run(  # noqa: S603 - this very interpreter and this very file
        run,
        input=json.dumps(request),
        capture_output=True,
        text=True,
        check=False,
        timeout=LONGEST_S,
    )
    if done.returncode:
        last = (done.stderr.strip().splitlines() or ["it says nothing"])[-1]
        raise PluginError(f"the class cannot be used in a process of its own: {last}")
    return [str(found) for found in json.loads(done.stdout)]


# The other process -------------------------------------------------------------------


def main() -> None:
    """Read a request on standard input, write the digests on standard output."""
    request = json.load(sys.stdin)
    sys.path[:] = [*sys.path, *(p for p in request["path"] if p not in sys.path)]
    real, sys.stdout = sys.stdout, sys.stderr  # what a type prints is none of the answer
    cls = _found(request["module"], request["file"], request["name"])
    told = [_apart(cls, values) for values in request["sets"]]
    real.write(json.dumps(told))
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
