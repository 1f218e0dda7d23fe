"""The layers of the library, as data: which folder may import which. Read by ``test_layers``.

A folder imports those above it in ``FOLDERS`` and never the reverse; a new folder, or a new file
beside them, is put there below everything it imports. Inside a folder imports go one way too.
"""

from __future__ import annotations

import ast
import sys
from functools import cache
from pathlib import Path

import attrs

ROOT = Path(__file__).resolve().parents[2]

#: Folders and top-level files of the library, from the ground up.
FOLDERS = (
    "errors",
    "output",
    "geometry",
    "schema",
    "joints",
    "plugin",
    "types",
    "fixtures",
    "planning",
    "uncertainty",
    "checks",
    "setting_aids",
    "solution",
    "pieces",
    "jobs",
    "calibration",
    "fixture_changes",
    "proof",
    "conformance",
    "sheet",
    "fixture_parts",
    "command",
)
#: So many folders and top-level files at most, with the front door. ``fixture_parts`` looks the
#: other way from all others, at the fixture to be built and not at a joint on it.
MOST_FOLDERS = 23

#: The library alone needs these and the standard library.
OUTSIDE = frozenset({"attrs", "numpy"})


@attrs.frozen
class Narrow:
    """What a part of the library may import where that is less than all below it.

    library: folders or files of the library. apart: files that may import all below them.
    one_another: whether its files may import each other.
    """

    library: frozenset[str]
    apart: frozenset[str] = frozenset()
    one_another: bool = True


NARROW = {
    # A joint type writes against the contract and nothing else, as a third party's would.
    "types": Narrow(frozenset({"plugin"}), one_another=False),
    # The dry fit holds settings against solids; it may share no arithmetic with what made them.
    # Its command's two files alone fetch the settings that it is given.
    "proof": Narrow(
        frozenset({"errors", "output"}), apart=frozenset({"proof.command", "proof.piececommand"})
    ),
}

#: Distributions that a folder may import beside attrs and numpy.
EXTRAS = {
    "pieces": frozenset({"scipy"}),
    "proof": frozenset({"manifold3d"}),
    "sheet": frozenset({"ezdxf"}),
    "fixture_parts": frozenset({"ezdxf"}),
    "conformance": frozenset({"pytest"}),
}

#: What stands beside the library, and what each may import of it and of the outside.
BESIDE = {
    "service/jointgeo_service": frozenset(
        # werkzeug comes with flask, apispec and webargs with flask-smorest.
        {"jointgeo", "flask", "werkzeug", "flask_smorest", "apispec", "webargs"}
        | {"marshmallow", "orjson", "waitress"}
        | OUTSIDE
    ),
    "clients/python/jointgeo_client": frozenset({"requests"}),
}

#: What lies at the top of the repository, dotfiles and what git ignores apart.
TOP = frozenset(
    {"README.md", "DEVELOPERS.md", "pyproject.toml", "jointgeo", "service", "clients", "tests"}
)
MOST_LINES = 400


def python_files(*folders: str) -> list[Path]:
    return sorted(p for folder in folders for p in (ROOT / folder).rglob("*.py"))


def modules() -> dict[str, Path]:
    """Files of the library by dotted name below ``jointgeo``; "" is its front door."""
    out = {}
    for path in python_files("jointgeo"):
        steps = path.relative_to(ROOT / "jointgeo").with_suffix("").parts
        out[".".join(steps[:-1] if steps[-1] == "__init__" else steps)] = path
    return out


@cache
def imports(path: Path, package: str = "") -> frozenset[str]:
    """Every dotted name a file imports, at its top or anywhere else in it.

    ``from a import b`` gives ``a.b`` and it is for the caller to see whether that is a file.
    package: where relative imports start.
    """
    found = set()
    for node in ast.walk(ast.parse(path.read_text("utf-8"))):
        if isinstance(node, ast.Import):
            found |= {alias.name for alias in node.names}
        elif isinstance(node, ast.ImportFrom):
            base = node.module or ""
            if node.level:
                steps = package.split(".")
                base = ".".join([*steps[: len(steps) - node.level + 1], *filter(None, [base])])
            found |= {f"{base}.{alias.name}" for alias in node.names}
    return frozenset(found)


def library_imports(path: Path, known: dict[str, Path]) -> set[str]:
    """The files of the library a file imports, by dotted name below ``jointgeo``."""
    name = next((n for n, p in known.items() if p == path), "")
    inner = path.name == "__init__.py"
    package = ".".join(filter(None, ["jointgeo", name if inner else name.rpartition(".")[0]]))
    found = set()
    for dotted in imports(path, package):
        if dotted != "jointgeo" and not dotted.startswith("jointgeo."):
            continue
        below = dotted.removeprefix("jointgeo").removeprefix(".")
        while below and below not in known:  # a name out of a file, not a file itself
            below = below.rpartition(".")[0]
        found.add(below)
    return found


def outside_imports(path: Path) -> set[str]:
    """Top-level names a file imports that are neither its own package nor the standard library."""
    tops = {dotted.partition(".")[0] for dotted in imports(path, "its_own")}
    return tops - set(sys.stdlib_module_names) - {"its_own"}
