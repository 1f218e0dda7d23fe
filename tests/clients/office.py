"""A LibreOffice of the tests' own: fresh profile, chosen language, ended by its id."""

from __future__ import annotations

import contextlib
import json
import os
import shutil
import signal
import subprocess
import sys
import tempfile
import uuid
from collections.abc import Iterator
from pathlib import Path
from typing import Any

from .support import missing, need

PACKAGES = "libreoffice-calc libreoffice-script-provider-python python3-uno"
SYSTEM_PYTHON = "/usr/bin/python3"
DRIVER = Path(__file__).with_name("office_driver.py")
WORKBOOK = Path(__file__).parents[2] / "clients" / "libreoffice" / "jointgeo.ods"
STEPS_S = 60.0
END_S = 15.0

LANGUAGE = """<?xml version="1.0" encoding="UTF-8"?>
<oor:items xmlns:oor="http://openoffice.org/2001/registry">
<item oor:path="/org.openoffice.Setup/L10N"><prop oor:name="ooSetupSystemLocale" oor:op="fuse">
<value>{language}</value></prop></item>
</oor:items>
"""


class Office:
    """A running office. workbook: its own copy of the shipped one, since it locks what it opens."""

    def __init__(self, pipe: str, workbook: Path, process: subprocess.Popen[bytes]) -> None:
        self.pipe = pipe
        self.workbook = workbook
        self.process = process

    def do(self, *steps: dict[str, Any]) -> list[Any]:
        """Results of the steps, which work on one document that is closed at the end."""
        assert self.process.poll() is None, "the office has ended by itself"
        told = subprocess.run(
            [SYSTEM_PYTHON, str(DRIVER), self.pipe],
            input=json.dumps(steps),
            capture_output=True,
            text=True,
            timeout=STEPS_S,
            check=False,
            # The system's Python must not see what is installed for this one.
            env={k: v for k, v in os.environ.items() if not k.startswith("PYTHON")},
        )
        assert told.returncode == 0, told.stderr
        results: list[Any] = json.loads(told.stdout)
        return results


@contextlib.contextmanager
def running(language: str) -> Iterator[Office]:
    """An office whose numbers are written as in ``language``, e.g. de-DE."""
    soffice = need("soffice", PACKAGES)
    probe = [SYSTEM_PYTHON, "-c", "import uno"]
    try:
        found = subprocess.run(probe, capture_output=True, timeout=STEPS_S, check=False).returncode
    except FileNotFoundError:
        found = 1
    if found != 0:
        missing("UNO for the system's Python", PACKAGES)
    home = Path(tempfile.mkdtemp(prefix="office-"))
    (home / "user").mkdir()
    (home / "user" / "registrymodifications.xcu").write_text(
        LANGUAGE.format(language=language), "utf-8"
    )
    pipe = f"jointgeo{uuid.uuid4().hex}"
    command = [
        soffice,
        f"-env:UserInstallation={home.as_uri()}",
        "--headless",
        "--norestore",
        "--nologo",
        "--nodefault",
        f"--accept=pipe,name={pipe};urp;",
    ]
    # A group of its own: the program on the path starts the real one as its child.
    process = subprocess.Popen(
        command, stdout=subprocess.DEVNULL, stderr=subprocess.DEVNULL, start_new_session=True
    )
    office = Office(pipe, Path(shutil.copy(WORKBOOK, home)), process)
    try:
        yield office
    finally:
        with contextlib.suppress(AssertionError, subprocess.TimeoutExpired):
            office.do({"do": "terminate"})
        try:
            process.wait(END_S)
        except subprocess.TimeoutExpired:
            os.killpg(process.pid, signal.SIGKILL)
            process.wait(END_S)
        shutil.rmtree(home, ignore_errors=True)


def build(*arguments: str, **surroundings: str) -> str:
    """Run the script that builds the workbook; its standard output."""
    script = WORKBOOK.with_name("build.py")
    told = subprocess.run(
        [sys.executable, str(script), *arguments],
        capture_output=True,
        text=True,
        timeout=STEPS_S,
        check=False,
        env={**os.environ, **surroundings},
    )
    assert told.returncode == 0, told.stderr
    return told.stdout
