"""From places on the Earth to a flight's local plane and back, and how a place is shown.

The plane is a transverse Mercator projection through the flight's origin with scale 1 there, true north
up. Within 5 km of the origin its scale departs from 1 by less than 4e-7.

References
----------
Snyder, J. P. (1987), Map Projections: A Working Manual, USGS Professional Paper 1395, section 8;
WGS 84 (NGA.STND.0036).
"""

from __future__ import annotations

from collections.abc import Sequence
from functools import cached_property
from typing import Any

import numpy as np
from numpy.typing import ArrayLike, NDArray

from groundglow.errors import InputError
from groundglow.frames.optional import require
from groundglow.records.log import Origin

__all__ = ["LocalPlane", "dms_text", "local_area", "utm_text"]

Floats = NDArray[np.float64]

#: South, north, west, east in degrees, and the zone that holds there.
WIDER_ZONES = (
    (56, 64, 3, 12, 32),
    (72, 84.1, 0, 9, 31),
    (72, 84.1, 9, 21, 33),
    (72, 84.1, 21, 33, 35),
    (72, 84.1, 33, 42, 37),
)


class LocalPlane:
    """The local plane of a flight: x east, y north, in m.

    Parameters
    ----------
    origin : Origin

    Examples
    --------
    >>> plane = LocalPlane(Origin(lon_deg=8.0, lat_deg=47.0, height_m=400.0))
    >>> x, y = plane.to_local(8.0, 47.001)
    >>> float(x.round(3)), float(y.round(2))
    (0.0, 111.17)
    >>> lon, lat = plane.to_geographic(x, y)
    >>> float(lon.round(9)), float(lat.round(9))
    (8.0, 47.001)
    """

    def __init__(self, origin: Origin) -> None:
        if not (np.isfinite(origin.lon_deg) and abs(origin.lat_deg) <= 90):
            raise InputError(f"origin at {origin.lon_deg}, {origin.lat_deg} degrees is no place on the Earth")
        self.origin = origin

    @property
    def proj4(self) -> str:
        """The plane's coordinate reference system as a PROJ string."""
        return (
            f"+proj=tmerc +lat_0={self.origin.lat_deg!r} +lon_0={self.origin.lon_deg!r} +k=1 +x_0=0 +y_0=0 "
            "+ellps=WGS84 +units=m +no_defs"
        )

    @cached_property
    def _projection(self) -> Any:
        return require("pyproj", extra="geo").Proj(self.proj4)

    def to_local(self, lon_deg: ArrayLike, lat_deg: ArrayLike) -> tuple[Floats, Floats]:
        """East and north in m of places in degrees (WGS 84); NaN stays NaN.

        See Also
        --------
        to_geographic : the other way round.
        """
        return _each(self._projection, lon_deg, lat_deg)

    def to_geographic(self, x: ArrayLike, y: ArrayLike) -> tuple[Floats, Floats]:
        """Longitude and latitude in degrees (WGS 84) of places in m; NaN stays NaN.

        See Also
        --------
        to_local : the other way round.
        """
        return _each(lambda a, b: self._projection(a, b, inverse=True), x, y)


def _each(function: Any, first: ArrayLike, second: ArrayLike) -> tuple[Floats, Floats]:
    a, b = np.broadcast_arrays(np.asarray(first, np.float64), np.asarray(second, np.float64))
    known = np.isfinite(a) & np.isfinite(b)
    out_a, out_b = np.full(a.shape, np.nan), np.full(a.shape, np.nan)
    out_a[known], out_b[known] = function(a[known], b[known])
    return out_a, out_b


def dms_text(lon_deg: float, lat_deg: float) -> str:
    """A place in degrees, minutes and seconds to a tenth of a second (3 m).

    Examples
    --------
    >>> dms_text(8.5, -47.2506)
    '47°15\\'02.2"S 8°30\\'00.0"E'
    """
    return f"{_dms(lat_deg, 'NS')} {_dms(lon_deg, 'EW')}"


def _dms(angle: float, letters: str) -> str:
    tenths = round(abs(angle) * 36000)
    degrees, rest = divmod(tenths, 36000)
    minutes, rest = divmod(rest, 600)
    return f"{degrees}°{minutes:02d}'{rest / 10:04.1f}\"{letters[angle < 0]}"


def utm_text(lon_deg: float, lat_deg: float) -> str:
    """A place in UTM to a metre (WGS 84), ``N`` or ``S`` for the hemisphere.

    Examples
    --------
    >>> utm_text(9.0, 0.0)
    '32N 500000 E 0 N'

    Raises
    ------
    InputError
        Beyond 84 degrees north or 80 degrees south, where UTM ends.
    """
    if not -80 <= lat_deg <= 84:
        raise InputError(f"latitude {lat_deg} has no UTM zone; allowed -80 to 84 degrees")
    pyproj = require("pyproj", extra="geo")
    zone = _utm_zone(lon_deg, lat_deg)
    south = " +south" if lat_deg < 0 else ""
    east, north = pyproj.Proj(f"+proj=utm +zone={zone}{south} +ellps=WGS84")(lon_deg, lat_deg)
    return f"{zone}{'S' if south else 'N'} {east:.0f} E {north:.0f} N"


def _utm_zone(lon_deg: float, lat_deg: float) -> int:
    """Zone by belts of 6 degrees, with the wider ones around the north of Europe (DMA TM 8358.2, from memory)."""
    for south, north, west, east, zone in WIDER_ZONES:
        if south <= lat_deg < north and west <= lon_deg < east:
            return zone
    return int((lon_deg + 180) // 6) % 60 + 1


def local_area(polygons: Sequence[Sequence[Floats]], plane: LocalPlane) -> Any:
    """Polygons in degrees as one shapely area in the plane's metres.

    Parameters
    ----------
    polygons : sequence of sequence of ndarray, shape (n, 2)
        Rings of longitude and latitude, as a zone has them: of each polygon the first is its border.
    plane : LocalPlane
    """
    shapely = require("shapely", extra="geo")
    rings = [[list(zip(*plane.to_local(r[:, 0], r[:, 1]), strict=True)) for r in of] for of in polygons]
    return shapely.MultiPolygon([(of[0], of[1:]) for of in rings])
