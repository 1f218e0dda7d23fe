"""Two services behind a proxy, one killed under load: no answer is lost, and none is different.

The proxy's setup and the line that splits a folder of pieces are read out of DEVELOPERS.md, with
ports of the test's own. The client is the one that ships; what it is to give is the library's own.
"""

from __future__ import annotations

import contextlib
import hashlib
import json
import os
import re
import shutil
import signal
import socket
import subprocess
import sys
import threading
import time
from collections.abc import Callable, Iterator
from pathlib import Path
from typing import Any, NoReturn

import attrs
import pytest

import jointgeo
from jointgeo.fixtures.file import named_digest
from jointgeo.fixtures.text import fixture_toml
from jointgeo_client import Client

ROOT = Path(__file__).parents[2]
GUIDE = (ROOT / "DEVELOPERS.md").read_text("utf-8")
PIECES = ROOT / "tests" / "pieces" / "data"
TYPES = sorted(jointgeo.joint_types())


def missing(what: str) -> NoReturn:
    message = f"NOT TESTED: {what} is missing; install it with: apt-get install {what}"
    if os.environ.get("CI") == "true":
        pytest.fail(message)
    pytest.skip(message)


def block(kind: str, holding: str) -> str:
    """The text of a block of the guide."""
    found = re.findall(rf"^```{kind}\n(.*?)^```", GUIDE, re.DOTALL | re.MULTILINE)
    (text,) = [t for t in found if holding in t]
    return text


def free_port() -> int:
    with socket.create_server(("127.0.0.1", 0)) as listener:
        port: int = listener.getsockname()[1]
        return port


@contextlib.contextmanager
def proxy(folder: Path, ports: dict[str, str]) -> Iterator[str]:
    """The guide's proxy at a port of its own, before the given ports; its address."""
    text = block("haproxy", "backend services")
    front = str(free_port())
    for old, new in {"8700": front, **ports}.items():
        assert text.count(old) == 1
        text = text.replace(old, new)
    setup = folder / "jointgeo.cfg"
    setup.write_text(text)
    with (folder / "proxy.log").open("wb") as log:
        process = subprocess.Popen(["haproxy", "-f", str(setup)], stdout=log, stderr=log)
    url = f"http://127.0.0.1:{front}"
    try:
        Client(url, retries=8).health()
        yield url
    finally:
        process.kill()
        process.wait()


EDITION = named_digest("porch")[:6]


@attrs.define
class Load:
    """Asks different questions until told to stop, and keeps what was lost or wrong."""

    url: str
    done: threading.Event = attrs.field(factory=threading.Event)
    answered: int = 0
    faults: list[str] = attrs.field(factory=list)

    def run(self, number: int) -> None:
        turn = number
        with Client(self.url, timeout_s=60) as client:
            while not self.done.is_set():
                name = TYPES[turn % len(TYPES)]
                joint = jointgeo.joint_type(name).examples()[0].to_dict()
                varied = "fit_mm" if "fit_mm" in joint else next(iter(joint))
                joint[varied] += turn % 50 / 100
                try:
                    if number == 0:
                        item = {"joint_type": name, "want": "settings", "joint": joint}
                        listed = client.batch([{**item, "fixture": "porch"}] * 20)
                        got = [answer.settings for answer in listed]
                    else:
                        got = [client.settings(name, joint, "porch")]
                except Exception as error:
                    self.faults.append(f"{type(error).__name__}: {error}")
                else:
                    solved = jointgeo.solve(jointgeo.joint_type(name).from_dict(joint), "porch")
                    expected = json.loads(json.dumps(solved.settings_dict()))
                    expected["edition"] = EDITION
                    if any(answer != expected for answer in got):
                        self.faults.append(f"{name}: another answer")
                    self.answered += len(got)
                turn += 7


def test_one_of_two_is_killed_under_load_and_no_answer_is_lost(
    start: Callable[..., Any], tmp_path: Path
) -> None:
    if shutil.which("haproxy") is None:
        missing("haproxy")
    both = [start(), start()]
    ports = [s.url.rpartition(":")[2] for s in both]
    for path in ("/v1/fixtures", "/v1/fixtures/porch", "/v1/joint-types", "/openapi.json"):
        bodies = [s.session.get(f"{s.url}{path}").content for s in both]
        first, second = (hashlib.sha256(body).hexdigest() for body in bodies)
        assert first == second, path
    with proxy(tmp_path, {"8765": ports[0], "8766": ports[1]}) as url:
        load = Load(url)
        threads = [threading.Thread(target=load.run, args=(i,)) for i in range(4)]
        for thread in threads:
            thread.start()
        time.sleep(2.0)
        before = load.answered
        both[0].process.kill()
        time.sleep(3.0)
        load.done.set()
        for thread in threads:
            thread.join()
        assert load.faults == []
        assert 0 < before < load.answered
        lines = [len([x for x in s.log if x.get("event") == "request"]) for s in both]
        assert min(lines) > 0, "both had answered"
        # The last one is asked to stop: it finishes, and the proxy has nobody left.
        assert both[1].stop(signal.SIGTERM) == 0


def test_a_folder_of_pieces_is_split_by_the_line_of_the_guide(tmp_path: Path) -> None:
    if shutil.which("parallel") is None:
        missing("parallel")
    (tmp_path / "pieces").mkdir()
    (tmp_path / "fixtures").mkdir()
    for name in ("bench.toml", "chair.toml"):
        shutil.copy(PIECES / name, tmp_path / "pieces")
    porch = jointgeo.load_fixture("porch")
    for name in ("porch", "barn"):
        text = fixture_toml(attrs.evolve(porch, name=name))
        (tmp_path / "fixtures" / f"{name}.toml").write_text(text)
    (line,) = [row[2:] for row in block("console", "$ parallel").splitlines()]
    bin_folder = str(Path(sys.executable).parent)
    subprocess.run(
        ["bash", "-c", line],
        cwd=tmp_path,
        env=os.environ | {"PATH": f"{bin_folder}{os.pathsep}{os.environ['PATH']}"},
        stdout=subprocess.DEVNULL,
        stderr=subprocess.DEVNULL,
        check=False,
    )
    log = (tmp_path / "log.tsv").read_text().splitlines()[1:]
    assert {row.split("\t")[6] for row in log} <= {"0", "1"}
    answers = [json.loads(p.read_text())[0] for p in tmp_path.glob("answers/**/stdout")]
    found = {(a["title"], a["fixture"]) for a in answers}
    assert len(found) == len(log) == 4
