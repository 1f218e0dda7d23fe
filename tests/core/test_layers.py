"""Layers and tidiness: one-way imports, small files that say what they are, nothing astray."""

from __future__ import annotations

import ast
import fnmatch
import graphlib
import subprocess
import sys
from pathlib import Path

import pytest

from jointgeo.joints.registry import joint_types

from . import layers
from .layers import BESIDE, EXTRAS, FOLDERS, MOST_FOLDERS, NARROW, OUTSIDE, ROOT

MODULES = layers.modules()
OURS = layers.python_files("jointgeo", "service", "clients", "tests")


def shown(path: Path) -> str:
    return path.relative_to(ROOT).as_posix()


def imported_by(module: str) -> set[str]:
    return layers.library_imports(MODULES[module], MODULES) - {module}


def folder_of(module: str) -> str:
    return module.partition(".")[0]


def within(module: str, places: frozenset[str]) -> bool:
    """Whether a module is one of ``places`` or lies in one."""
    return any(module == place or module.startswith(f"{place}.") for place in places)


def test_every_file_lies_in_a_folder_that_is_listed() -> None:
    found = {folder_of(m) for m in MODULES} - {""}
    assert found == set(FOLDERS), "FOLDERS in layers.py is not what lies in jointgeo/"
    assert len(set(FOLDERS)) == len(FOLDERS) < MOST_FOLDERS


@pytest.mark.parametrize("module", sorted(m for m in MODULES if m))
def test_a_file_imports_what_lies_below_it(module: str) -> None:
    mine = FOLDERS.index(folder_of(module))
    for other in imported_by(module):
        assert other, f"{module} imports the front door"
        assert FOLDERS.index(folder_of(other)) <= mine, f"{module} imports {other}, above it"


def test_no_ring_of_imports_anywhere() -> None:
    """Importing a file of a folder from outside loads the folder's front door as well."""
    graph = {}
    for module in MODULES:
        imported = imported_by(module)
        doors = {folder_of(m) for m in imported} & set(MODULES)
        graph[module] = imported | (doors - {folder_of(module)})
    graphlib.TopologicalSorter(graph).prepare()  # CycleError names the ring


@pytest.mark.parametrize("place", NARROW)
def test_some_keep_to_less_than_all_below_them(place: str) -> None:
    rule = NARROW[place]
    looked_at = [m for m in MODULES if within(m, frozenset({place})) and m not in rule.apart]
    assert looked_at
    for module in looked_at:
        for other in imported_by(module):
            if within(other, frozenset({place})):
                # A second file of its own is named after it.
                own = other.startswith(f"{module}_")
                assert rule.one_another or own, f"{module} imports its neighbour {other}"
            else:
                assert within(other, rule.library), f"{module} imports {other}"


@pytest.mark.parametrize("module", sorted(MODULES))
def test_the_library_needs_attrs_and_numpy_and_what_a_folder_says(module: str) -> None:
    allowed = OUTSIDE | {"jointgeo"} | EXTRAS.get(folder_of(module), frozenset())
    assert layers.outside_imports(MODULES[module]) <= allowed


@pytest.mark.parametrize("folder", BESIDE)
def test_service_and_client_import_what_they_may(folder: str) -> None:
    files = layers.python_files(folder)
    assert files
    for path in files:
        own = folder.rpartition("/")[2]
        unknown = layers.outside_imports(path) - BESIDE[folder] - {own}
        assert not unknown, f"{shown(path)} imports {sorted(unknown)}"


def test_service_and_client_know_no_joint_type_by_name() -> None:
    for folder in BESIDE:
        for path in (ROOT / folder).rglob("*"):
            if path.suffix in (".py", ".html", ".json", ".toml", ".txt", ".css", ".js"):
                text = path.read_text("utf-8")
                named = [name for name in joint_types() if name in text]
                assert not named, f"{shown(path)} names {named}"


def test_the_library_knows_no_joint_type_by_name() -> None:
    """Outside the types of joints and pieces no text in the code but a docstring may hold one."""
    for module, path in MODULES.items():
        if module.startswith(("types", "pieces.kinds")):
            continue
        for text in texts(ast.parse(path.read_text("utf-8"))):
            assert not any(name in text for name in joint_types()), f"{module}: {text!r}"


def texts(tree: ast.AST) -> list[str]:
    """Text constants of a file that are no docstrings."""
    docs = {
        id(node.body[0].value)
        for node in ast.walk(tree)
        if isinstance(node, ast.Module | ast.ClassDef | ast.FunctionDef)
        and node.body
        and isinstance(node.body[0], ast.Expr)
    }
    return [
        node.value
        for node in ast.walk(tree)
        if isinstance(node, ast.Constant) and isinstance(node.value, str) and id(node) not in docs
    ]


def test_tests_of_one_type_stand_in_files_named_after_it() -> None:
    """So that a type is taken out together with its own tests, and nothing else breaks."""
    for path in layers.python_files("tests/core"):
        text = path.read_text("utf-8")
        for name in joint_types():
            if name in text:
                assert path.name.startswith(f"test_type_{name}"), f"{shown(path)} names {name}"


@pytest.mark.parametrize("path", OURS, ids=shown)
def test_a_file_opens_with_what_it_is(path: Path) -> None:
    text = ast.get_docstring(ast.parse(path.read_text("utf-8")))
    assert text, "a file opens with a docstring"
    assert text.split("\n")[0].strip(), "its first line says what the file is"


@pytest.mark.parametrize("path", OURS, ids=shown)
def test_a_file_is_small(path: Path) -> None:
    lines = len(path.read_text("utf-8").splitlines())
    assert lines <= layers.MOST_LINES, f"{lines} lines"


def test_nothing_lies_about_at_the_top() -> None:
    ignored = [
        line.strip().rstrip("/")
        for line in (ROOT / ".gitignore").read_text("utf-8").splitlines()
        if line.strip() and not line.startswith("#")
    ]
    found = {
        p.name
        for p in ROOT.iterdir()
        if not p.name.startswith(".") and not any(fnmatch.fnmatch(p.name, i) for i in ignored)
    }
    assert found == layers.TOP


def test_the_reader_of_imports_sees_every_form(tmp_path: Path) -> None:
    """The test above is only as good as this: each form of import, wherever it stands."""
    path = tmp_path / "sample.py"
    path.write_text(
        "import numpy as np\n"
        "import jointgeo.schema.units\n"
        "from jointgeo import errors, nothing\n"
        "from jointgeo.checks.context import Context\n"
        "from jointgeo.checks import machine\n"
        "if True:\n    import scipy.spatial\n"
        "def f():\n    from jointgeo.planning.end_plan import plan_end\n    import flask\n"
        "class C:\n    from .command import main\n",
        "utf-8",
    )
    assert layers.library_imports(path, MODULES) == {
        "",  # `nothing` is no file: a name out of the front door
        "errors",
        "schema.units",
        "checks.context",
        "checks.machine",
        "planning.end_plan",
        "command",
    }
    assert layers.outside_imports(path) == {"numpy", "scipy", "flask", "jointgeo"}


def test_one_joint_is_solved_without_arrays() -> None:
    """Loading numpy takes longer than solving a thousand joints: the solver's chain has none."""
    code = (
        "import sys, jointgeo\n"
        "joint = next(iter(jointgeo.joint_types().values())).examples()[0]\n"
        "jointgeo.solve(joint, jointgeo.load_fixture('porch')).to_dict()\n"
        "print('numpy' in sys.modules)"
    )
    done = subprocess.run(
        [sys.executable, "-c", code], capture_output=True, text=True, check=True, timeout=60
    )
    assert done.stdout == "False\n"


def test_the_front_door_loads_what_is_asked_for_and_has_all_it_says() -> None:
    code = (
        "import sys, jointgeo\n"
        "print([m for m in sys.modules if m.startswith('jointgeo.')])\n"
        "print([n for n in jointgeo.__all__ if not hasattr(jointgeo, n)])\n"
        "print(set(jointgeo.__all__) <= set(dir(jointgeo)), hasattr(jointgeo, 'nothing'))"
    )
    done = subprocess.run(
        [sys.executable, "-c", code], capture_output=True, text=True, check=True, timeout=60
    )
    assert done.stdout == "[]\n[]\nTrue False\n"
