"""Haze in the long-wave infrared from a visibility.

Gas absorption leaves out aerosol. In clear air its share at 8-14 um is small; in haze and fog it is not, and a
visibility says little about it, so the stated doubt is wide.
"""

from __future__ import annotations

import numpy as np
from numpy.typing import ArrayLike, NDArray

from groundglow.model.weather import checked

__all__ = ["HAZE_RELATIVE_SD", "haze_extinction"]

#: Koschmieder's constant, -ln 0.02: contrast threshold of 2 %.
_KOSCHMIEDER = 3.912
#: Wavelength that visibility refers to, m.
_VISIBLE = 0.55e-6
#: Standard uncertainty of the extinction, relative: measured ratios 10 um / 0.55 um scatter about twofold from
#: rural to maritime aerosol (common practice, no source).
HAZE_RELATIVE_SD = 0.7


def haze_extinction(wavelength: ArrayLike, visibility: ArrayLike) -> NDArray[np.float64]:
    """Extinction coefficient of haze, 1/m.

    Parameters
    ----------
    wavelength : array_like
        m, 0.5 to 20 um.
    visibility : array_like
        Meteorological visibility, m, at least 50; broadcast against ``wavelength``.

    Returns
    -------
    ndarray

    Raises
    ------
    RangeError
        For a visibility below 50 m, where nothing is measured through the fog.

    Notes
    -----
    3.912 / V * (0.55 um / wavelength)^q; q = 1.6 above 50 km, 1.3 from 6 to 50 km, 0.16 V + 0.34 (V in km)
    from 1 to 6 km, V - 0.5 from 0.5 to 1 km, 0 in fog. Standard uncertainty: :data:`HAZE_RELATIVE_SD`. The law
    was made for 0.5-1.6 um and is carried on to the thermal infrared for want of a better one.

    References
    ----------
    H. Koschmieder (1924); P. W. Kruse et al., Elements of Infrared Technology (1962); I. I. Kim, B. McArthur and
    E. Korevaar, Proc. SPIE 4214 (2001) 26, doi:10.1117/12.417512 (coefficients from memory).

    Examples
    --------
    >>> float((1e3 * haze_extinction(0.55e-6, 10e3)).round(4))  # 1/km
    0.3912
    """
    length, seen = np.asarray(wavelength, dtype=np.float64), checked("visibility", visibility)
    return np.asarray(_KOSCHMIEDER / seen * (_VISIBLE / length) ** _size_exponent(seen / 1e3))


def _size_exponent(kilometres: NDArray[np.float64]) -> NDArray[np.float64]:
    return np.select(
        [kilometres > 50, kilometres > 6, kilometres > 1, kilometres > 0.5],
        [np.full_like(kilometres, 1.6), np.full_like(kilometres, 1.3), 0.16 * kilometres + 0.34, kilometres - 0.5],
        0.0,
    )
