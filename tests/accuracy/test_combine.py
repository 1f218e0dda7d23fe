"""Combination against the GUM's worked example."""

from __future__ import annotations

import pytest

from jointgeo.uncertainty.combine import combined, rectangular_u


def test_gum_example_h1_end_gauge() -> None:
    """GUM, JCGM 100:2008, H.1: an end gauge's length, first order.

    Contributions in nm: the standard 25; comparison 5.8, 3.9 and 6.7 combined by the guide
    into 9.7; expansion 2.887; temperature difference 16.599. The guide prints 32 nm after
    second-order terms; to first order it is 31.66 (rounded parts: 0.01 nm).
    """
    parts = [25.0, 5.8, 3.9, 6.7, 2.887, 16.599]
    assert combined(parts) == pytest.approx(31.66, abs=0.01)
    assert round(combined(parts)) == 32


def test_rectangle_of_the_gum() -> None:
    """GUM 4.3.7: a half-width a has u = a/√3; its 4.3.7 note's 1 °C gives 0.57735 °C."""
    assert rectangular_u(1.0) == pytest.approx(0.577350, abs=1e-6)
