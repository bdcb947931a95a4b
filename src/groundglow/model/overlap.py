"""How pictures or flight lines of one footprint cover an area."""

from __future__ import annotations

import math

from groundglow.errors import RangeError
from groundglow.model.optics import require_positive

__all__ = ["count_to_cover", "motion_in_pixels", "spacing_for_overlap"]


def spacing_for_overlap(footprint: float, overlap: float) -> float:
    """Distance from one picture or line to the next for an overlap, m.

    Parameters
    ----------
    footprint : float
        Side of the footprint in the direction of the step, m.
    overlap : float
        Share of the footprint that the next one shows again, 0 <= overlap < 1.

    Returns
    -------
    float
        m.

    Raises
    ------
    RangeError

    Notes
    -----
    footprint x (1 - overlap), level ground.

    References
    ----------
    Any text on photogrammetric flight planning; the tests hold a published example.

    Examples
    --------
    >>> round(spacing_for_overlap(35.44615, 0.70), 4), round(spacing_for_overlap(28.35692, 0.80), 4)
    (10.6338, 5.6714)
    """
    if not 0 <= overlap < 1:
        raise RangeError("overlap", overlap, "", "0 <= overlap < 1", "a share", "Check percent against fraction.")
    return float(require_positive("footprint", footprint, "m", "a length")) * (1 - overlap)


def count_to_cover(length: float, spacing: float) -> int:
    """Number of lines or pictures at most ``spacing`` apart, the first at one end, the last at the other.

    Parameters
    ----------
    length : float
        Length to be covered, m, >= 0.
    spacing : float
        Largest distance between neighbours, m, > 0.

    Returns
    -------
    int
        At least 1. Spread evenly they are ``length / (count - 1)`` apart.

    Raises
    ------
    RangeError

    Notes
    -----
    ceil(length / spacing) + 1; a length that is a whole number of spacings to 1e-9 is taken as such.

    References
    ----------
    Number of strips in the flight planning example of NPTEL, *Photogrammetry*, lecture 21.

    Examples
    --------
    >>> count_to_cover(36000.0, 1932.0)
    20
    """
    if not length >= 0:
        raise RangeError("length", length, "m", ">= 0", "a length")
    steps = length / float(require_positive("spacing", spacing, "m", "a distance between neighbours"))
    return math.ceil(steps * (1 - 1e-9)) + 1


def motion_in_pixels(speed: float, time: float, ground_sampling: float) -> float:
    """How far the ground moves through the picture in a time, px.

    Parameters
    ----------
    speed : float
        Over ground, m/s.
    time : float
        Exposure, time constant or interval, s.
    ground_sampling : float
        m per pixel along the motion.

    Returns
    -------
    float
        px.

    Raises
    ------
    RangeError

    Notes
    -----
    speed x time / ground sampling distance.

    References
    ----------
    Definition.

    Examples
    --------
    5 m/s for 10 ms at 55.4 mm per pixel:

    >>> round(motion_in_pixels(5.0, 10e-3, 0.0553846), 4)
    0.9028
    """
    sampling = require_positive("ground_sampling", ground_sampling, "m per pixel", "a length on the ground")
    return float(speed * time / sampling)
