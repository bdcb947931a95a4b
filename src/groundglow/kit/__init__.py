"""The catalogue: cameras as data files, with a source for every figure."""

from groundglow.kit.catalogue import CameraEntry, Figure, camera, camera_entry, camera_ids

__all__ = ["CameraEntry", "Figure", "camera", "camera_entry", "camera_ids"]
