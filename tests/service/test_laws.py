"""Laws of the service's own text: no joint type by name, one way of imports, help without Flask."""

from __future__ import annotations

import ast
import re
import subprocess
import sys
from pathlib import Path

import pytest

import jointgeo
import jointgeo_service

FILES = sorted(Path(jointgeo_service.__path__[0]).glob("*.py"))
#: The order of imports: each file may import those before it and no other of the service.
ORDER = [
    "__init__", "limits", "budgets", "strict_json", "properties", "plugins", "problems", "turns",
    "apart", "fixtures", "schemas", "questions", "queries", "shapes", "batches", "lists",
    "reading", "answers", "api", "access", "log", "joint_views", "cell_views", "batch_views",
    "list_views", "catalogue_views", "drawn", "typed", "forms", "frame", "part_pages", "sheet_view",
    "form_parts", "form_views", "piece_budgets", "piece_work", "piece_pages", "change_work",
    "elsewhere", "piece_forms", "start_view", "piece_questions", "piece_shapes", "piece_queries",
    "piece_batches", "said_schemas", "piece_answers", "piece_views", "change_questions",
    "part_views", "change_views", "more_routes", "pages", "app", "server", "worker",
    "piece_worker", "command",
]  # fmt: skip
OWN = {"jointgeo", "jointgeo_service"}
TOOLS = {
    "apispec", "attrs", "flask", "flask_smorest", "marshmallow", "numpy", "orjson", "waitress",
    "webargs", "werkzeug",
}  # fmt: skip


def _imported(path: Path) -> set[str]:
    found: set[str] = set()
    for node in ast.walk(ast.parse(path.read_text("utf-8"))):
        if isinstance(node, ast.Import):
            found.update(alias.name for alias in node.names)
        elif isinstance(node, ast.ImportFrom):
            assert node.level == 0, path
            package = node.module == "jointgeo_service"
            names = [f"{node.module}.{a.name}" for a in node.names] if package else [node.module]
            found.update(n for n in names if n)
    return found


@pytest.mark.parametrize("path", FILES, ids=lambda p: p.stem)
def test_no_joint_type_is_known_by_name(path: Path) -> None:
    text = path.read_text("utf-8").lower()
    words = {word for name in jointgeo.joint_types() for word in (name, name.replace("_", " "))}
    words |= {name.replace("_", "") for name in jointgeo.joint_types()}
    assert not [word for word in words if word in text]


@pytest.mark.parametrize("path", FILES, ids=lambda p: p.stem)
def test_imports_go_one_way(path: Path) -> None:
    below = ORDER[: ORDER.index(path.stem)]
    for name in _imported(path):
        root, _, rest = name.partition(".")
        if root == "jointgeo_service":
            assert rest in below, f"{path.stem} imports {rest}"
        elif root == "jointgeo":
            assert not rest.startswith(("types", "checks")), f"{path.stem} imports {name}"
        else:
            assert root in TOOLS | OWN | set(sys.stdlib_module_names), name


def test_every_file_has_its_place_and_says_what_it_knows() -> None:
    assert sorted(ORDER) == [p.stem for p in FILES]
    for path in FILES:
        says = ast.get_docstring(ast.parse(path.read_text("utf-8")))
        assert says, path
        assert re.search(r"[Kk]nows|[Ii]mports nothing|Documentation only", says), path


def test_the_joint_types_of_the_library_know_no_service() -> None:
    for path in Path(jointgeo.__path__[0]).rglob("*.py"):
        assert not {n.partition(".")[0] for n in _imported_anyhow(path)} & {"jointgeo_service"}


def _imported_anyhow(path: Path) -> set[str]:
    tree = ast.parse(path.read_text("utf-8"))
    froms = {n.module or "" for n in ast.walk(tree) if isinstance(n, ast.ImportFrom)}
    return froms | {a.name for n in ast.walk(tree) if isinstance(n, ast.Import) for a in n.names}


# Takes away what the extra installs, as if it had never been there.
WITHOUT = """
import sys, argparse
class Missing:
    def find_spec(self, name, path=None, target=None):
        if name.partition(".")[0] in {missing!r}:
            raise ModuleNotFoundError(f"No module named {{name!r}}", name=name)
sys.meta_path.insert(0, Missing())
from jointgeo_service.command import add
parser = argparse.ArgumentParser(prog="jointgeo")
add(parser.add_subparsers(required=True))
asked = parser.parse_args()
sys.exit(asked.run(asked))
"""


@pytest.mark.parametrize("missing", ["flask", "flask_smorest", "marshmallow", "waitress",
                                     "flask_swagger_ui"])  # fmt: skip
def test_help_works_and_running_says_what_to_install(missing: str) -> None:
    code = WITHOUT.format(missing={missing})
    command = [sys.executable, "-c", code, "serve"]
    helped = subprocess.run([*command, "--help"], capture_output=True, text=True, check=False)
    assert helped.returncode == 0
    assert "--port" in helped.stdout
    run = subprocess.run([*command, "--port", "0"], capture_output=True, text=True, check=False)
    assert run.returncode == 2
    assert run.stdout == ""
    assert f"{missing} is missing" in run.stderr
    assert "python -m pip install '.[service]'" in run.stderr
    assert "Traceback" not in run.stderr
