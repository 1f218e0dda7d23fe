"""Names of the checks that a file can make, read from its text; to see that each is tried."""

from __future__ import annotations

import ast
import re
from pathlib import Path

_MAKERS = {"at_least": 0, "at_most": 0}


def check_names(path: Path) -> set[str]:
    """First arguments of every ``at_least`` and ``at_most`` in that file.

    A name put together at run time comes out as a pattern, e.g. ``.+_range``. Raises
    TypeError for a name that cannot be read from the text, so that none goes unseen.
    """
    found = set()
    for node in ast.walk(ast.parse(path.read_text("utf-8"))):
        if not (isinstance(node, ast.Call) and isinstance(node.func, ast.Name)):
            continue
        if node.func.id not in _MAKERS:
            continue
        name = node.args[0]
        if isinstance(name, ast.Constant):
            found.add(re.escape(str(name.value)))
        elif isinstance(name, ast.JoinedStr):
            pieces = (
                re.escape(str(v.value)) if isinstance(v, ast.Constant) else ".+"
                for v in name.values
            )
            found.add("".join(pieces))
        else:
            raise TypeError(f"{path.name}, line {node.lineno}: a check's name is not a text")
    return found


def untried(paths: list[Path], tried: set[str]) -> set[str]:
    """Checks these files can make that no tried name matches."""
    made = set().union(*(check_names(path) for path in paths))
    return {name for name in made if not any(re.fullmatch(name, t) for t in tried)}


def unknown(paths: list[Path], tried: set[str]) -> set[str]:
    """Tried names that no file makes: tests of a check that is gone."""
    made = set().union(*(check_names(path) for path in paths))
    return {t for t in tried if not any(re.fullmatch(name, t) for name in made)}
