"""A track: positions and attitudes of one log as arrays in the local frame, and poses between its rows."""

from __future__ import annotations

from bisect import bisect_left
from collections.abc import Sequence
from dataclasses import dataclass, field, replace

import numpy as np
from numpy.typing import NDArray
from scipy.spatial.transform import Rotation

from groundglow.records.frame import Pose
from groundglow.records.log import Origin

__all__ = ["Track", "pose_between"]

Floats = NDArray[np.float64]


@dataclass(frozen=True)
class Track:
    """Rows of a log in the local frame.

    Parameters
    ----------
    position, position_sd : ndarray, shape (n, 3)
        East, north, up and their standard uncertainties, m or local units; NaN where unknown.
    rotation : ndarray, shape (n, 3, 3)
        World to camera; NaN where unknown.
    attitude_sd : ndarray, shape (n, 3)
        About the world's east, north and up axes, rad.
    origin : Origin or None
    metres_per_unit : float or None
        1 when positions are in m, None when their unit is unknown.
    ground_height : float or None
    shared_position_sd : float
    notes : tuple of str
    """

    position: Floats
    position_sd: Floats
    rotation: Floats
    attitude_sd: Floats
    origin: Origin | None
    metres_per_unit: float | None
    ground_height: float | None
    shared_position_sd: float
    notes: tuple[str, ...] = field(default=())

    def pose(self, index: int) -> Pose | None:
        """The pose of a row; None when its place or attitude is unknown."""
        position, rotation = self.position[index], self.rotation[index]
        if not (np.isfinite(position).all() and np.isfinite(rotation).all()):
            return None
        return Pose(position, rotation, self.position_sd[index], self.attitude_sd[index])


def pose_between(known: Sequence[tuple[float, Pose]], time: float, *, clock_sd: float = 0.0) -> Pose | None:
    """The pose at a time: position along the straight way, attitude along the even turn.

    Parameters
    ----------
    known : sequence of (time, Pose)
        In order of time.
    time : float
        Seconds.
    clock_sd : float
        Standard uncertainty of ``time`` against the log, s; times the speed it adds to the position's.

    Returns
    -------
    Pose or None
        None before the first and after the last row.
    """
    if not known or not known[0][0] <= time <= known[-1][0]:
        return None
    after = max(bisect_left([t for t, _ in known], time), 1)
    if len(known) == 1:
        return known[0][1]
    (start, first), (end, second) = known[after - 1], known[after]
    share = (time - start) / (end - start) if end > start else 0.0
    return _mixed(first, second, share, clock_sd / (end - start) if end > start else 0.0)


def _mixed(a: Pose, b: Pose, share: float, clock: float) -> Pose:
    way = b.position - a.position
    turn = Rotation.from_matrix(b.rotation @ a.rotation.T).as_rotvec()
    nearer = a if share < 0.5 else b
    return replace(
        nearer,
        position=a.position + share * way,
        rotation=Rotation.from_rotvec(share * turn).as_matrix() @ a.rotation,
        position_sd=np.hypot(nearer.position_sd, clock * np.abs(way)),
    )
