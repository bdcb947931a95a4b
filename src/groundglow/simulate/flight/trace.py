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
    """The painted site of r x c cells, p planes and n surfaces.

    ``number`` (r, c) uint16 and ``radiance`` (r, c) float32: surface number, its band radiance as a black body;
    ``base``: the same without any fault (what lies below a hot part is not hot). ``frame``: west, south, cells a
    metre, blocks a metre. ``planes`` (p, 3): all different planes, the ground first. ``near`` (rows, columns,
    most) int16: for each block the planes that a ray ending there on the ground may meet, highest first, then
    -1. ``plane_of`` (n,): the plane of a surface. ``facts`` (n, 8): normal (3), mirror, floats, wall radiance,
    radiance under it minus its own, number of the surface under it. ``emissivity`` (n, 257) over the cosine of
    the view angle.
    """

    number: Array
    radiance: Array
    base: Array
    frame: Array
    planes: Array
    near: Array
    plane_of: Array
    facts: Array
    emissivity: Array


class Sky(NamedTuple):
    """``clear`` (257,) radiance over the cosine of the zenith angle; ``lobes`` (k, 5): direction, sharpness and
    radiance of clouds and the sun; ``hemisphere`` and ``ground``: radiance from all of the sky, and from below.
    """

    clear: Array
    lobes: Array
    hemisphere: float
    ground: float


class Air(NamedTuple):
    """What the air does at distances 0, step, 2 step ... m (d of them), to radiation of r strengths.

    ``ladder``: band radiance of the first strength, and steps a unit of radiance. ``emitted`` (d, r): share of a
    black body's radiance that arrives; ``mirrored`` (d, r): of what a surface reflects, which has the spectrum of
    a sky where it is colder than the air. ``radiance`` (d,): the air's own.
    """

    step: float
    ladder: tuple[float, float]
    emitted: Array
    mirrored: Array
    radiance: Array


@njit(cache=True, nogil=True, error_model="numpy", inline="always")
def _between(table: Array, place: float) -> float:  # pragma: no cover - compiled
    """Linear interpolation at a fractional position, held at the ends."""
    last = table.shape[0] - 1
    at = min(max(place, 0.0), float(last))
    k = min(int(at), last - 1)
    return float(table[k] + (at - k) * (table[k + 1] - table[k]))


@njit(cache=True, nogil=True, error_model="numpy", inline="always")
def _patch(table: Array, row: float, column: float) -> float:  # pragma: no cover - compiled
    """Bilinear interpolation at a fractional place, held at the ends."""
    u = min(max(row, 0.0), table.shape[0] - 1.0)
    v = min(max(column, 0.0), table.shape[1] - 1.0)
    i, j = min(int(u), table.shape[0] - 2), min(int(v), table.shape[1] - 2)
    near = table[i, j] + (v - j) * (table[i, j + 1] - table[i, j])
    far = table[i + 1, j] + (v - j) * (table[i + 1, j + 1] - table[i + 1, j])
    return float(near + (u - i) * (far - near))


@njit(cache=True, nogil=True, error_model="numpy", inline="always")
def _held(place: float, size: int) -> int:  # pragma: no cover - compiled
    """Whole index of a fractional one, held within 0..size - 1."""
    return min(max(int(place), 0), size - 1)


@njit(cache=True, nogil=True, error_model="numpy")
def _lobes(lobes: Array, x: float, y: float, z: float) -> float:  # pragma: no cover - compiled
    """Radiance of clouds and sun from a direction."""
    value = 0.0
    for k in range(lobes.shape[0]):
        away = (1.0 - (x * lobes[k, 0] + y * lobes[k, 1] + z * lobes[k, 2])) * lobes[k, 3]
        if away < 20.0:
            value += lobes[k, 4] * math.exp(-away)
    return value


# One long function on purpose: handing tuples of arrays to helpers costs more than the tracing itself,
# because each hand-over counts references.
@njit(cache=True, nogil=True, error_model="numpy")
def cast_rays(
    rays: Rays, world: World, sky: Sky, air: Air, out: tuple[Array, Array, Array]
) -> None:  # pragma: no cover - compiled
    """Fill ``out``: radiance at the camera, band radiance of the surface as a black body, surface number.

    All three arrays have one row of rays a row; float32, float32, uint16. A ray crosses every plane that is
    near, the highest first; the first crossing over the surface whose plane it is, or beside a wall, counts.
    """
    sensor, surface, numbers = out
    origin, corner, right, down = rays
    number, radiance, base, frame, planes, near, plane_of, facts, emissivities = world
    clear, lobes, hemisphere, ground = sky
    air_step, ladder, emitted, mirrored, path_radiance = air
    weakest, rungs = ladder
    ox, oy, oz = origin[0], origin[1], origin[2]
    west, south, cells, blocks = frame[0], frame[1], frame[2], frame[3]
    rows, columns = number.shape
    for i in range(sensor.shape[0]):
        for j in range(sensor.shape[1]):
            dz = corner[2] + j * right[2] + i * down[2]
            sx = -(corner[0] + j * right[0] + i * down[0]) / dz
            sy = -(corner[1] + j * right[1] + i * down[1]) / dz
            block_row = _held((oy + sy * oz - south) * blocks, near.shape[0])
            block_column = _held((ox + sx * oz - west) * blocks, near.shape[1])
            depth, k, how, own, row, column = oz, 0, 0, 0.0, 0, 0
            for q in range(near.shape[2]):
                p = near[block_row, block_column, q]
                if p < 0:
                    break
                b, c = planes[p, 1], planes[p, 2]
                depth = (oz - planes[p, 0] - b * ox - c * oy) / (1.0 + b * sx + c * sy)
                x, y = ox + sx * depth, oy + sy * depth
                row = _held((y - south) * cells, rows)
                column = _held((x - west) * cells, columns)
                k = int(number[row, column])
                own = float(radiance[row, column])
                mine = plane_of[k]
                if mine == p:  # its upper side
                    how = 0
                    break
                if facts[k, 4] != 0.0:  # below something that floats: its ground, or nothing yet
                    how = 2
                elif planes[mine, 0] + planes[mine, 1] * x + planes[mine, 2] * y > oz - depth + 1e-6:
                    how = 1  # a wall
                    own = facts[k, 5]
                    break
            if how == 2:
                own = float(base[row, column]) + facts[k, 6]
                k = int(facts[k, 7])
            length = math.sqrt(1.0 + sx * sx + sy * sy)
            ux, uy, uz = sx / length, sy / length, -1.0 / length
            nx, ny, nz = 0.0, 0.0, 1.0
            if how == 0:
                nx, ny, nz = facts[k, 0], facts[k, 1], facts[k, 2]
            cosine = -(ux * nx + uy * ny + uz * nz)
            at = min(max(cosine, 0.0), 1.0) * 256.0
            node = min(int(at), 255)
            emissivity = emissivities[k, node] + (at - node) * (emissivities[k, node + 1] - emissivities[k, node])
            reflected = hemisphere
            if how == 0 and facts[k, 3] != 0.0:
                up = uz + 2.0 * cosine * nz
                reflected = ground
                if up > 0.0:
                    reflected = _between(clear, up * 256.0)
                    reflected += _lobes(lobes, ux + 2.0 * cosine * nx, uy + 2.0 * cosine * ny, up)
            place = depth * length / air_step
            own_share = emissivity * _patch(emitted, place, (own - weakest) * rungs)
            back_share = (1.0 - emissivity) * _patch(mirrored, place, (reflected - weakest) * rungs)
            sensor[i, j] = own_share * own + back_share * reflected + _between(path_radiance, place)
            surface[i, j] = own
            numbers[i, j] = k
