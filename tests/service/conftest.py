"""A service to talk to: in this process by a test client, or in another one over loopback.

Knows the service's command and its application; knows no joint type by name.
"""

from __future__ import annotations

import hashlib
import json
import os
import signal
import subprocess
import sys
import threading
from collections.abc import Callable, Iterator
from contextlib import contextmanager
from pathlib import Path
from typing import Any, ClassVar

import attrs
import flask
import pytest
import requests
from flask.testing import FlaskClient

import jointgeo
from jointgeo.plugin import Bar, Block, Drawing, JointType, Length, Notch, Pocket, Vec, X, Y, Z, mm
from jointgeo_service.app import create_app
from jointgeo_service.plugins import Catalogue

# `jointgeo serve` before it is installed: the same parser, made by the same function.
SERVE = (
    "import argparse, sys; from jointgeo_service.command import add; "
    "parser = argparse.ArgumentParser(prog='jointgeo'); add(parser.add_subparsers(required=True)); "
    "asked = parser.parse_args(); sys.exit(asked.run(asked))"
)


@pytest.fixture(scope="session")
def edition() -> str:
    """Of the shipped fixture: six signs of its file's SHA-256, as sha256sum tells them."""
    path = Path(jointgeo.__path__[0]) / "data" / "fixtures" / "porch.toml"
    return hashlib.sha256(path.read_bytes()).hexdigest()[:6]


@pytest.fixture(scope="session")
def app() -> flask.Flask:
    """The service with the joint types that are installed."""
    return create_app()


@pytest.fixture
def client(app: flask.Flask) -> FlaskClient:
    return app.test_client()


@pytest.fixture(scope="session")
def examples() -> dict[str, dict[str, Any]]:
    """Parameters of the first worked example of every installed joint type."""
    return {name: cls.examples()[0].to_dict() for name, cls in jointgeo.joint_types().items()}


@attrs.frozen
class Serving:
    """A service in a process of its own, and a session that reads no proxy settings."""

    process: subprocess.Popen[str]
    url: str
    session: requests.Session
    log: list[dict[str, Any]]
    reader: threading.Thread

    def stop(self, kind: int = signal.SIGTERM) -> int:
        """Ask it to stop; its exit code."""
        self.process.send_signal(kind)
        code = self.process.wait(timeout=60)
        self.reader.join()
        return code


def _environment(given: dict[str, str]) -> dict[str, str]:
    """That of the tests, without a token that whoever runs them may have set."""
    return {k: v for k, v in os.environ.items() if k != "JOINTGEO_TOKEN"} | given


@pytest.fixture
def run() -> Callable[..., subprocess.CompletedProcess[str]]:
    """Runs ``serve`` where it is expected to end by itself."""

    def ended(*arguments: str, **environment: str) -> subprocess.CompletedProcess[str]:
        return subprocess.run(
            [sys.executable, "-c", SERVE, "serve", *arguments],
            capture_output=True,
            text=True,
            check=False,
            timeout=60,
            env=_environment(environment),
        )

    return ended


@contextmanager
def _services() -> Iterator[Callable[..., Serving]]:
    running: list[Serving] = []

    def begin(*arguments: str, **environment: str) -> Serving:
        process = subprocess.Popen(
            [sys.executable, "-c", SERVE, "serve", "--port", "0", *arguments],
            stdout=subprocess.PIPE,
            stderr=subprocess.PIPE,
            text=True,
            env=_environment(environment),
        )
        assert process.stdout is not None
        said = process.stdout.readline()
        if "listening at http://" not in said:
            raise AssertionError(f"it did not start: {said}{process.communicate()[1]}")
        session = requests.Session()
        session.trust_env = False
        lines: list[dict[str, Any]] = []
        reader = threading.Thread(target=_read, args=(process, lines))
        reader.start()
        running.append(Serving(process, said.split()[4], session, lines, reader))
        return running[-1]

    try:
        yield begin
    finally:
        for serving in running:
            if serving.process.poll() is None:
                serving.process.kill()
                serving.process.wait()
            serving.reader.join()
            serving.session.close()
            for stream in (serving.process.stdout, serving.process.stderr):
                assert stream is not None
                stream.close()


@pytest.fixture
def start() -> Iterator[Callable[..., Serving]]:
    """Starts services on free ports of the loopback, and stops those that are left."""
    with _services() as begin:
        yield begin


@pytest.fixture(scope="module")
def shared() -> Iterator[Serving]:
    """One service for the tests of a file that neither stop it nor set it up."""
    with _services() as begin:
        yield begin()


def _read(process: subprocess.Popen[str], lines: list[dict[str, Any]]) -> None:
    assert process.stderr is not None
    lines.extend(json.loads(line) for line in process.stderr)


@attrs.frozen
class Slotted(JointType):
    """A board whose slot straddles a lath; ``marks`` is what its groove is laid out by.

    World: X across the board, Y through it from its face side, Z from its slotted end into it.
    """

    name: ClassVar[str] = "slotted"
    summary: ClassVar[str] = "A board with one slot"
    marks: ClassVar[dict[str, Any]] = {"depth_mm": 10.0}

    width_mm: float = mm(
        "Width of the board",
        0.1,
        500,
        Length("board.face_edge", "board.back_edge"),
        default=60.0,
    )

    def draw(self) -> Drawing:
        board = Bar.leaning("board", (self.width_mm, 20.0, 300.0), Z, -Y, Vec(0.0, 0.0, 0.0))
        lath = Bar.leaning("lath", (20.0, 10.0, 200.0), Y, X, Vec(0.0, -100.0, 10.0))
        slot = Notch("slot", board, board.near, X, [(-5.0, 5.0, 20.0)])
        block = Block("groove", Vec(0.0, -5.0, 100.0), (X, Y, Z), (10.0, 10.0, 10.0))
        groove = Pocket("groove", board, "face_side", block, self.marks)
        return Drawing((board, lath), (slot,), (groove,), slides={"board": -Z})

    @classmethod
    def measure(cls, bar: Bar, mate: Bar) -> dict[str, Any]:  # noqa: ARG003  # the lath shows none
        return {"width_mm": bar.width}

    @classmethod
    def examples(cls) -> tuple[Any, ...]:
        return (cls(),)


@pytest.fixture
def slotted() -> Callable[..., type[JointType]]:
    """Makes joint types like ``Slotted`` with members replaced, to see each fault served."""
    return lambda **members: type("Slotted", (Slotted,), members)


@pytest.fixture
def serving() -> Callable[..., FlaskClient]:
    """A test client of a service that offers the given types only, each under its name."""

    def made(*types: type[JointType], **options: Any) -> FlaskClient:
        catalogue = Catalogue.of({t.name: t for t in types})
        return create_app(catalogue=catalogue, **options).test_client()

    return made
