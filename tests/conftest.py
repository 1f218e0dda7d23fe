"""What every test folder shares: one seeded source of random numbers.

Knows nothing of the product. A property is tried on numbers that are the same on every
run, so a test that fails once fails again.
"""

from __future__ import annotations

import numpy as np
import pytest


@pytest.fixture
def rng() -> np.random.Generator:
    """Random numbers, the same for every test and every run."""
    return np.random.default_rng(20_240_617)
