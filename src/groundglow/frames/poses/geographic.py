"""From longitude, latitude, height and angles to a track about the flight's origin."""

from __future__ import annotations

import numpy as np
from numpy.typing import NDArray

from groundglow.errors import InputError
from groundglow.frames.places import LocalPlane
from groundglow.frames.poses.attitude import course, rotations_of_angles
from groundglow.frames.poses.doubt import (
    NADIR_ASSUMED_DEG,
    NO_HEADING_DEG,
    TRACK_HEADING_DEG,
    PoseDoubt,
    sd_of_log,
    stated_doubt,
)
from groundglow.frames.poses.log import ANGLES, GEOGRAPHIC, PoseLog
from groundglow.frames.poses.track import Track
from groundglow.records.flight import PosesSpec
from groundglow.records.log import Origin

__all__ = ["geographic_track"]

Floats = NDArray[np.float64]
WGS84_EQUATOR_M = 6_378_137.0
#: Within this of the site a flight is put on the site's plane, whose scale errs there by less than 5e-6.
NEAR_SITE_M = 20_000.0


def geographic_track(log: PoseLog, poses: PosesSpec, about: tuple[float, float] | None = None) -> Track:
    """The track of a log in degrees, about the site or the median of its places, and the ground's height.

    Blank angles: straight down, heading along the track; each is a note and widens the doubt.

    Raises
    ------
    InputError
        When places are no degrees, or flight.toml leaves open what heights or angles refer to.
    """
    _check_degrees(log)
    ground, ground_notes = _ground_height(log, poses)
    lon, lat, height = log.table(GEOGRAPHIC).T
    origin = _origin(lon, lat, ground, about)
    x, y = LocalPlane(origin).to_local(lon, lat)
    position = np.stack([x, y, height - ground], axis=1)
    doubt = stated_doubt(poses)
    angles, attitude_sd, angle_notes = _angles(log, poses, position, doubt)
    known_heading = np.isfinite(log.table(ANGLES)[:, 0])
    angles[known_heading, 0] -= _convergence(lon, lat, origin)[known_heading]
    return Track(
        position,
        _position_sd(log, lat, doubt),
        rotations_of_angles(angles, poses),
        attitude_sd,
        origin,
        1.0,
        0.0,
        doubt.shared_position_sd_m,
        (*ground_notes, *angle_notes, *doubt.notes),
    )


def _origin(lon: Floats, lat: Floats, ground: float, about: tuple[float, float] | None) -> Origin:
    """The site's place when the flight is near it, so that all flights share one plane; else the flight's middle."""
    middle = Origin(float(np.nanmedian(lon)), float(np.nanmedian(lat)), ground)
    if about is None:
        return middle
    site = Origin(*about, ground)
    away = np.hypot(*LocalPlane(site).to_local(middle.lon_deg, middle.lat_deg))
    return site if away < NEAR_SITE_M else middle


def _check_degrees(log: PoseLog) -> None:
    places = log.table(GEOGRAPHIC[:2])
    wrong = np.flatnonzero((np.abs(places) > (180, 90)).any(axis=1))
    if wrong.size:
        lon, lat = places[wrong[0]]
        raise InputError(
            f"{log.place(int(wrong[0]))}: lon_deg {lon}, lat_deg {lat} is no place in degrees; "
            f"{wrong.size} row(s) like this. Give WGS 84 degrees, or map the columns the other way round."
        )


def _ground_height(log: PoseLog, poses: PosesSpec) -> tuple[float, tuple[str, ...]]:
    """Height of the ground above the flight's height reference, and what was assumed."""
    reference, ground = poses.height_reference, poses.ground_height_m
    if reference is None:
        raise InputError(
            f"{log.where}: what its heights refer to is not said. Write in flight.toml under [poses]: "
            'height_reference = "take-off" (or "ground", "sea level", "ellipsoid"), and for all but "ground" '
            "ground_height_m = the height of the site above that reference"
        )
    if reference == "ground":
        return 0.0, ()
    if ground is not None:
        return ground, ()
    if reference == "take-off":
        return 0.0, ("the ground is taken to be level with the take-off point: no ground_height_m was given",)
    raise InputError(
        f"{log.where}: heights are above the {reference}, but the ground's own height is not said. Write in "
        f"flight.toml under [poses]: ground_height_m = the height of the site above the {reference}, m"
    )


def _angles(
    log: PoseLog, poses: PosesSpec, position: Floats, doubt: PoseDoubt
) -> tuple[Floats, Floats, tuple[str, ...]]:
    """Yaw, pitch and roll in degrees without gaps, attitude doubt in rad, notes."""
    if poses.of == "aircraft" and poses.pitch_zero == "nadir":
        raise InputError(
            'flight.toml [poses]: pitch_zero = "nadir" does not go with of = "aircraft", whose pitch 0 is level '
            "flight; remove one"
        )
    given = log.table(ANGLES)
    along = np.degrees(course(position))
    return _filled(given, along, poses), _attitude_sd(log, doubt, along), _angle_notes(poses, given, along)


def _filled(given: Floats, along: Floats, poses: PosesSpec) -> Floats:
    """Blank headings from the track (north where it gives none), blank pitch straight down, blank roll level."""
    down = 0.0 if poses.of == "aircraft" or poses.pitch_zero == "nadir" else -90.0
    heading = np.where(np.isfinite(along), along, 0.0)
    assumed = np.stack([heading, np.full_like(heading, down), np.zeros_like(heading)], axis=1)
    return np.where(np.isfinite(given), given, assumed)


def _attitude_sd(log: PoseLog, doubt: PoseDoubt, along: Floats) -> Floats:
    """About east, north and up, rad: stated, else by what had to be assumed."""
    known = np.isfinite(log.table(ANGLES))
    of_track = np.where(np.isfinite(along), TRACK_HEADING_DEG, NO_HEADING_DEG)
    heading = np.where(known[:, 0], doubt.heading_sd_deg, of_track)
    tilt = np.where(known[:, 1:], doubt.attitude_sd_deg, NADIR_ASSUMED_DEG)
    by_angle = sd_of_log(log, ANGLES, np.column_stack([heading, tilt]))
    tilt_sd = by_angle[:, 1:].max(axis=1)
    return np.asarray(np.radians(np.column_stack([tilt_sd, tilt_sd, by_angle[:, 0]])))


def _angle_notes(poses: PosesSpec, given: Floats, along: Floats) -> tuple[str, ...]:
    blank = ~np.isfinite(given)
    by_track, lost = blank[:, 0] & np.isfinite(along), blank[:, 0] & ~np.isfinite(along)
    counted = (
        (blank[:, 1:].any(axis=1), f"pitch or roll unknown: taken straight down, +-{NADIR_ASSUMED_DEG:g} degrees"),
        (by_track, f"heading unknown: taken along the track, +-{TRACK_HEADING_DEG:g} degrees"),
        (lost, f"heading unknown and no track: taken north, +-{NO_HEADING_DEG:.0f} degrees"),
    )
    notes = [f"{int(rows.sum())} of {len(given)} frame(s): {text}" for rows, text in counted if rows.any()]
    if poses.of == "aircraft":
        notes.append(
            "angles are the aircraft's: the camera is taken as fixed to it, looking straight down, image top "
            "towards the nose"
        )
    return tuple(notes)


def _position_sd(log: PoseLog, lat: Floats, doubt: PoseDoubt) -> Floats:
    """East, north and up, m; standard uncertainties in degrees of the log are turned into m."""
    metres = np.radians(WGS84_EQUATOR_M)
    level = np.column_stack([metres * np.cos(np.radians(lat)), np.full_like(lat, metres), np.ones_like(lat)])
    default = np.array([doubt.position_sd_m, doubt.position_sd_m, doubt.height_sd_m]) / level
    return np.asarray(sd_of_log(log, GEOGRAPHIC, default) * level)


def _convergence(lon: Floats, lat: Floats, origin: Origin) -> Floats:
    """Angle in degrees by which the plane's north lies east of true north (Snyder 1987, eq. 8-14 small)."""
    return np.asarray((lon - origin.lon_deg) * np.sin(np.radians(lat)))
