"""Rays from the camera to the site: where each one ends, what is emitted and mirrored there, and the air.

One compiled kernel. The site is a raster of surface numbers and band radiances; each surface is a plane of its
own, so that a ray meets an exact height and an exact normal and the raster only decides whose plane it is.
"""

from __future__ import annotations

import math
from typing import Any, NamedTuple

from numba import njit
from numpy.typing import NDArray

__all__ = ["Air", "Rays", "Sky", "World", "cast_rays"]

Array = NDArray[Any]


class Rays(NamedTuple):
    """Ray (i, j) starts at ``origin`` and goes along ``corner + j * right + i * down`` (any length)."""

    origin: Array
    corner: Array
    right: Array
    down: Array


class World(NamedTuple):
    """The painted site.

    ``number`` (rows, columns) uint16 and ``radiance`` float32: surface number and its band radiance as a black
    body. ``ceiling``: greatest height in and next to each block of ``block`` cells. ``frame``: west, south,
    step. ``facts`` (n, 11): plane (3), normal (3), mirror, floats, wall radiance, radiance under it minus its
    own, number of the surface under it. ``emissivity`` (n, 257) over the cosine of the view angle. ``top``:
    height above which there is nothing.
    """

    number: Array
    radiance: Array
    ceiling: Array
    block: int
    frame: Array
    facts: Array
    emissivity: Array
    top: float


class Sky(NamedTuple):
    """``clear`` (257,) radiance over the cosine of the zenith angle; ``lobes`` (k, 5): direction, sharpness and
    radiance of clouds and the sun; ``hemisphere`` and ``ground``: radiance from all of the sky, and from below.
    """

    clear: Array
    lobes: Array
    hemisphere: float
    ground: float


class Air(NamedTuple):
    """Transmittance and path radiance at distances 0, step, 2 step ... m."""

    step: float
    transmittance: Array
    radiance: Array


@njit(cache=True, nogil=True)
def _between(table: Array, place: float) -> float:  # pragma: no cover - compiled
    """Linear interpolation at a fractional position, held at the ends."""
    last = table.shape[0] - 1
    place = min(max(place, 0.0), float(last))
    k = min(int(place), last - 1)
    return float(table[k] + (place - k) * (table[k + 1] - table[k]))


@njit(cache=True, nogil=True)
def _sky(sky: Sky, x: float, y: float, z: float) -> float:  # pragma: no cover - compiled
    """Radiance that arrives from a direction."""
    if z <= 0.0:
        return float(sky.ground)
    value = _between(sky.clear, z * 256.0)
    for k in range(sky.lobes.shape[0]):
        away = 1.0 - (x * sky.lobes[k, 0] + y * sky.lobes[k, 1] + z * sky.lobes[k, 2])
        if away * sky.lobes[k, 3] < 20.0:
            value += sky.lobes[k, 4] * math.exp(-away * sky.lobes[k, 3])
    return float(value)


@njit(cache=True, nogil=True)
def _meet(world: World, origin: Array, sx: float, sy: float) -> tuple[float, int, int, int, int]:
    """Follow a ray down: (depth below the camera, surface, row, column, how).

    ``sx``, ``sy``: horizontal way a metre of descent. How: 0 upper side, 1 wall, 2 the ground under it.
    """
    rows, columns = world.number.shape
    west, south, step = world.frame[0], world.frame[1], world.frame[2]
    slope = math.hypot(sx, sy)
    fine = step / max(slope, 0.01)
    skip = world.block * fine
    depth = origin[2] - world.top
    before = depth
    while True:
        x = origin[0] + sx * depth
        y = origin[1] + sy * depth
        column = min(max(int((x - west) / step), 0), columns - 1)
        row = min(max(int((y - south) / step), 0), rows - 1)
        z = origin[2] - depth
        above = z - world.ceiling[row // world.block, column // world.block]
        if above > 1e-9:
            before = depth
            depth += min(above, skip)
            continue
        k = int(world.number[row, column])
        facts = world.facts[k]
        if z <= facts[0] + facts[1] * x + facts[2] * y + 1e-9:
            over = origin[2] - facts[0] - facts[1] * origin[0] - facts[2] * origin[1]
            exact = over / (1.0 + facts[1] * sx + facts[2] * sy)
            if exact >= before - 1e-6:
                return exact, k, row, column, 0
            if facts[7] == 0.0:
                return before, k, row, column, 1
            if z <= 1e-9:
                return origin[2], k, row, column, 2
        before = depth
        depth += min(fine, max(z, 1e-3)) if facts[7] != 0.0 and z > 0.0 else fine


@njit(cache=True, nogil=True)
def cast_rays(
    rays: Rays, world: World, sky: Sky, air: Air, out: tuple[Array, Array, Array]
) -> None:  # pragma: no cover - compiled
    """Fill ``out``: radiance at the camera, band radiance of the surface as a black body, surface number.

    All three arrays have one row of rays a row; float32, float32, uint16.
    """
    sensor, surface, number = out
    west, south, step = world.frame[0], world.frame[1], world.frame[2]
    rows, columns = world.number.shape
    for i in range(sensor.shape[0]):
        for j in range(sensor.shape[1]):
            dx = rays.corner[0] + j * rays.right[0] + i * rays.down[0]
            dy = rays.corner[1] + j * rays.right[1] + i * rays.down[1]
            dz = rays.corner[2] + j * rays.right[2] + i * rays.down[2]
            sx, sy = -dx / dz, -dy / dz
            depth, k, row, column, how = _meet(world, rays.origin, sx, sy)
            facts = world.facts[k]
            length = math.sqrt(1.0 + sx * sx + sy * sy)
            nx, ny, nz = (facts[3], facts[4], facts[5]) if how == 0 else (0.0, 0.0, 1.0)
            if how == 0:
                c = min(max(int((rays.origin[0] + sx * depth - west) / step), 0), columns - 1)
                r = min(max(int((rays.origin[1] + sy * depth - south) / step), 0), rows - 1)
                if world.number[r, c] == k:
                    row, column = r, c
            own = float(world.radiance[row, column])
            if how == 1:
                own = facts[8]
            elif how == 2:
                own += facts[9]
                k = int(facts[10])
            ux, uy, uz = sx / length, sy / length, -1.0 / length
            cosine = -(ux * nx + uy * ny + uz * nz)
            emissivity = _between(world.emissivity[k], cosine * 256.0)
            reflected = sky.hemisphere
            if facts[6] != 0.0 and how == 0:
                reflected = _sky(sky, ux + 2 * cosine * nx, uy + 2 * cosine * ny, uz + 2 * cosine * nz)
            leaving = emissivity * own + (1.0 - emissivity) * reflected
            place = depth * length / air.step
            sensor[i, j] = leaving * _between(air.transmittance, place) + _between(air.radiance, place)
            surface[i, j] = own
            number[i, j] = k
