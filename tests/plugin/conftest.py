"""One environment for both plug-ins; their own tests run there, beside the wheels, and not here."""

from __future__ import annotations

import pytest

from .shop import Shop, set_up

collect_ignore = ["porch-footstool", "porch-half-lap"]


@pytest.fixture(scope="session")
def shop(tmp_path_factory: pytest.TempPathFactory) -> Shop:
    return set_up(tmp_path_factory.mktemp("shop"))
