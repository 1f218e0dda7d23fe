"""How uncertainties add: first-order propagation after the GUM (JCGM 100:2008).

Knows ``math`` only.

Theory. For y = f(x_1 … x_n) with independent inputs of standard uncertainty u_i the
combined standard uncertainty is u² = Σ (∂f/∂x_i · u_i)² (GUM 5.1.2); the expanded one is
U = k·u with k = 2 for about 95 % (6.2, 6.3.3).

The trap: f must be smooth at x. A gap that is a greatest of several, or an absolute
value, has a kink at zero error, where a derivative says nothing at all. So signed
quantities are propagated and the worst of them is picked afterwards.
"""

from __future__ import annotations

from collections.abc import Iterable
from math import hypot, sqrt

__all__ = ["COVERAGE", "combined", "rectangular_u"]

#: Coverage factor: about 95 % for a result that is close to normal (GUM 6.3.3).
COVERAGE = 2.0


def combined(parts: Iterable[float]) -> float:
    """Combined standard uncertainty of independent parts, each |derivative| · u."""
    return hypot(*parts)


def rectangular_u(half_width: float) -> float:
    """Standard uncertainty of a value anywhere within ± half_width alike (GUM 4.3.7)."""
    return half_width / sqrt(3.0)
