"""A virtual environment with jointgeo and plug-ins installed from wheels.

Knows files, pip and zip archives; nothing of jointgeo.
"""

from __future__ import annotations

import json
import os
import shutil
import subprocess
import sys
import zipfile
from pathlib import Path
from typing import Any

import attrs

__all__ = ["Shop", "built_wheel", "hand_made_wheel", "set_up"]

ROOT = Path(__file__).parent.parent.parent
PLUGIN = Path(__file__).parent / "porch-half-lap"
PIECE_PLUGIN = Path(__file__).parent / "porch-footstool"
NOT_SOURCE = shutil.ignore_patterns(
    ".*", "*.egg-info", "__pycache__", "build", "dist", "tests", "docs", "node_modules"
)


def _clean() -> dict[str, str]:
    """The environment without what would put another jointgeo on a path."""
    return {k: v for k, v in os.environ.items() if not k.startswith("PYTHON")}


def _pip(*arguments: str) -> None:
    done = subprocess.run(
        [sys.executable, "-m", "pip", "--disable-pip-version-check", *arguments],
        capture_output=True,
        text=True,
        check=False,
        env=_clean(),
    )
    assert done.returncode == 0, done.stdout + done.stderr


@attrs.frozen
class Shop:
    """A virtual environment; beside: folders of further distributions, for one run only."""

    folder: Path
    beside: tuple[Path, ...] = ()

    def with_wheels(self, folder: Path, *wheels: Path) -> Shop:
        """The same environment and what these wheels install into ``folder``."""
        _pip("install", "--quiet", "--no-deps", "--target", str(folder), *map(str, wheels))
        return attrs.evolve(self, beside=(*self.beside, folder))

    def run(self, *command: str, cwd: Path | None = None) -> subprocess.CompletedProcess[str]:
        """A command of this environment; nothing of the checkout is on its path."""
        name, *rest = command
        clean = _clean()
        if self.beside:
            clean["PYTHONPATH"] = os.pathsep.join(map(str, self.beside))
        return subprocess.run(
            [str(self.folder / "bin" / name), *rest],
            capture_output=True,
            text=True,
            check=False,
            cwd=cwd or self.folder,
            env=clean,
        )

    def tell(self, program: str) -> Any:
        """What a Python program prints as JSON."""
        done = self.run("python", "-W", "error", "-c", program)
        assert done.returncode == 0, done.stderr
        return json.loads(done.stdout)


def set_up(folder: Path) -> Shop:
    """Build both wheels from copies of their sources and install them into a new environment."""
    copies = {"jointgeo": ROOT, PLUGIN.name: PLUGIN}
    for name, source in copies.items():
        shutil.copytree(source, folder / name, ignore=NOT_SOURCE)
    wheels = folder / "wheels"
    sources = [str(folder / name) for name in copies]
    _pip("wheel", "--quiet", "--no-deps", "--wheel-dir", str(wheels), *sources)
    venv = folder / "venv"
    subprocess.run([sys.executable, "-m", "venv", "--without-pip", str(venv)], check=True)
    library, plugin = (next(wheels.glob(f"{n}-*.whl")) for n in ("jointgeo", "porch_half_lap"))
    python = str(venv / "bin" / "python")
    asked = [f"{library}[service,proof]", str(plugin), "pytest"]
    _pip("--python", python, "install", "--quiet", *asked)
    return Shop(venv)


def built_wheel(source: Path, folder: Path) -> Path:
    """The wheel of a distribution, built from a copy of its source."""
    shutil.copytree(source, folder / source.name, ignore=NOT_SOURCE)
    wheels = folder / "built"
    _pip("wheel", "--quiet", "--no-deps", "--wheel-dir", str(wheels), str(folder / source.name))
    (wheel,) = wheels.glob("*.whl")
    return wheel


def hand_made_wheel(
    folder: Path, name: str, version: str, entry: str, module: str, source: str
) -> Path:
    """A wheel of one module, put together without building; entry: "type = module:Class"."""
    stem = f"{name.replace('-', '_')}-{version}"
    info = f"{stem}.dist-info"
    files = {
        f"{module}.py": source,
        f"{info}/METADATA": f"Metadata-Version: 2.1\nName: {name}\nVersion: {version}\n",
        f"{info}/WHEEL": "Wheel-Version: 1.0\nRoot-Is-Purelib: true\nTag: py3-none-any\n",
        f"{info}/entry_points.txt": f"[jointgeo.joint_types]\n{entry}\n",
    }
    record = "".join(f"{path},,\n" for path in (*files, f"{info}/RECORD"))
    path = folder / f"{stem}-py3-none-any.whl"
    with zipfile.ZipFile(path, "w") as archive:
        for inside, text in (*files.items(), (f"{info}/RECORD", record)):
            archive.writestr(inside, text)
    return path
