"""The library colour-science as a judge of colours, imported so that it leaves nothing changed behind.

At import it warns that it found no matplotlib, and it changes how NumPy prints for the whole process.
"""

from __future__ import annotations

import warnings

import numpy as np

with warnings.catch_warnings(), np.printoptions():
    warnings.filterwarnings("ignore", message='.*"Matplotlib" related API features are not available.*')
    import colour

__all__ = ["colour"]
