"""Poses of a flight for its log: from the pose file or the frames' own Exif, about the site's origin."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import replace

import numpy as np

from groundglow.frames.places import LocalPlane
from groundglow.frames.poses import Poses, poses_from_stamps, read_poses
from groundglow.job.folder import FlightFolder, JobFolder
from groundglow.job.inputs import brief_of, flight_spec
from groundglow.records.frame import Pose
from groundglow.records.log import Origin
from groundglow.steps.check import FlightPoses, Look

__all__ = ["flight_poses"]

#: The site's own place serves as origin when a flight is no further away, m: the planes differ by < 1 mm there.
FAR = 5000.0


def flight_poses(job: JobFolder, flight: FlightFolder, looks: Sequence[Look]) -> FlightPoses:
    """Pose of each frame that has one, in local metres about the site (or in the log's own local units)."""
    spec = flight_spec(flight)
    if spec.poses.source == "none":
        return FlightPoses({}, None, None, None, 0.0, ("No poses: nothing is placed on a map.",))
    if spec.poses.source == "file" and spec.poses.file:
        read = read_poses(flight.path / spec.poses.file, spec)
    else:
        read = poses_from_stamps({x.name: x.stamp for x in looks}, spec)
    found = {x.name: p for x in looks if (p := _pose(read, x)) is not None}
    shift, origin = _about_site(job, read.origin)
    return FlightPoses(
        {name: (time, replace(pose, position=pose.position + shift)) for name, (time, pose) in found.items()},
        origin,
        read.metres_per_unit,
        read.ground_height,
        read.shared_position_sd,
        read.notes,
    )


def _pose(read: Poses, seen: Look) -> tuple[float | None, Pose] | None:
    row = read.of_frame(seen.name)
    if row is not None and row.pose is not None:
        return (row.time if row.time is not None else seen.stamp.time), row.pose
    between = read.at(seen.stamp.time)
    return (seen.stamp.time, between) if between is not None else None


def _about_site(job: JobFolder, origin: Origin | None) -> tuple[np.ndarray, Origin | None]:
    """Shift that moves positions from a flight's own origin to the site's, so that all flights share one plane."""
    site = brief_of(job).site
    if origin is None or site.lon_deg is None or site.lat_deg is None:
        return np.zeros(3), origin
    common = Origin(site.lon_deg, site.lat_deg, origin.height_m)
    x, y = (float(v) for v in LocalPlane(common).to_local(origin.lon_deg, origin.lat_deg))
    return (np.array([x, y, 0.0]), common) if np.hypot(x, y) < FAR else (np.zeros(3), origin)
