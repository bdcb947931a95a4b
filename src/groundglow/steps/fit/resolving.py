"""The finest bars that each camera resolves by contrast and motion, as tables of the seeing model for the kernels."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass, replace
from functools import lru_cache

import numpy as np
from numpy.typing import NDArray

from groundglow.model.pointspread import PointSpread
from groundglow.model.seeing import minimum_resolvable_difference

__all__ = ["FREQUENCIES", "LAGS", "Resolving", "resolving"]

Array = NDArray[np.float64]

#: Frequencies of the table, cycles per pixel, up to the limit of sampling; a tenth apart where contrast is faint, which
#: keeps the straight line between them within 0.2 % (tests).
FREQUENCIES = np.concatenate([np.geomspace(1e-4, 0.02, 48, endpoint=False), np.linspace(0.02, 0.5, 97)])
#: Motion of the picture during one thermal time constant, px: up to a fast wing with a long lens low down.
LAGS = np.array(
    [0.0, 0.1, 0.2, 0.35, 0.5, 0.75, 1.0, 1.5, 2.0, 3.0, 4.0, 6.0, 8.0, 11.0, 16.0, 22.0, 32.0, 45.0, 64.0, 90.0, 128.0]
)
# Logarithm of a difference that no scene has: stands for "no contrast passes".
_NEVER = 50.0


@dataclass(frozen=True, eq=False)
class Resolving:
    """Logarithm of the resolvable difference in a noise of one, shape (spreads, lags, frequencies); rising along the
    last axis.
    """

    log_difference: Array


@lru_cache(maxsize=4096)
def _row(spread: PointSpread) -> Array:
    with np.errstate(divide="ignore"):
        seen = np.log(minimum_resolvable_difference(FREQUENCIES, 1.0, spread))
    return np.maximum.accumulate(np.where(np.isfinite(seen), seen, _NEVER))


def resolving(spreads: Sequence[PointSpread]) -> Resolving:
    """Tables of `groundglow.model.seeing.minimum_resolvable_difference` for these optics in motion along the rows."""
    moving = [[replace(s, lag=(0.0, float(lag))) for lag in LAGS] for s in spreads]
    return Resolving(np.array([[_row(s) for s in row] for row in moving]))
