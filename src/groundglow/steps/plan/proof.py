"""Does the plan show the site? Worked out anew from the planned poses and the terrain, not from how lines were laid."""

from __future__ import annotations

import math
from collections.abc import Mapping, Sequence
from dataclasses import dataclass, replace
from typing import Any

import numpy as np
import shapely
from numpy.typing import NDArray

from groundglow.errors import InputError
from groundglow.model.pose import rotation_from_yaw_pitch_roll, terrain_normals
from groundglow.records.kit import Combination
from groundglow.records.plan import Line, Proof, Sortie, Spread
from groundglow.steps.plan.camera import focal_px
from groundglow.steps.plan.ground import Ground
from groundglow.steps.plan.kernels import look_from

__all__ = ["NARROW", "Patch", "fineness", "frame_poses", "length_within", "proof_of_area", "proof_of_patches",
           "spread_of", "surface_figures"]  # fmt: skip

Array = NDArray[np.float64]
#: Points across the shorter side of a footprint, and the most points that are looked at.
POINTS_ACROSS, MOST_POINTS = 12, 4_000_000
#: A site that is small against a footprint gets so many points across its narrow side, and about this many at most.
NARROW, MOST_FINE = 24, 40_000
SEEN = (1, 2, 5)


@dataclass(frozen=True)
class Patch:
    """``points`` and ``normals`` (rows, columns, 3) of a surface; ``by``: lines that see it; ``cell`` m2 a point."""

    points: Array
    normals: Array
    by: tuple[int, ...]
    cell: float


def fineness(footprint: tuple[float, float], narrow: float, area: float) -> float:
    """Spacing of the points of a proof, m: by the footprint, and finer where what is to be seen is narrow.

    Examples
    --------
    >>> fineness((51.2, 40.96), 150.0, 30_000.0) * POINTS_ACROSS
    40.96
    >>> round(4.0 / fineness((51.2, 40.96), 4.0, 240.0), 6)
    24.0
    """
    return min(min(footprint) / POINTS_ACROSS, max(narrow / NARROW, math.sqrt(area / MOST_FINE)))


def frame_poses(lines: Sequence[Line]) -> tuple[Array, Array]:
    """Position (n, 3) and yaw, pitch (n, 2) of every planned frame, in order."""
    if not lines:
        return np.zeros((0, 3)), np.zeros((0, 2))
    places, angles = zip(*(line.poses for line in lines), strict=True)
    return np.concatenate(places), np.concatenate(angles)


def _boxes(poses: tuple[Array, Array], picture: tuple[float, float, float], between: tuple[Array, Array]) -> Array:
    """West, south, east, north of what each frame can show between two heights; infinite towards the horizon."""
    places, rotations = poses
    f, columns, rows = picture
    corners = np.array([(x * columns / 2, y * rows / 2, f) for x in (-1, 1) for y in (-1, 1)])
    rays = np.einsum("ck,nkj->ncj", corners, rotations)
    hits = []
    for height in between:
        fall = (height - places[:, 2])[:, None]
        with np.errstate(divide="ignore", invalid="ignore"):
            t = fall / rays[..., 2]
        t = np.where((t >= 0) & np.isfinite(t), t, np.inf)
        with np.errstate(invalid="ignore"):
            xy = places[:, None, :2] + t[..., None] * rays[..., :2]
        hits.append(np.where(np.isfinite(t)[..., None], xy, np.nan))
    both = np.concatenate(hits, axis=1)
    open_end = np.isnan(both).any(axis=(1, 2))
    low, high = both.min(axis=1), both.max(axis=1)
    low[open_end], high[open_end] = -np.inf, np.inf
    return np.asarray(np.c_[low, high])


def surface_figures(
    points: Array, normals: Array, inside: NDArray[np.bool_], lines: Sequence[Line], kit: Combination,
    *, step: tuple[float, float] | None = None, between: tuple[Ground, Ground] | None = None,
) -> tuple[NDArray[np.int32], Array]:  # fmt: skip
    """Frames that show each point of a surface, and how; see `kernels.look_from`.

    Parameters
    ----------
    points, normals : ndarray, shape (rows, columns, 3)
    inside : ndarray, shape (rows, columns)
        Which points count.
    lines, kit
    step : (float, float), optional
        Steps of x along columns and of y along rows where the points are a raster of the ground: then only points
        near a frame are looked at.
    between : (Ground, Ground), optional
        Lowest and highest ground around each place.
    """
    places, angles = frame_poses(lines)
    rotations = rotation_from_yaw_pitch_roll(angles[:, 0], angles[:, 1], 0.0)
    detector = kit.camera.detector
    picture = (focal_px(kit), float(detector.columns), float(detector.rows))
    shape = points.shape[:2]
    boxes = np.tile(np.array([0, shape[0], 0, shape[1]]), (len(places), 1))
    if step is not None and between is not None:
        boxes = _cells(_boxes((places, rotations), picture, _heights(places, angles, between)), points, step)
    counts, figures = np.zeros(shape, np.int32), np.empty((*shape, 4))
    figures[..., 0], figures[..., 1], figures[..., 2], figures[..., 3] = np.inf, np.nan, 2.0, -2.0
    look_from(points, normals, inside, (places, rotations), boxes, picture, counts, figures)
    return counts, figures


def _heights(places: Array, angles: Array, between: tuple[Ground, Ground]) -> tuple[Array, Array]:
    low, high = (g.at(places[:, 0], places[:, 1]) for g in between)
    oblique = (angles[:, 1] > math.radians(-85.0)) | ~np.isfinite(low) | ~np.isfinite(high)
    low[oblique] = np.nanmin(between[0].heights)
    high[oblique] = np.nanmax(between[1].heights)
    return low, high


def _cells(boxes: Array, points: Array, step: tuple[float, float]) -> NDArray[np.int64]:
    """Rows and columns of the raster within each box."""
    rows, columns = points.shape[:2]
    corner = points[0, 0, :2]
    j = (boxes[:, [0, 2]] - corner[0]) / step[0]
    i = np.sort((boxes[:, [1, 3]] - corner[1]) / step[1], axis=1)
    first_last = [np.clip(i[:, 0], 0, rows), np.clip(i[:, 1] + 1, 0, rows),
                  np.clip(j[:, 0], 0, columns), np.clip(j[:, 1] + 1, 0, columns)]  # fmt: skip
    return np.stack([np.ceil(first_last[0]), np.floor(first_last[1]), np.ceil(first_last[2]), np.floor(first_last[3])],
                    axis=1).astype(np.int64)  # fmt: skip


def proof_of_area(
    site: Any, no_fly: Any, ground: Ground, lines: Sequence[Line], sorties: Sequence[Sortie], kit: Combination,
    *, footprint: tuple[float, float], reachable: Any, wanted: int = 1,
) -> Proof:  # fmt: skip
    """Proof over an area of the ground.

    Parameters
    ----------
    site, no_fly : shapely geometry
        m; ``no_fly``: what no way may enter, or None.
    reachable : shapely geometry
        Part of the site that can be flown over.
    ground, lines, sorties, kit
    footprint : (float, float)
        As the plan has it, m; only for the fineness of the points.
    wanted : int
        Frames that each place is to be in by the asked overlap; their share stands in ``seen`` too.

    Raises
    ------
    InputError
        When what can be reached is so narrow that no point of the raster lies in it.
    """
    west, south, east, north = site.bounds
    narrow = 2.0 * float(reachable.area) / float(reachable.length)
    cell = max(
        fineness(footprint, narrow, float(reachable.area)), math.sqrt((east - west) * (north - south) / MOST_POINTS)
    )
    x, y = np.arange(west + cell / 2, east + cell / 2, cell), np.arange(north - cell / 2, south - cell / 2, -cell)
    grid = np.stack(np.broadcast_arrays(*np.meshgrid(x, y), 0.0), axis=-1)
    grid[..., 2] = ground.at(grid[..., 0], grid[..., 1])
    within = _mask(site, x, y)
    reach = _mask(reachable, x, y) & np.isfinite(grid[..., 2])
    if not reach.any():
        raise InputError(
            f"what can be flown over is {narrow:.3g} m wide: points {cell:.3g} m apart miss it, so nothing can be "
            "proved. Give a line along it instead of an area, or plan its parts by themselves."
        )
    normals = terrain_normals(grid, ground.heights, ground.corner, ground.step)
    around = math.hypot(*footprint)
    counts, figures = surface_figures(
        grid, normals, within & np.isfinite(grid[..., 2]), lines, kit,
        step=(cell, -cell), between=(ground.lowest(around), ground.highest(around)),
    )  # fmt: skip
    found = _proof(counts, figures, (within, reach), lines, sorties, no_fly, cell, ((float(x[0]), float(y[0]))))
    seen = shares(counts.reshape(reach.shape)[reach], (*SEEN, wanted))
    return replace(found, area=float(site.area), reachable=float(reachable.area), seen=seen)


def proof_of_patches(
    patches: Sequence[Patch], lines: Sequence[Line], sorties: Sequence[Sortie], kit: Combination, no_fly: Any
) -> Proof:
    """Proof over faces, or over what stands along a line or at a point."""
    found = [
        surface_figures(p.points, p.normals, np.ones(p.points.shape[:2], dtype=bool), [lines[i] for i in p.by], kit)
        for p in patches
    ]
    counts = np.concatenate([c.ravel() for c, _ in found])
    figures = np.concatenate([f.reshape(-1, 4) for _, f in found])
    every = np.ones(counts.shape, dtype=bool)
    cell = float(np.sqrt(np.mean([p.cell for p in patches])))
    proof = _proof(counts, figures, (every, every), lines, sorties, no_fly, cell, (0.0, 0.0))
    places = np.concatenate([p.points[..., :2].reshape(-1, 2) for p in patches])
    return replace(proof, counts=found[0][0] if len(found) == 1 else counts[None], places=places)


def _mask(shape: Any, x: Array, y: Array) -> NDArray[np.bool_]:
    """Points of a raster that lie in a shape."""
    if shape is None or shape.is_empty:
        return np.zeros((len(y), len(x)), dtype=bool)
    shapely.prepare(shape)
    return np.asarray(shapely.contains_xy(shape, *np.meshgrid(x, y)))


def _proof(
    counts: NDArray[np.int32], figures: Array, masks: tuple[NDArray[np.bool_], NDArray[np.bool_]],
    lines: Sequence[Line], sorties: Sequence[Sortie], no_fly: Any, cell: float, corner: tuple[float, float],
) -> Proof:  # fmt: skip
    within, reach = masks
    seen = reach & (counts > 0)
    vertical = np.arccos(np.clip(figures[seen][:, 2:], -1, 1))
    heights = np.concatenate([line.nodes[:, 2] - line.ground for line in lines])
    return Proof(
        cell,
        float(within.sum()) * cell**2,
        float(reach.sum()) * cell**2,
        shares(counts[reach]),
        spread_of(figures[seen][:, 0]),
        spread_of(np.arccos(np.clip(figures[seen][:, 1], -1, 1))),
        spread_of(vertical[:, 0] - vertical[:, 1]),
        (float(heights.min()), float(heights.max())),
        max(_steepest(line) for line in lines),
        length_within(sorties, no_fly),
        np.where(within, counts, -1).astype(np.int32),
        corner,
        (cell, -cell),
    )


def shares(counts: NDArray[np.int32], frames: Sequence[int] = SEEN) -> Mapping[int, float]:
    """Share of points in at least so many frames, 1, 2 and 5 if not said; 0 for no points."""
    return {n: float((counts >= n).mean()) if counts.size else 0.0 for n in sorted(set(frames))}


def spread_of(values: Array) -> Spread:
    """Quantiles, NaN for no values."""
    if not values.size:
        return Spread(*(float("nan"),) * 4)
    return Spread(*(float(q) for q in np.quantile(values, (0.05, 0.5, 0.95, 1.0))))


def _steepest(line: Line) -> float:
    across = np.linalg.norm(np.diff(line.nodes[:, :2], axis=0), axis=1)
    rise = np.abs(np.diff(line.nodes[:, 2]))
    return float((rise[across > 0] / across[across > 0]).max(initial=0.0))


def length_within(sorties: Sequence[Sortie], no_fly: Any) -> float:
    """Length of all sorties' ways within the no-fly areas, m."""
    if no_fly is None or no_fly.is_empty:
        return 0.0
    ways = [shapely.LineString([(w.x, w.y) for w in s.waypoints]) for s in sorties if len(s.waypoints) > 1]
    inner = shapely.buffer(no_fly, -1e-6)
    return float(sum(shapely.length(shapely.intersection(w, inner)) for w in ways))
