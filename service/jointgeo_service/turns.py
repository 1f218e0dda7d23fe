"""Turns at work that takes long: so many at once, so many more wait, all others come again.

Knows threads and refusals; knows no route. Thus some threads are always left for short questions.
"""

from __future__ import annotations

import threading
from collections.abc import Callable
from http import HTTPStatus

from jointgeo.errors import Problem
from jointgeo_service.problems import RefusedError

__all__ = ["Turns"]


class Turns:
    """what: the plural of what is done, for whoever is refused. seconds: how long one may wait."""

    def __init__(self, running: int, waiting: int, seconds: float, what: str) -> None:
        self._all = threading.Semaphore(running + waiting)
        self._running = threading.Semaphore(running)
        self._seconds, self._what = seconds, what
        self._allowed = f"{running} at once, and {waiting} that wait"

    def take(self) -> Callable[[], None]:
        """Wait for a turn; what gives it back, once however often it is called.

        RefusedError, a 503, where there is none.
        """
        if not self._all.acquire(blocking=False):
            raise self._refusal()
        if not self._running.acquire(timeout=self._seconds):
            self._all.release()
            raise self._refusal()
        once = threading.Lock()

        def give_back() -> None:
            if once.acquire(blocking=False):
                self._running.release()
                self._all.release()

        return give_back

    def _refusal(self) -> RefusedError:
        problem = Problem("", f"too many {self._what}", None, self._allowed)
        headers = {"Retry-After": "10"}
        return RefusedError(HTTPStatus.SERVICE_UNAVAILABLE, problem, headers=headers)
