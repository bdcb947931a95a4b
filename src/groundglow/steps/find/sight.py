"""From one frame to another: where a thing seen here should be seen there."""

from __future__ import annotations

from collections.abc import Iterable, Iterator
from dataclasses import dataclass
from functools import cached_property

import numpy as np
from numpy.typing import NDArray
from scipy.spatial import cKDTree

from groundglow.frames.places import LocalPlane
from groundglow.records.log import FlightLog
from groundglow.records.tie import Registration
from groundglow.steps.find.ground import Ground, adjusted_ground, apply_homography, height_above
from groundglow.steps.find.settings import FindSettings

__all__ = ["Sight"]

Array = NDArray[np.float64]


@dataclass(frozen=True)
class Sight:
    """Ties, adjusted footprints and parallax of one flight.

    Parameters
    ----------
    log : FlightLog
    registration : Registration
    settings : FindSettings
    """

    log: FlightLog
    registration: Registration
    settings: FindSettings

    @cached_property
    def plane(self) -> LocalPlane | None:
        """The flight's plane as places in degrees; None without an origin."""
        return None if self.log.origin is None else LocalPlane(self.log.origin)

    @cached_property
    def shared_position_sd(self) -> float:
        """Standard uncertainty per axis, m, of what all places of the flight have in common.

        The stated shared part, and the receiver's wander: it takes minutes, so that many frames of a flight are
        as one. NaN where lengths have no metres.
        """
        factor = self.log.metres_per_unit
        poses = [e.pose for e in self.log.used if e.pose is not None]
        if factor is None or not poses:
            return float("nan")
        wander = float(np.mean([np.square(p.position_sd[:2]).mean() for p in poses])) * factor**2
        return float(np.sqrt(self.log.shared_position_sd**2 + wander))

    @cached_property
    def ground(self) -> Ground:
        """Footprints pulled together by the ties."""
        return adjusted_ground(self.log, self.registration.ties)

    @cached_property
    def _homography(self) -> dict[tuple[str, str], Array]:
        """Direct ties, both ways."""
        out = {}
        for tie in self.registration.ties:
            matrix = np.asarray(tie.homography, float).reshape(3, 3)
            out[tie.a, tie.b], out[tie.b, tie.a] = matrix, np.linalg.inv(matrix)
        return out

    def tied(self, a: str, b: str) -> bool:
        """Whether a tie joins the two frames directly."""
        return (a, b) in self._homography

    def pairs(self, frames: Iterable[str]) -> Iterator[tuple[str, str]]:
        """Pairs of frames that are tied or whose footprints may overlap, each once, in order."""
        known = sorted(set(frames))
        near = {p for p in self._homography if p[0] < p[1]} | self._overlapping
        yield from sorted(p for p in near if p[0] in known and p[1] in known)

    @cached_property
    def _overlapping(self) -> set[tuple[str, str]]:
        names = sorted(self.ground.index)
        if len(names) < 2:
            return set()
        rows, columns = self.log.shape
        centre = np.array([self.ground.to_ground(n, [(columns - 1) / 2, (rows - 1) / 2])[0] for n in names])
        reach = np.array([height_above(self.log, n) for n in names]) * np.hypot(rows, columns) / self.log.focal_px
        close = cKDTree(centre).query_pairs(float(np.median(reach)))
        return {(names[i], names[j]) if names[i] < names[j] else (names[j], names[i]) for i, j in close}

    def transfer(self, a: str, b: str, points: Array) -> Array | None:
        """Pixels of b at which the ground seen at pixels of a appears; None where nothing joins the two."""
        if self.tied(a, b):
            return apply_homography(self._homography[a, b], points)
        if a in self.ground and b in self.ground:
            through = self.ground.to_pixel_matrix[b] @ self.ground.to_ground_matrix[a]
            return apply_homography(through, points, visible=True)
        return None

    def tolerance(self, a: str, b: str) -> float:
        """How far from its predicted place a thing on the ground may appear, px."""
        return self.settings.across_px if self.tied(a, b) else self.settings.untied_px

    def parallax(self, a: str, b: str, points: Array, there: Array) -> Array:
        """How much further than ground a thing of the greatest height appears in b, px, shape (n, 2).

        By the poses; without them along the motion of the ground, as a share of it.
        """
        if a in self.ground and b in self.ground:
            shift = self._shift_of_height(a, b, points)
        else:
            shift = (there - points) * self.settings.tallest_share
        length = np.hypot(*shift.T)
        scale = np.minimum(1.0, self.settings.most_parallax_px / np.maximum(length, 1e-9))
        return np.asarray(np.where(np.isfinite(shift), shift * scale[:, None], 0.0))

    def _shift_of_height(self, a: str, b: str, points: Array) -> Array:
        log, (one, other) = self.log, (self._position[f] for f in (a, b))
        at = self.ground.to_ground(a, points)
        share = self._share_of_height(a)
        raised = at + share * (one[:2] - at)
        height = share * height_above(log, a)
        beyond = height / max(height_above(log, b) - height, 1e-9) * (raised - other[:2])
        low, high = (self.ground.to_pixel(b, p) for p in (at, raised + beyond))
        return np.asarray(high - low)

    @cached_property
    def _position(self) -> dict[str, Array]:
        poses = ((e.name, e.pose) for e in self.log.used)
        return {name: pose.position for name, pose in poses if pose is not None}

    def _share_of_height(self, frame: str) -> float:
        if self.log.metres_per_unit is None:
            return self.settings.tallest_share
        height = height_above(self.log, frame) * self.log.metres_per_unit
        return min(self.settings.tallest_m / height, 0.5)

    def inside(self, points: Array, margin: float) -> NDArray[np.bool_]:
        """Whether pixels lie within the frame by a margin."""
        rows, columns = self.log.shape
        with np.errstate(invalid="ignore"):
            held = (points >= margin) & (points <= (columns - 1 - margin, rows - 1 - margin))
        return np.asarray(held.all(axis=1))
