"""Whether a third-party module can be imported and done with, tried in a process that can be ended.

Knows processes and names of modules; knows no joint type and no registry.

An exception of an import is caught where it is imported. What cannot be caught is an import that
never ends, and one that ends the process: whoever lists joint types, or starts a service, would
hang or be gone. So a module that is not loaded yet is first imported in a child, all of them at
once, and one that does not come back within ``SECONDS`` is not imported here. What ships is never
tried, and pays nothing.
"""

from __future__ import annotations

import os
import subprocess
import sys
import time
from collections.abc import Iterable

__all__ = ["SECONDS", "refusal", "skip", "tried"]

SECONDS = 10.0
#: What the child ends with once the import is over, well or with an exception.
_OVER = 77
_CODE = (
    "import importlib, os, sys\n"
    "try:\n    importlib.import_module(sys.argv[1])\n"
    "except BaseException:\n    pass\n"
    f"os._exit({_OVER})"
)
#: Why a module is not to be imported, "" for no reason, by its name.
_FOUND: dict[str, str] = {}
_SKIPPED = False


def skip() -> None:
    """For a process that somebody else will end: nothing more is tried in it."""
    global _SKIPPED
    _SKIPPED = True


def tried(modules: Iterable[str]) -> None:
    """Try those of the modules that are neither loaded nor tried, all at once."""
    if _SKIPPED or not sys.executable:
        return
    wanted = {m for m in modules if m not in _FOUND and m not in sys.modules}
    running = {module: _begun(module) for module in sorted(wanted)}
    until = time.monotonic() + SECONDS
    for module, child in running.items():
        try:
            code = child.wait(timeout=max(0.0, until - time.monotonic()))
        except subprocess.TimeoutExpired:
            child.kill()
            child.wait()
            _FOUND[module] = f"its import did not end within {SECONDS:g} s"
        else:
            ended = f"its import ended the process with code {code}"
            _FOUND[module] = "" if code == _OVER else ended


def refusal(module: str) -> str:
    """Why the module is not to be imported here; "" for no reason."""
    tried([module])
    return _FOUND.get(module, "")


def _begun(module: str) -> subprocess.Popen[bytes]:
    return subprocess.Popen(  # noqa: S603  # our own interpreter, on a module that is installed
        [sys.executable, "-c", _CODE, module],
        stdin=subprocess.DEVNULL,
        stdout=subprocess.DEVNULL,
        stderr=subprocess.DEVNULL,
        env=os.environ | {"PYTHONPATH": os.pathsep.join(filter(None, sys.path))},
    )
