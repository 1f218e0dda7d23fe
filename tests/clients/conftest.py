"""The service as the clients' tests find it."""

from __future__ import annotations

from collections.abc import Iterator

import pytest

from .office import Office, running
from .support import Service, start_service


@pytest.fixture(scope="session")
def service() -> Iterator[Service]:
    """A service that lives as long as the tests; nobody kills this one."""
    running = start_service()
    yield running
    running.kill()


@pytest.fixture
def mortal() -> Iterator[Service]:
    """A service of one test's own, to be killed by it."""
    running = start_service()
    yield running
    running.kill()


@pytest.fixture(scope="session")
def english() -> Iterator[Office]:
    """An office that writes 7.8274."""
    with running("en-US") as office:
        yield office


@pytest.fixture(scope="session")
def german() -> Iterator[Office]:
    """An office that writes 7,8274."""
    with running("de-DE") as office:
        yield office
