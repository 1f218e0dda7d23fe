"""The law of the house: one-way imports, small files that say what they are, nothing astray."""

from __future__ import annotations

import ast
import fnmatch
import graphlib
from pathlib import Path

import pytest

from jointgeo.registry import joint_types

from . import house
from .house import BESIDE, OUTSIDE, PACKAGES, ROAD, ROOT

MODULES = house.modules()
OURS = house.python_files("jointgeo", "service", "clients", "tests")


def package_of(module: str) -> str | None:
    """The package of ``PACKAGES`` a module belongs to; None for the road."""
    first = module.partition(".")[0]
    return first if first in PACKAGES else None


def shown(path: Path) -> str:
    return path.relative_to(ROOT).as_posix()


def test_every_file_stands_on_the_road_or_in_a_package() -> None:
    on_no_list = {m for m in MODULES if m and m not in ROAD and package_of(m) is None}
    assert not on_no_list, "put these on ROAD, or their package in PACKAGES, in house.py"
    assert set(ROAD) <= set(MODULES), "ROAD names files that are gone"
    gone = {p for p in PACKAGES if p not in MODULES and not (ROOT / "jointgeo" / p).is_dir()}
    assert not gone, "PACKAGES names packages that are gone"
    assert len(set(ROAD)) == len(ROAD)


@pytest.mark.parametrize("module", [m for m in ROAD if m not in PACKAGES])
def test_a_file_imports_only_what_stands_above_it(module: str) -> None:
    imported = {package_of(m) or m for m in house.library_imports(MODULES[module], MODULES)}
    below = imported - set(ROAD[: ROAD.index(module)])
    assert not below, f"{module} imports what is not above it on the road"


def test_no_ring_of_imports_anywhere() -> None:
    """Importing a file of a package from outside loads the package's front door as well."""
    graph = {}
    for module, path in MODULES.items():
        imported = house.library_imports(path, MODULES) - {module}
        doors = {m.partition(".")[0] for m in imported} & set(MODULES)
        graph[module] = imported | (doors - {module.partition(".")[0]})
    graphlib.TopologicalSorter(graph).prepare()  # CycleError names the ring


@pytest.mark.parametrize("module", sorted(m for m in MODULES if package_of(m)))
def test_a_package_keeps_to_its_rule(module: str) -> None:
    name = package_of(module)
    assert name is not None
    rule = PACKAGES[name]
    mine = rule.core | rule.extra.get(module.removeprefix(f"{name}."), frozenset())
    for imported in house.library_imports(MODULES[module], MODULES):
        if package_of(imported) == name:
            assert rule.one_another, f"{module} imports its neighbour {imported}"
        elif package_of(imported):
            assert package_of(imported) in rule.packages, f"{module} imports {imported}"
        else:
            assert imported in mine, f"{module} imports {imported or 'the front door'}"


@pytest.mark.parametrize("name", PACKAGES)
def test_files_of_a_package_import_one_another_one_way(name: str) -> None:
    inside = {m for m in MODULES if package_of(m) == name}
    graph = {m: house.library_imports(MODULES[m], MODULES) & inside - {m} for m in inside}
    graphlib.TopologicalSorter(graph).prepare()  # CycleError names the ring


def test_packages_lean_on_one_another_one_way() -> None:
    graph = {name: rule.packages for name, rule in PACKAGES.items()}
    graphlib.TopologicalSorter(graph).prepare()  # CycleError names the ring
    assert all(rule.packages <= set(PACKAGES) for rule in PACKAGES.values())
    for name, rule in PACKAGES.items():
        above = ROAD[: ROAD.index(name)] if name in ROAD else ROAD
        assert rule.core <= set(above), f"{name} may import what does not stand above it"


@pytest.mark.parametrize("module", sorted(MODULES))
def test_the_library_needs_attrs_and_numpy_and_what_its_packages_say(module: str) -> None:
    name = package_of(module)
    allowed = OUTSIDE | {"jointgeo"} | (PACKAGES[name].outside if name else frozenset())
    assert house.outside_imports(MODULES[module]) <= allowed


@pytest.mark.parametrize("folder", BESIDE)
def test_service_and_client_import_what_they_may(folder: str) -> None:
    files = house.python_files(folder)
    assert files
    for path in files:
        own = folder.rpartition("/")[2]
        strangers = house.outside_imports(path) - BESIDE[folder] - {own}
        assert not strangers, f"{shown(path)} imports {sorted(strangers)}"


def test_service_and_client_know_no_joint_type_by_name() -> None:
    for folder in BESIDE:
        for path in (ROOT / folder).rglob("*"):
            if path.suffix in (".py", ".html", ".json", ".toml", ".txt", ".css", ".js"):
                text = path.read_text("utf-8")
                named = [name for name in joint_types() if name in text]
                assert not named, f"{shown(path)} names {named}"


def test_the_library_knows_no_joint_type_by_name() -> None:
    """Outside ``types`` no text in the code but a docstring may hold one."""
    for module, path in MODULES.items():
        if package_of(module) == "types":
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
    for path in house.python_files("tests/core"):
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
    assert lines <= house.LONGER.get(str(Path(shown(path)).parent), house.MOST_LINES), (
        f"{lines} lines"
    )


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
    assert found == house.TOP


def test_the_reader_of_imports_sees_every_form(tmp_path: Path) -> None:
    """The test above is only as good as this: each form of import, wherever it stands."""
    path = tmp_path / "sample.py"
    path.write_text(
        "import numpy as np\n"
        "import jointgeo.errors\n"
        "from jointgeo import units, nothing\n"
        "from jointgeo.checks.bench import Bench\n"
        "from jointgeo.checks import machine\n"
        "if True:\n    import scipy.spatial\n"
        "def f():\n    from jointgeo.plan import plan_end\n    import flask\n"
        "class C:\n    from .sides import opposite\n",
        "utf-8",
    )
    assert house.library_imports(path, MODULES) == {
        "",  # `nothing` is no file: a name out of the front door
        "errors",
        "units",
        "checks.bench",
        "checks.machine",
        "plan",
        "sides",
    }
    assert house.outside_imports(path) == {"numpy", "scipy", "flask", "jointgeo"}
