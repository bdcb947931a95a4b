"""Poses of a flight for its log: from the pose file or the frames' own Exif, about the site's origin."""

from __future__ import annotations

from collections.abc import Sequence

from groundglow.frames.poses import Poses, poses_from_stamps, read_poses
from groundglow.job.folder import FlightFolder, JobFolder
from groundglow.job.inputs import brief_of, flight_spec
from groundglow.records.frame import Pose
from groundglow.steps.check import FlightPoses, Look

__all__ = ["flight_poses"]


def flight_poses(job: JobFolder, flight: FlightFolder, looks: Sequence[Look]) -> FlightPoses:
    """Pose of each frame that has one, in local metres about the site (or in the log's own local units)."""
    spec = flight_spec(flight)
    if spec.poses.source == "none":
        return FlightPoses({}, None, None, None, 0.0, ("No poses: nothing is placed on a map.",))
    if spec.poses.source == "file" and spec.poses.file:
        read = read_poses(flight.path / spec.poses.file, spec, about=_site(job))
    else:
        read = poses_from_stamps({x.name: x.stamp for x in looks}, spec, about=_site(job))
    found = {x.name: p for x in looks if (p := _pose(read, x)) is not None}
    return FlightPoses(
        found,
        read.origin,
        read.metres_per_unit,
        read.ground_height,
        read.shared_position_sd,
        read.notes,
    )


def _site(job: JobFolder) -> tuple[float, float] | None:
    """The site's own place, so that all flights of a job share one plane."""
    site = brief_of(job).site
    return (site.lon_deg, site.lat_deg) if site.lon_deg is not None and site.lat_deg is not None else None


def _pose(read: Poses, seen: Look) -> tuple[float | None, Pose] | None:
    row = read.of_frame(seen.name)
    if row is not None and row.pose is not None:
        return (row.time if row.time is not None else seen.stamp.time), row.pose
    between = read.at(seen.stamp.time)
    return (seen.stamp.time, between) if between is not None else None
