"""The shape of the work, deduced from what is drawn or said; and whether the place can be meant."""

from __future__ import annotations

from collections.abc import Sequence
from typing import Any, Final

import numpy as np

from groundglow.errors import InputError
from groundglow.frames.optional import require
from groundglow.frames.outline import Zone
from groundglow.frames.places import LocalPlane, local_area
from groundglow.records.fit import Work
from groundglow.records.log import Origin

__all__ = ["check_place", "middle_of", "work_from", "work_of_zones"]

#: An outline so many times longer than wide is flown along a line (our choice).
ELONGATED: Final = 8.0
#: A site whose outline lies farther away than this is not meant, m.
FAR: Final = 100e3
WHAT_IS_KNOWN: Final = (
    "Whether a place is land is only known where you give the land's outline (land); without it 0, 0 and "
    "swapped coordinates are noticed, nothing else."
)


def work_from(name: str, sizes: dict[str, Any]) -> Work | None:
    """The work by what is said in numbers: area m2, length m, face (width, height) m; None when nothing is.

    Raises
    ------
    InputError
        When more than one is said, or one is 0.

    Examples
    --------
    >>> work_from("q", {"length": 900.0}).shape
    'line'
    """
    said = {key: value for key, value in sizes.items() if value is not None}
    if not said:
        return None
    if len(said) > 1:
        raise InputError(
            f"{name}: {' and '.join(said)} contradict each other; give one of area, length_of_line and face"
        )
    if not np.all(np.asarray(list(said.values()), dtype=float) > 0):
        raise InputError(f"{name}: {next(iter(said))} is 0; give what has to be covered, or leave it out for one point")
    if "area" in said:
        return Work("area", f"an area of {_square(said['area'])} is to be covered", area=said["area"])
    if "length" in said:
        return Work("line", f"a line of {said['length']:.0f} m is to be followed", length=said["length"])
    width, height = said["face"]
    return Work("face", f"an upright face of {width:.0f} x {height:.0f} m is to be covered", face=(width, height))


def work_of_zones(zones: Sequence[Zone], lon_deg: float, lat_deg: float) -> Work:
    """The work that an outline asks for: an area, or a line where it is long and narrow.

    Length and width are those of the smallest rectangle around all zones.
    """
    shapely = require("shapely", extra="geo")
    plane = LocalPlane(Origin(lon_deg, lat_deg, 0.0))
    ground = shapely.union_all([local_area(zone.polygons, plane) for zone in zones])
    corners = np.asarray(shapely.get_coordinates(shapely.oriented_envelope(ground)))
    sides = sorted(np.hypot(*np.diff(corners[:3], axis=0).T))
    short, long = float(sides[0]), float(sides[-1])
    if long > ELONGATED * max(short, 1e-9):
        return Work("line", f"the outline is {long:.0f} m long and {short:.0f} m wide: a line", length=long)
    area = float(ground.area)
    return Work("area", f"the outline holds {_square(area)}, {long:.0f} x {short:.0f} m: an area", area=area)


def _square(area: float) -> str:
    return f"{area / 1e4:.3g} ha" if area >= 1e4 else f"{area:.0f} m²"


def middle_of(zones: Sequence[Zone]) -> tuple[float, float]:
    """Mean longitude and latitude of the corners of all zones, degrees."""
    corners = np.concatenate([ring for zone in zones for rings in zone.polygons for ring in rings])
    lon, lat = corners.mean(axis=0)
    return float(lon), float(lat)


def check_place(
    name: str, place: tuple[float, float] | None, *, zones: Sequence[Zone] = (), land: Sequence[Zone] = ()
) -> None:
    """Refuse places that cannot be meant: 0, 0; an outline far from the site; off the land that was given.

    Raises
    ------
    InputError
    """
    if place is None:
        return
    lon, lat = place
    if lon == 0.0 and lat == 0.0:
        raise InputError(
            f"{name}: longitude 0, latitude 0 lies in the sea off Africa; most likely nobody filled it in. "
            "Give lon_deg and lat_deg of the site, or leave both out."
        )
    if zones:
        _check_outline(name, place, middle_of(zones))
    if land:
        _check_land(name, place, zones, land)


def _metres(a: tuple[float, float], b: tuple[float, float]) -> float:
    x, y = LocalPlane(Origin(a[0], a[1], 0.0)).to_local(b[0], b[1])
    return float(np.hypot(x, y)) if np.isfinite(x) and np.isfinite(y) else np.inf


def _check_outline(name: str, place: tuple[float, float], middle: tuple[float, float]) -> None:
    away = _metres(place, middle)
    if away <= FAR:
        return
    swapped = (place[1], place[0])
    if abs(swapped[1]) <= 90 and _metres(swapped, middle) <= FAR:
        hint = "with longitude and latitude swapped it would lie there: swap them"
    else:
        hint = "check the order, and the sign of west and south"
    raise InputError(
        f"{name}: the site at longitude {place[0]:g}, latitude {place[1]:g} lies {away / 1000:.0f} km from its own "
        f"outline; {hint}"
    )


def _check_land(name: str, place: tuple[float, float], zones: Sequence[Zone], land: Sequence[Zone]) -> None:
    shapely = require("shapely", extra="geo")
    ground = shapely.union_all([_degrees(zone) for zone in land])
    if not ground.covers(shapely.Point(*place)):
        raise InputError(
            f"{name}: longitude {place[0]:g}, latitude {place[1]:g} lies outside of the land that you gave: in "
            "the water. Check the place, or leave land out for work over water."
        )
    for zone in zones:
        wet = _degrees(zone).difference(ground).area / max(_degrees(zone).area, 1e-30)
        if wet > 0.01:
            raise InputError(
                f"{name}: {100 * wet:.0f} % of zone {zone.name!r} lies outside of the land that you gave: in the "
                "water. Check the outline, or leave land out for work over water."
            )


def _degrees(zone: Zone) -> Any:
    shapely = require("shapely", extra="geo")
    return shapely.MultiPolygon([(rings[0], list(rings[1:])) for rings in zone.polygons])
