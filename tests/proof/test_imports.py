"""The proof shares no code with what it proves: held by reading the imports."""

from __future__ import annotations

import ast
from pathlib import Path

import pytest

import jointgeo.proof

FOLDER = Path(jointgeo.proof.__file__).parent
FILES = sorted(FOLDER.glob("*.py"))
ORDER = [
    *("finding", "mesh", "reader", "kernel", "frames", "drawing", "form", "faces"),
    *("clamped", "tool", "rebuild", "solids", "shop", "filled", "laws", "bearing", "apart"),
    *("fit", "pieceform", "piece", "sweep", "chain", "export"),
]
#: Faults, and files written whole; no arithmetic of what is proved.
LIBRARY = {"jointgeo.errors", "jointgeo.output", "jointgeo.output.progress"}
COMMAND_ONLY = {
    "command": {
        *("jointgeo.jobs.file", "jointgeo.jobs.named", "jointgeo.joints.check"),
        *("jointgeo.solution.setup", "jointgeo.solution.solution"),
    },
    "piececommand": {
        *("jointgeo.pieces.answerfile", "jointgeo.pieces.file", "jointgeo.pieces.solve"),
    },
}


def imported(path: Path) -> set[str]:
    """Modules a file imports anywhere in it, standard library left out."""
    out: set[str] = set()
    for node in ast.walk(ast.parse(path.read_text("utf-8"))):
        if isinstance(node, ast.Import):
            out |= {alias.name for alias in node.names}
        elif isinstance(node, ast.ImportFrom):
            assert node.level == 0
            out.add(str(node.module))
    return {
        name for name in out if name.split(".")[0] in ("jointgeo", "numpy", "attrs", "manifold3d")
    }


def test_every_file_is_looked_at() -> None:
    assert {f.stem for f in FILES} == {*ORDER, "__init__", *COMMAND_ONLY}


@pytest.mark.parametrize("path", FILES, ids=lambda p: p.stem)
def test_nothing_of_the_library_but_its_errors(path: Path) -> None:
    own = {n for n in imported(path) if n.startswith("jointgeo")}
    beyond = {n for n in own if not n.startswith("jointgeo.proof")}
    assert beyond <= LIBRARY | COMMAND_ONLY.get(path.stem, set())


@pytest.mark.parametrize("path", FILES, ids=lambda p: p.stem)
def test_only_the_adapter_names_the_kernel(path: Path) -> None:
    """By text: the adapter imports it by name, so that it can be missing."""
    names = [
        node.value
        for node in ast.walk(ast.parse(path.read_text("utf-8")))
        if isinstance(node, ast.Constant) and node.value == "manifold3d"
    ]
    assert bool(names) == (path.stem == "kernel")
    assert "manifold3d" not in imported(path)


@pytest.mark.parametrize("name", ORDER)
def test_imports_go_one_way(name: str) -> None:
    own = {n.removeprefix("jointgeo.proof.") for n in imported(FOLDER / f"{name}.py")}
    later = set(ORDER[ORDER.index(name) :])
    assert not own & later
