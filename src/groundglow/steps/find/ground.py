"""Where the pixels of a flight lie on the ground, after the ties have pulled the frames together.

Positions and attitudes of single frames are in doubt by metres; ties between frames are good to a pixel or
two. Each frame's footprint may therefore be moved, turned and scaled on the ground plane, within its doubt,
so that tied pixels meet. It is a linear least-squares problem of four unknowns a frame.
"""

from __future__ import annotations

from dataclasses import dataclass
from functools import cached_property
from typing import Any

import numpy as np
from numpy.typing import ArrayLike, NDArray
from scipy import sparse
from scipy.sparse.linalg import splu

from groundglow.model.pose import camera_matrix
from groundglow.records.frame import Pose
from groundglow.records.log import FlightLog
from groundglow.records.tie import Tie

__all__ = ["Ground", "adjusted_ground", "apply_homography"]

Array = NDArray[np.float64]

#: Tied pixels meet on the ground to this many pixels: the tie itself, and tilts that move unlike a similarity.
TIE_PX = 3.0
#: Residuals beyond this many standard deviations count linearly (Huber 1964; the value is common practice).
HUBER = 1.5
#: Rounds of weights and scales; a place moves by less than a tenth of its doubt after five.
ROUNDS = 6
#: Share of the variance of tilt, heading and height that a whole flight has in common: a mount a little askew,
#: a compass and a barometer that are off. Records do not say; half is common practice, no source.
COMMON_SHARE = 0.5
#: Least relative doubts, so that poses given without any can still move a little.
LEAST_SHIFT, LEAST_TURN, LEAST_SCALE = 1e-3, 1e-3, 1e-3


def apply_homography(homography: ArrayLike, points: ArrayLike, *, visible: bool = False) -> Array:
    """Pixels (column, row) of one frame as pixels of another, shape (n, 2).

    With ``visible``, NaN where the last homogeneous coordinate is not positive.

    Examples
    --------
    >>> apply_homography([1, 0, 5, 0, 1, -2, 0, 0, 1], [[10, 10]])
    array([[15.,  8.]])
    """
    places = np.asarray(points, dtype=float).reshape(-1, 2)
    mapped = np.column_stack([places, np.ones(len(places))]) @ np.asarray(homography, float).reshape(3, 3).T
    last = np.where(mapped[:, 2:] > 0, mapped[:, 2:], np.nan) if visible else mapped[:, 2:]
    with np.errstate(divide="ignore", invalid="ignore"):
        return np.asarray(mapped[:, :2] / last)


@dataclass(frozen=True)
class Ground:
    """Adjusted footprints of the frames of a flight that have a pose. Places are in the flight's own unit.

    Parameters
    ----------
    log : FlightLog
    index : dict
        Frame name to number.
    change : ndarray, shape (n, 4)
        Shift east and north, turn (rad) and relative scale of each footprint about its centre.
    centre : ndarray, shape (n, 2)
        Centre of each footprint before adjusting.
    common : sparse matrix, shape (4 n, 4)
        What errors that all frames share do to ``change``: tilt to the right, tilt forward, turn, scale.
    normal : sparse matrix, shape (4 n + 4, 4 n + 4)
        Normal equations of the frames' own changes and the four common ones; their inverse is the covariance.
    """

    log: FlightLog
    index: dict[str, int]
    change: Array
    centre: Array
    common: Any
    normal: Any

    def __contains__(self, frame: str) -> bool:
        return frame in self.index

    def to_ground(self, frame: str, points: ArrayLike) -> Array:
        """Ground places of pixels (column, row), shape (n, 2); NaN above the horizon."""
        return apply_homography(self.to_ground_matrix[frame], points, visible=True)

    def to_pixel(self, frame: str, places: ArrayLike) -> Array:
        """Pixels (column, row) of ground places, shape (n, 2); may lie outside the frame; NaN behind it."""
        return apply_homography(self.to_pixel_matrix[frame], places, visible=True)

    @cached_property
    def to_ground_matrix(self) -> dict[str, Array]:
        """Matrix from pixel to adjusted ground place of each frame; its last row is positive for what is seen."""
        return {f: self._moved(k) @ ground_matrix(self.log, f) for f, k in self.index.items()}

    @cached_property
    def to_pixel_matrix(self) -> dict[str, Array]:
        """Inverses of ``to_ground_matrix``."""
        return {f: np.asarray(np.linalg.inv(m), dtype=np.float64) for f, m in self.to_ground_matrix.items()}

    def _moved(self, k: int) -> Array:
        east, north, turn, scale = self.change[k]
        linear = np.array([[1 + scale, -turn], [turn, 1 + scale]])
        shift = self.centre[k] + (east, north) - linear @ self.centre[k]
        return np.block([[linear, shift[:, None]], [np.zeros((1, 2)), np.ones((1, 1))]])

    @cached_property
    def _solver(self) -> Any:
        return splu(self.normal.tocsc())

    def mean_covariance(self, frames: list[str], points: Array) -> Array:
        """Covariance (2, 2) of the mean ground place of one pixel in each of several frames, by the poses."""
        gradient = np.zeros((4 * len(self.index), 2))
        for frame, point in zip(frames, points, strict=True):
            k = self.index[frame]
            gradient[4 * k : 4 * k + 4] += _gradients(_raw_ground(self.log, frame, point) - self.centre[k])[0].T
        gradient = np.concatenate([gradient, self.common.T @ gradient]) / len(frames)
        return np.asarray(gradient.T @ self._solver.solve(gradient))


def _gradients(offset: Array) -> Array:
    """Change of places by (east, north, turn, scale) of their footprint, shape (n, 2, 4)."""
    x, y = offset.T
    one, none = np.ones_like(x), np.zeros_like(x)
    return np.stack([np.stack([one, none, -y, x], axis=1), np.stack([none, one, x, y], axis=1)], axis=1)


def _pose(log: FlightLog, frame: str) -> Pose:
    pose = log.entry(frame).pose
    if pose is None:
        raise KeyError(f"{frame} has no pose")
    return pose


def plane_of(log: FlightLog) -> tuple[float, float, float, float]:
    """The ground plane a x + b y + c z + d = 0."""
    if log.ground_plane is None:
        return 0.0, 0.0, 1.0, -log.ground_height
    a, b, c, d = log.ground_plane
    return a, b, c, -d


def ground_matrix(log: FlightLog, frame: str) -> Array:
    """Matrix from pixel to place (x, y) on the ground plane by the frame's own pose.

    A ray r meets the plane at X = C - r (n.C + d) / (n.r); homogeneous in r = R^T K^-1 p. Scaled so that the
    last coordinate is positive in front of the camera.
    """
    pose, plane = _pose(log, frame), plane_of(log)
    normal, above = np.array(plane[:3]), float(np.dot(plane[:3], pose.position)) + plane[3]
    places = np.outer(pose.position[:2], normal) - above * np.eye(3)[:2]
    rays = pose.rotation.T @ np.linalg.inv(camera_matrix(log.focal_px, log.shape))
    return np.asarray(np.vstack([places, normal]) @ rays * -np.sign(above))


def _raw_ground(log: FlightLog, frame: str, points: ArrayLike) -> Array:
    return apply_homography(ground_matrix(log, frame), points, visible=True)


def height_above(log: FlightLog, frame: str) -> float:
    """Height of the camera above the ground plane, in the flight's unit."""
    a, b, c, d = plane_of(log)
    return abs(float(np.dot((a, b, c), _pose(log, frame).position)) + d)


def adjusted_ground(log: FlightLog, ties: tuple[Tie, ...]) -> Ground:
    """Footprints of all frames in use that have a pose, pulled together by the ties.

    Parameters
    ----------
    log : FlightLog
    ties : tuple of Tie

    Returns
    -------
    Ground
        Empty when no frame in use has a pose.
    """
    names = [e.name for e in log.used if e.pose is not None and log.focal_px]
    names = [n for n in names if np.isfinite(_raw_ground(log, n, _middle(log))).all()]
    index = {name: k for k, name in enumerate(names)}
    centre = np.array([_raw_ground(log, n, _middle(log))[0] for n in names]).reshape(-1, 2)
    if not names:
        none = sparse.csc_matrix((0, 4))
        return Ground(log, index, np.zeros((0, 4)), centre, none, sparse.csc_matrix((4, 4)))
    rows, gaps = _tie_rows(log, ties, index, centre)
    common = sparse.vstack([sparse.csc_matrix(_common(log, n)) for n in names]).tocsc()
    prior = sparse.diags(np.concatenate([*(_prior(log, n) for n in names), _common_prior(log, names)]))
    found, normal = _solved(sparse.hstack([rows, rows @ common]).tocsr(), gaps, prior, _scales(rows, common))
    change = found[:-4] + common @ found[-4:]
    return Ground(log, index, change.reshape(-1, 4), centre, common, normal)


def _middle(log: FlightLog) -> list[float]:
    rows, columns = log.shape
    return [(columns - 1) / 2, (rows - 1) / 2]


def _prior(log: FlightLog, frame: str) -> Array:
    """Inverse variances of a footprint's own shift, turn and scale from the doubt of its pose."""
    pose, height = _pose(log, frame), height_above(log, frame)
    tilt, turn, scale = _own_angles(log, frame)
    shift = np.hypot(pose.position_sd[:2], height * tilt)
    sd = [*np.maximum(shift, LEAST_SHIFT * height), max(turn, LEAST_TURN), max(scale, LEAST_SCALE)]
    return np.asarray(1.0 / np.square(sd))


def _own_angles(log: FlightLog, frame: str) -> tuple[float, float, float]:
    """Standard uncertainty of a frame's own tilt, turn and scale; as much again is common to the flight."""
    pose = _pose(log, frame)
    tilt, turn = float(np.mean(pose.attitude_sd[:2])), float(pose.attitude_sd[2])
    own = np.sqrt(1.0 - COMMON_SHARE)
    return own * tilt, own * turn, own * float(pose.position_sd[2]) / height_above(log, frame)


def _common(log: FlightLog, frame: str) -> Array:
    """Change of a footprint by a common tilt to the right, tilt forward, turn and scale, shape (4, 4)."""
    pose, height = _pose(log, frame), height_above(log, frame)
    out = np.zeros((4, 4))
    for k, axis in enumerate((pose.rotation[0], -pose.rotation[1])):
        out[:2, k] = height * axis[:2]
    out[2, 2] = out[3, 3] = 1.0
    return out


def _common_prior(log: FlightLog, names: list[str]) -> Array:
    """Inverse variances of the four common changes: the middle doubt of all frames."""
    own = np.median([_own_angles(log, n) for n in names], axis=0) * np.sqrt(COMMON_SHARE / (1.0 - COMMON_SHARE))
    least = np.array([LEAST_SHIFT, LEAST_TURN, LEAST_SCALE])
    tilt, turn, scale = 1.0 / np.square(np.maximum(own, least))
    return np.array([tilt, tilt, turn, scale])


def _tie_rows(log: FlightLog, ties: tuple[Tie, ...], index: dict[str, int], centre: Array) -> tuple[Any, Array]:
    """Two weighted equations a tied pixel: the places from the two frames are one."""
    used = [t for t in ties if t.a in index and t.b in index]
    parts = [_equations(log, t, index, centre) for t in used]
    blocks, gaps = [p for p, _ in parts], [g for _, g in parts]
    size = 4 * len(index)
    if not parts:
        return sparse.csr_matrix((0, size)), np.zeros(0)
    return sparse.vstack(blocks).tocsr(), np.concatenate(gaps)


def _equations(log: FlightLog, tie: Tie, index: dict[str, int], centre: Array) -> tuple[Any, Array]:
    a, b = index[tie.a], index[tie.b]
    in_a, in_b = _tied_pixels(log.shape, tie)
    one, other = _raw_ground(log, tie.a, in_a), _raw_ground(log, tie.b, in_b)
    good = np.isfinite(one).all(axis=1) & np.isfinite(other).all(axis=1)
    one, other = one[good], other[good]
    sd = TIE_PX * height_above(log, tie.a) / log.focal_px
    values = np.concatenate([_gradients(one - centre[a]), -_gradients(other - centre[b])], axis=2) / sd
    columns = np.concatenate([4 * a + np.arange(4), 4 * b + np.arange(4)])
    count = 2 * len(one)
    at = np.repeat(np.arange(count), 8), np.tile(columns, count)
    return sparse.coo_matrix((values.ravel(), at), shape=(count, 4 * len(index))), ((other - one) / sd).ravel()


def _tied_pixels(shape: tuple[int, int], tie: Tie) -> tuple[Array, Array]:
    """Pixels of a on a 3 x 3 grid over what it shares with b, and those of b."""
    rows, columns = shape
    grid = np.stack(np.meshgrid(np.linspace(0, columns - 1, 7), np.linspace(0, rows - 1, 7)), -1).reshape(-1, 2)
    there = apply_homography(tie.homography, grid)
    inside = ((there >= 0) & (there <= (columns - 1, rows - 1))).all(axis=1)
    shared = np.nonzero(inside)[0]
    few = shared[np.linspace(0, len(shared) - 1, min(9, len(shared))).round().astype(int)] if len(shared) else shared
    return grid[few], there[few]


def _scales(rows: Any, common: Any) -> Any:
    """By how much each equation's own scale grows with the unknowns: half with that of each of its two frames."""
    half = 0.5 * (abs(rows)[:, 3::4] > 0)
    each = sparse.coo_matrix(half)
    own = sparse.csr_matrix((each.data, (each.row, 4 * each.col + 3)), shape=rows.shape)
    return sparse.hstack([own, own @ common]).tocsr()


def _solved(rows: Any, gaps: Array, prior: Any, scales: Any) -> tuple[Array, Any]:
    """Least squares with Huber weights; (unknowns, normal matrix).

    What ties leave is counted in pixels. Counted in metres it would shrink with the footprints, and the whole
    flight with it, until the poses object.
    """
    weight = np.ones(gaps.size)
    change, left = np.zeros(prior.shape[0]), np.zeros(gaps.size)
    normal = prior.tocsc()
    for _ in range(ROUNDS if gaps.size else 0):
        steep = rows + sparse.diags(left) @ scales
        weighted = sparse.diags(weight) @ steep
        normal = (steep.T @ weighted + prior).tocsc()
        change = splu(normal).solve(weighted.T @ (gaps + (steep - rows) @ change))
        left = gaps - rows @ change
        weight = np.where(np.abs(left) <= HUBER, 1.0, HUBER / np.maximum(np.abs(left), HUBER))
    return change, normal
