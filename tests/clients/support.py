"""The real service in another process, the library's answers, and programs tests need."""

from __future__ import annotations

import contextlib
import hashlib
import json
import os
import re
import select
import shutil
import subprocess
import sys
from dataclasses import dataclass
from pathlib import Path
from typing import Any, NoReturn

import pytest

import jointgeo

# What `jointgeo serve --port 0` runs; port 0: the system gives a free one, named in the output.
SERVE = "from jointgeo_service.server import serve; serve('127.0.0.1', 0)"
PATIENCE_S = 30.0


@dataclass
class Service:
    url: str
    process: subprocess.Popen[str]

    def kill(self) -> None:
        """End the process at once, as a power cut would."""
        self.process.kill()
        self.process.wait(PATIENCE_S)
        if self.process.stdout:
            self.process.stdout.close()


def start_service(token: str = "", log: Path | None = None) -> Service:
    """log: where the service writes a line for each request; None for where the tests write."""
    with contextlib.ExitStack() as opened:
        process = subprocess.Popen(
            [sys.executable, "-c", SERVE],
            stdout=subprocess.PIPE,
            stderr=None if log is None else opened.enter_context(log.open("w")),
            text=True,
            env={**os.environ, "JOINTGEO_TOKEN": token},
        )
    assert process.stdout is not None
    ready, _, _ = select.select([process.stdout], [], [], PATIENCE_S)
    line = process.stdout.readline() if ready else ""
    found = re.search(r"http://127\.0\.0\.1:[0-9]+", line)
    if found is None:
        process.kill()
        process.wait(PATIENCE_S)
        pytest.fail(f"the service did not start within {PATIENCE_S:g} s: {line!r}")
    return Service(found[0], process)


def missing(what: str, install: str) -> NoReturn:
    """A tool is not here: a failure where everything must be tested, else a loud skip."""
    message = f"NOT TESTED: {what} is missing; install it with: apt-get install {install}"
    if os.environ.get("CI") == "true":
        pytest.fail(message)
    pytest.skip(message)


def need(program: str, install: str) -> str:
    """The program's path."""
    found = shutil.which(program)
    if found is None:
        missing(program, install)
    return found


def answers(joint_type: str, joint: dict[str, Any], hand: Any = "as_drawn") -> dict[str, Any]:
    """What the library itself says, as plain JSON: on the porch fixture."""
    fixture = jointgeo.load_fixture("porch")
    asked = jointgeo.joint_type(joint_type).from_dict(joint)
    # As sha256sum tells it: six signs of the digest of the fixture's file.
    path = Path(jointgeo.__path__[0]) / "data" / "fixtures" / "porch.toml"
    edition = {"edition": hashlib.sha256(path.read_bytes()).hexdigest()[:6]}
    both = {
        "settings": jointgeo.solve(asked, fixture, hand).settings_dict() | edition,
        "feasibility": jointgeo.solve(asked, fixture, hand).feasibility_dict() | edition,
    }
    plain: dict[str, Any] = json.loads(json.dumps(both))
    return plain
