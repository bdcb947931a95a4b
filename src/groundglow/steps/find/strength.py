"""How strongly a spot stands out, in sigmas: two measures of the local clutter weighed together.

The search compares a place with the directions around it, at the scale of the spot and against clutter of that
scale. That forgives an edge beside the spot, and so it also lets pass what is only the brightest corner of a
busy place. The plain contrast, core minus ring over the spread of *all* pixels of the ring, is what the
contrast-noise limit of a target is defined by; it does not forgive the edge. Their weighted geometric mean
keeps most of the first and asks for some of the second.
"""

from __future__ import annotations

from math import ceil

import numpy as np
from numpy.typing import NDArray

__all__ = ["plain_contrast", "strength"]

#: Share of the plain contrast, on a logarithmic scale. Chosen on simulated flights (seeds 1 to 3, 8, 102 and 104).
PLAIN_SHARE = 0.4
#: Core and ring in diameters of the spot; the ring is at least so many px wide.
CORE, INNER, OUTER, LEAST_RING_PX = 0.35, 0.75, 2.0, 3.0


def strength(sigmas: float, plain: float) -> float:
    """Weighted geometric mean of the strength by directions and the plain contrast.

    Examples
    --------
    >>> round(strength(8.0, 8.0), 6), strength(8.0, 0.0)
    (8.0, 0.0)
    """
    return float(max(sigmas, 0.0) ** (1.0 - PLAIN_SHARE) * max(plain, 0.0) ** PLAIN_SHARE)


def plain_contrast(
    picture: NDArray[np.float32], place: tuple[float, float], diameter: float, *, sign: int, noise: float
) -> float:
    """Mean of a spot's core minus the median of its ring, over the spread of the ring.

    Parameters
    ----------
    picture : ndarray float32, shape (rows, columns)
    place : (float, float)
        Column and row of the centre.
    diameter : float
        Of the spot at half of its departure, px.
    sign : int
        1 for warmer, -1 for colder; a departure of the other sign counts as none.
    noise : float
        Floor under the spread, in the unit of the picture.

    Examples
    --------
    >>> flat = np.random.default_rng(3).normal(20.0, 0.5, (40, 40)).astype(np.float32)
    >>> flat[18:23, 18:23] += 5.0
    >>> round(plain_contrast(flat, (20.0, 20.0), 5.0, sign=1, noise=0.05))
    11
    """
    reach = max(OUTER * diameter, INNER * diameter + LEAST_RING_PX)
    half = ceil(reach) + 2
    top, left = (max(round(at) - half, 0) for at in (place[1], place[0]))
    window = picture[top : round(place[1]) + half + 1, left : round(place[0]) + half + 1]
    rows, columns = np.ogrid[: window.shape[0], : window.shape[1]]
    away = np.hypot(rows + top - place[1], columns + left - place[0])
    core, ring = window[away <= CORE * diameter + 0.5], window[(away >= INNER * diameter) & (away <= reach)]
    if not core.size or not ring.size:
        return 0.0
    spread = max(float(ring.std(dtype=np.float64)), noise, 1e-6)
    return max(sign * (float(core.mean(dtype=np.float64)) - float(np.median(ring))), 0.0) / spread
