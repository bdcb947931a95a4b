"""Poses of a flight from a log or from Exif, in the flight's local frame and the model's axes."""

from groundglow.frames.poses.reading import PoseRow, Poses, poses_from_stamps, read_poses

__all__ = ["PoseRow", "Poses", "poses_from_stamps", "read_poses"]
