"""Other responses that a camera may have: edges moved, response tilted."""

from __future__ import annotations

import numpy as np

from groundglow.model.absorption import absorption
from groundglow.model.response import Band

__all__ = ["moved_band"]


def moved_band(band: Band, *, short_edge: float = 0.0, long_edge: float = 0.0, tilt: float = 0.0) -> Band:
    """The band with its edges moved and its response tilted.

    Parameters
    ----------
    band : Band
    short_edge, long_edge : float
        Shift of the edges, m; wavelengths between are moved in proportion. Held within the range where the air is
        known.
    tilt : float
        Relative rise of the response from the middle to the long edge.

    Returns
    -------
    Band

    Notes
    -----
    A linear change of the wavelengths and a linear factor: the simplest ways for a response to differ (our choice).

    Examples
    --------
    >>> from groundglow.model.band import ideal_band
    >>> moved_band(ideal_band(8e-6, 14e-6), short_edge=0.2e-6).edges
    (8.2e-06, 1.4e-05)
    """
    known = absorption().wavelength
    place = (band.wavelength - band.edges[0]) / (band.edges[1] - band.edges[0])
    wavelength = band.wavelength + short_edge * (1 - place) + long_edge * place
    inside = np.clip(wavelength, known[0], known[-1])
    kept = np.concatenate([np.diff(inside) > 0, [True]]) if inside[0] < inside[-1] else np.ones(inside.shape, bool)
    factor = np.maximum(1 + tilt * (2 * place - 1), 0.0)
    return Band(f"{band.name}, moved", inside[kept], (band.response * factor)[kept])
