"""Which surface a pixel shows: the brief's zones seen through a pose that is itself uncertain."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from typing import Any

import cv2
import numpy as np
import shapely
from numpy.typing import NDArray

from groundglow.errors import InputError
from groundglow.model.pose import pixel_to_ground
from groundglow.model.surface import emissivity_at_angle, emissivity_uncertainty_at_angle, material
from groundglow.records.brief import Surface
from groundglow.records.frame import Pose
from groundglow.records.log import FlightLog

__all__ = ["GroundSurface", "resolve_surfaces", "surface_of", "surface_shares"]

#: Pixels between the points at which zones are looked up; shares vary slowly beside the doubt of position.
LOOKUP_STEP = 8
#: What everything is when the brief says nothing: mixed ground, common practice, no source.
MIXED_GROUND = (0.95, 0.03)


@dataclass(frozen=True)
class GroundSurface:
    """One surface of the site as the reading needs it.

    ``area`` is a shapely geometry in local metres, or None for everything else. Angles in rad.
    """

    name: str
    area: Any
    emissivity: float
    emissivity_sd: float
    mirror_like: bool
    tilt: float = 0.0
    azimuth: float = 0.0
    assumed: bool = False


def resolve_surfaces(
    surfaces: Sequence[Surface], zones: Mapping[str, Any], *, band: str = "7.5-13.5"
) -> tuple[GroundSurface, ...]:
    """Surfaces of the brief with their outlines and emissivities; the rest of the ground comes last.

    Raises
    ------
    InputError
        When a surface names a zone that the site's outline does not have, or an unknown material.
    """
    named = [_resolve(s, zones, band) for s in surfaces if s.zone != "*"]
    rest = [_resolve(s, zones, band) for s in surfaces if s.zone == "*"]
    return (*named, rest[0] if rest else GroundSurface("mixed ground", None, *MIXED_GROUND, False, assumed=True))


def _resolve(surface: Surface, zones: Mapping[str, Any], band: str) -> GroundSurface:
    if surface.zone != "*" and surface.zone not in zones:
        known = ", ".join(sorted(zones)) or "none"
        raise InputError(
            f"brief.toml: surface of zone {surface.zone!r} is not on the site's outline; zones there: {known}. "
            "Name one of these, or draw the zone."
        )
    made_of = material(surface.material)
    tilt = float(np.deg2rad(surface.tilt_deg))
    own = surface.emissivity
    spread = surface.emissivity_sd
    return GroundSurface(
        name=surface.material,
        area=None if surface.zone == "*" else zones[surface.zone],
        emissivity=own if own is not None else float(emissivity_at_angle(made_of, tilt, band=band)),
        emissivity_sd=spread if spread is not None else float(emissivity_uncertainty_at_angle(made_of, tilt)),
        mirror_like=made_of.mirror,
        tilt=tilt,
        azimuth=float(np.deg2rad(surface.azimuth_deg)),
    )


def surface_of(name: str, *, band: str = "7.5-13.5") -> GroundSurface:
    """A level surface of one material that fills the view.

    Raises
    ------
    InputError
        For an unknown material.
    """
    return _resolve(Surface(material=name), {}, band)


def position_doubt(log: FlightLog, pose: Pose) -> float:
    """Standard uncertainty, m, with which a pixel's place on the ground is known."""
    height = abs(float(pose.position[2]) - log.ground_height)
    own = float(np.max(pose.position_sd[:2]))
    return float(np.sqrt(log.shared_position_sd**2 + own**2 + (height * float(np.max(pose.attitude_sd[:2]))) ** 2))


def surface_shares(log: FlightLog, pose: Pose | None, surfaces: Sequence[GroundSurface]) -> NDArray[np.float32]:
    """Probability that a pixel shows each surface.

    Parameters
    ----------
    log : FlightLog
        Geometry of the flight.
    pose : Pose or None
        Without one, all pixels show the last surface (the rest of the ground).
    surfaces : sequence of GroundSurface
        As `resolve_surfaces` gives them.

    Returns
    -------
    ndarray float32, shape (surfaces, rows, columns)
        Sums to one over the first axis. Edges of zones are as soft as the position is uncertain.
    """
    rows, columns = log.shape
    shares = np.zeros((len(surfaces), rows, columns), dtype=np.float32)
    shares[-1] = 1.0
    zoned = [(i, s) for i, s in enumerate(surfaces) if s.area is not None]
    if pose is None or not zoned or not log.metres_per_unit or not log.focal_px:
        return shares
    column, row = np.meshgrid(_ticks(columns), _ticks(rows))
    ground = pixel_to_ground(column, row, pose.position, pose.rotation, log.focal_px, log.shape, log.ground_height)
    taken = np.zeros(column.shape, dtype=bool)
    softness = _softness(log, pose)
    for index, surface in zoned:
        inside = shapely.contains_xy(surface.area, ground[..., 0], ground[..., 1]) & ~taken
        taken |= inside
        shares[index] = _soft(inside, softness, (rows, columns))
    shares[-1] = np.maximum(0.0, 1.0 - shares[:-1].sum(axis=0))
    return np.asarray(shares / shares.sum(axis=0))


def _ticks(count: int) -> NDArray[np.float64]:
    return np.arange(0, count + LOOKUP_STEP, LOOKUP_STEP, dtype=np.float64)


def _softness(log: FlightLog, pose: Pose) -> float:
    """Doubt of position in lookup steps."""
    height = max(abs(float(pose.position[2]) - log.ground_height), 1e-3)
    return max(position_doubt(log, pose) * log.focal_px / height / LOOKUP_STEP, 0.3)


def _soft(inside: NDArray[np.bool_], softness: float, shape: tuple[int, int]) -> NDArray[np.float32]:
    soft = cv2.GaussianBlur(inside.astype(np.float32), (0, 0), softness, borderType=cv2.BORDER_REPLICATE)
    size = (soft.shape[1] * LOOKUP_STEP, soft.shape[0] * LOOKUP_STEP)
    return np.asarray(cv2.resize(soft, size, interpolation=cv2.INTER_LINEAR)[: shape[0], : shape[1]])
