"""Joint types that do not ship, each in a process of its own that can be ended.

Knows processes, pipes and the catalogue; knows no joint type by name, no HTTP.

Theory of operation. A thread that runs third-party code cannot be stopped, and code that sleeps
or goes on for ever would take one thread of the service after the other. So each type that does not
ship answers in one child process (``worker``), a question at a time; after ``DEADLINE_SECONDS`` the
process is killed, the question is answered with whose fault it is, and the next one starts another.
``SHARE`` questions to one type may be in the service at once, and so hold a thread; more are asked
to come again. The types that ship are answered in the service's own threads and pay nothing.
"""

from __future__ import annotations

import atexit
import os
import pickle
import subprocess
import sys
import threading
from collections.abc import Callable, Mapping, Sequence
from typing import IO, Any, NoReturn

import attrs

from jointgeo.errors import InputError, PluginError, Problem
from jointgeo.fixtures.model import Fixture
from jointgeo.joints.faults import is_shipped, origin
from jointgeo.joints.registry import failures, joint_types
from jointgeo.solution.paths import Scalar
from jointgeo_service.limits import DEADLINE_SECONDS, SHARE, START_SECONDS
from jointgeo_service.plugins import Catalogue, Known
from jointgeo_service.problems import RefusedError

__all__ = ["Apart", "KnownApart", "installed", "receive", "send"]


def send(stream: IO[bytes], value: object) -> None:
    """Write a value with its length before it."""
    data = pickle.dumps(value)
    stream.write(len(data).to_bytes(8, "big") + data)
    stream.flush()


def receive(stream: IO[bytes]) -> Any:
    """The next value; EOFError where the other end is gone."""
    size = stream.read(8)
    data = stream.read(int.from_bytes(size, "big")) if len(size) == 8 else b""
    if not data:
        raise EOFError
    return pickle.loads(data)  # noqa: S301  # from our own child, which runs as the same user


class Apart:
    """The process of one type: started when first asked, and again after it was ended.

    kind: of what; worker: the module that answers there.
    """

    def __init__(
        self,
        name: str,
        distribution: str,
        deadline: float = DEADLINE_SECONDS,
        share: int = SHARE,
        kind: str = "joint type",
        worker: str = "jointgeo_service.worker",
    ) -> None:
        self._kind, self._worker = kind, worker
        self._name, self._distribution, self._deadline = name, distribution, deadline
        self._share = threading.Semaphore(share)
        self._one = threading.Lock()
        self._process: subprocess.Popen[bytes] | None = None
        atexit.register(self.end)

    def ask(self, what: str, *given: object) -> Any:
        """What the worker's function gives.

        InputError and PluginError as the type raises them, PluginError where it does not answer in
        time or its process ends; RefusedError, a 503, where too many are waiting already.
        """
        if not self._share.acquire(blocking=False):
            self._busy()
        try:
            if not self._one.acquire(timeout=self._deadline):
                self._busy()
            try:
                return self._asked(what, given)
            finally:
                self._one.release()
        finally:
            self._share.release()

    def end(self) -> None:
        """End the process, whatever it is doing."""
        if self._process is not None:
            process, self._process = self._process, None
            process.kill()
            process.wait()
            for stream in (process.stdin, process.stdout):
                if stream is not None:
                    stream.close()

    def _asked(self, what: str, given: tuple[object, ...]) -> Any:
        if self._process is None or self._process.poll() is not None:
            self.end()
            self._within(START_SECONDS, self._start)
        process = self._process
        assert process is not None  # noqa: S101  # it has just been started
        assert process.stdin is not None  # noqa: S101  # it was started with pipes
        assert process.stdout is not None  # noqa: S101  # the same
        to, back = process.stdin, process.stdout

        def exchange() -> Any:
            send(to, (what, given))
            return receive(back)

        kind, answer = self._within(self._deadline, exchange)
        if kind == "input":
            raise InputError(*answer)
        if kind == "plugin":
            raise PluginError(*answer)
        return answer

    def _start(self) -> None:
        self._process = subprocess.Popen(  # noqa: S603  # a name that the registry has taken in
            [sys.executable, "-m", self._worker, self._name],
            stdin=subprocess.PIPE,
            stdout=subprocess.PIPE,
            stderr=subprocess.DEVNULL,
            env=os.environ | {"PYTHONPATH": os.pathsep.join(filter(None, sys.path))},
        )
        assert self._process.stdout is not None  # noqa: S101  # it was started with a pipe
        receive(self._process.stdout)

    def _within(self, seconds: float, work: Callable[[], Any]) -> Any:
        late = threading.Event()

        def kill() -> None:
            late.set()
            if self._process is not None:
                self._process.kill()

        timer = threading.Timer(seconds, kill)
        timer.start()
        try:
            return work()
        except (EOFError, OSError, pickle.UnpicklingError):
            code = self._process.wait() if self._process is not None else 0
            self.end()
            reason = f"it did not answer within {seconds:g} s and was ended"
            reason = reason if late.is_set() else f"its process ended with code {code}"
            raise PluginError(reason, self._name, self._distribution, kind=self._kind) from None
        finally:
            timer.cancel()

    def _busy(self) -> NoReturn:
        message = f"{self._name} is busy: too many questions to it are being answered"
        headers = {"Retry-After": f"{self._deadline:.0f}"}
        field = self._kind.replace(" ", "_")
        raise RefusedError(503, Problem(field, message), headers=headers)


@attrs.frozen(eq=False)
class _Elsewhere:
    """A joint that is known to be one, but stands in another process: its parameters only."""

    data: dict[str, Any]


@attrs.frozen
class KnownApart(Known):
    """A joint type that is only ever run in its own process."""

    apart: Apart

    @property
    def keeps(self) -> bool:
        return False

    def joint(self, data: object) -> Any:
        return _Elsewhere(self.apart.ask("joint", data))

    def passes(self, joint: Any, fixture: Fixture) -> int:
        return 0  # counted where the joint is, and its share of a batch is measured in seconds

    def solved(self, joint: Any, fixture: Fixture, hand: Any, *wants: str) -> dict[str, Any]:
        answer: dict[str, Any] = self.apart.ask("solved", joint.data, fixture, hand, *wants)
        return answer

    def values(
        self, joint: Any, fixture: Fixture, hand: Any, asked: Sequence[str]
    ) -> list[Scalar | Problem]:
        found: list[Scalar | Problem] = self.apart.ask("values", joint.data, fixture, hand, asked)
        return found

    def paths(self, joint: Any, fixture: Fixture, hand: Any) -> list[tuple[str, Scalar, str]]:
        found: list[tuple[str, Scalar, str]] = self.apart.ask("paths", joint.data, fixture, hand)
        return found

    def page(
        self, joint: Any, fixture: Fixture, hand: Any, paper: str | None, names: tuple[str, str]
    ) -> str:
        return str(self.apart.ask("page", joint.data, fixture, hand, paper, names))

    def screen(
        self, joint: Any, fixture: Fixture, hand: Any, asked: Mapping[str, str], inches: bool
    ) -> str:
        return str(self.apart.ask("screen", joint.data, fixture, hand, asked, inches))

    def meaning(self) -> str:
        return str(self.apart.ask("meaning"))

    def examples(self) -> list[dict[str, Any]]:
        listed: list[dict[str, Any]] = self.apart.ask("examples")
        return listed


def installed() -> Catalogue:
    """What is installed beside the service; what does not ship in processes of its own."""
    known = {}
    for name, cls in joint_types().items():
        who = origin(cls)
        known[name] = Known(cls, who) if is_shipped(cls) else KnownApart(cls, who, Apart(name, who))
    return Catalogue(known, failures())
