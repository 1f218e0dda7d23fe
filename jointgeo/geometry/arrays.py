"""The type of arrays, for those who hold many numbers.

The solver of one joint needs none of them and must not wait for numpy, which takes longer to load
than a thousand joints to solve; so nothing that ``import jointgeo`` loads imports this.
"""

from typing import TypeAlias

import numpy as np
from numpy.typing import NDArray

__all__ = ["Array"]

Array: TypeAlias = NDArray[np.float64]
