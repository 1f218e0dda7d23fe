"""How uncertainties add: first-order propagation after the GUM (JCGM 100:2008).

Knows numpy only.

Theory. For y = f(x_1 … x_n) with independent inputs of standard uncertainty u_i the
combined standard uncertainty is u² = Σ (∂f/∂x_i · u_i)² (GUM 5.1.2); the expanded one is
U = k·u with k = 2 for about 95 % (6.2, 6.3.3). Derivatives are central differences of f
itself, (f(x + h) - f(x - h)) / 2h, as GUM 5.1.3 note 2 allows: the rotations are then
written once, and no hand-made derivative can drift away from them. The error of a central
difference is h²·f'''/6; with h = 0.001 (degree, millimetre) on functions whose third
derivative is of the size of the first it is below 1e-6 of the result. Rounding, about
1e-16 · size / h, is 1e-11 mm.

The trap: f must be smooth at x. A gap that is a greatest of several, or an absolute
value, has a kink at zero error, where a central difference sees nothing at all. So signed
quantities are propagated and the worst of them is picked afterwards.
"""

from __future__ import annotations

from collections.abc import Callable

import numpy as np
from numpy.typing import ArrayLike

from jointgeo.geometry.rotations import Array

__all__ = ["COVERAGE", "combined", "rectangular_u", "sensitivities"]

#: Coverage factor: about 95 % for a result that is close to normal (GUM 6.3.3).
COVERAGE = 2.0


def combined(parts: ArrayLike, axis: int = 0) -> Array:
    """Combined standard uncertainty of independent parts, each |derivative| · u."""
    return np.asarray(np.sqrt(np.sum(np.square(np.asarray(parts, float)), axis=axis)))


def rectangular_u(half_width: ArrayLike) -> Array:
    """Standard uncertainty of a value anywhere within ± half_width alike (GUM 4.3.7)."""
    return np.asarray(np.asarray(half_width, float) / np.sqrt(3.0))


def sensitivities(function: Callable[[Array], Array], inputs: int, steps: ArrayLike) -> Array:
    """Derivatives of ``function`` at zero by central differences.

    function: takes errors of shape (k, inputs) and gives (k, …). steps: shape (inputs,),
    in each input's unit. Returns shape (inputs, …).
    """
    h = np.broadcast_to(np.asarray(steps, float), (inputs,))
    values = function(np.concatenate([np.diag(h), -np.diag(h)]))
    difference = values[:inputs] - values[inputs:]
    return np.asarray(difference / (2 * h.reshape(inputs, *[1] * (difference.ndim - 1))))
