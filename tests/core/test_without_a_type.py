"""Taking out one joint type, file and entry point, breaks nothing but its own tests.

The library is copied without the type, with a dist-info that no longer names it, and asked
in a process of its own: the others list and solve, the command lists them, and the tests
that hold for every type pass on what is left.
"""

from __future__ import annotations

import importlib.metadata
import json
import os
import shutil
import subprocess
import sys
from pathlib import Path

import pytest

from jointgeo.joints.registry import GROUP, joint_types

from .layers import ROOT

DISTRIBUTION = importlib.metadata.distribution("jointgeo")
OWN = {
    e.name: e.value
    for e in DISTRIBUTION.entry_points.select(group=GROUP)
    if e.value.startswith("jointgeo.types.")
}

SOLVE_ALL = """
import json, jointgeo
fixture = jointgeo.load_fixture("porch")
solved = {}
for name, cls in jointgeo.joint_types().items():
    joint = cls.examples()[0]
    answer = jointgeo.solve(joint, fixture)
    solved[name] = [len(answer.setups), len(answer.checks)]
print(json.dumps({
    "where": jointgeo.__file__, "solved": solved, "failures": [str(f) for f in jointgeo.failures()],
}))
"""

COMMAND = "import sys; from jointgeo.command import main; sys.exit(main())"


@pytest.fixture
def without(tmp_path: Path, request: pytest.FixtureRequest) -> tuple[str, Path]:
    """A copy of the library that has never heard of one type."""
    name: str = request.param
    gone = OWN[name].partition(":")[0].rpartition(".")[2]
    shutil.copytree(
        ROOT / "jointgeo",
        tmp_path / "jointgeo",
        ignore=shutil.ignore_patterns("__pycache__", f"{gone}.py"),
    )
    info = tmp_path / f"jointgeo-{DISTRIBUTION.version}.dist-info"
    info.mkdir()
    metadata = f"Metadata-Version: 2.1\nName: jointgeo\nVersion: {DISTRIBUTION.version}\n"
    (info / "METADATA").write_text(metadata, "utf-8")
    left = [f"{n} = {v}" for n, v in OWN.items() if n != name]
    (info / "entry_points.txt").write_text("\n".join([f"[{GROUP}]", *left, ""]), "utf-8")
    return name, tmp_path


def run(folder: Path, *arguments: str) -> subprocess.CompletedProcess[str]:
    """Python with the copy first on its path."""
    return subprocess.run(
        [sys.executable, *arguments],
        cwd=folder,
        env={
            **os.environ,
            "PYTHONPATH": str(folder),
            "PYTHONDONTWRITEBYTECODE": "1",
            "PYTEST_DISABLE_PLUGIN_AUTOLOAD": "1",
        },
        capture_output=True,
        text=True,
        timeout=120,
        check=False,
    )


every_type = pytest.mark.parametrize("without", sorted(OWN), indirect=True)


def test_the_types_that_ship_are_the_ones_taken_out_here() -> None:
    assert set(OWN) == set(joint_types())


@every_type
def test_the_other_types_list_and_solve(without: tuple[str, Path]) -> None:
    name, folder = without
    done = run(folder, "-c", SOLVE_ALL)
    assert done.returncode == 0, done.stderr
    answer = json.loads(done.stdout)
    assert Path(answer["where"]).is_relative_to(folder)
    assert set(answer["solved"]) == set(OWN) - {name}
    assert all(setups and checks for setups, checks in answer["solved"].values())
    assert answer["failures"] == []


@every_type
def test_the_command_lists_the_rest(without: tuple[str, Path]) -> None:
    name, folder = without
    done = run(folder, "-c", COMMAND, "types")
    assert done.returncode == 0, done.stderr
    listed = {line.split()[0] for line in done.stdout.splitlines()}
    assert listed == set(OWN) - {name}
    asked = run(folder, "-c", COMMAND, "types", name)
    assert asked.returncode == 2
    assert "is not a known joint type" in asked.stderr
    assert "Traceback" not in asked.stderr


@every_type
def test_what_holds_for_every_type_holds_for_the_rest(without: tuple[str, Path]) -> None:
    _, folder = without
    tests = folder / "tests"
    shutil.copytree(
        ROOT / "tests" / "core",
        tests / "core",
        ignore=shutil.ignore_patterns("__pycache__", "test_*"),
    )
    shutil.copy(ROOT / "tests" / "core" / "test_every_type.py", tests / "core")
    shutil.copy(ROOT / "tests" / "conftest.py", tests)
    # One fixture is enough here; all of them are tried on the whole library.
    porch_only = ["-k", "not way and not right"]
    done = run(folder, "-m", "pytest", "-q", "-p", "no:cacheprovider", *porch_only, str(tests))
    assert done.returncode == 0, done.stdout[-3000:]
    assert " passed" in done.stdout
