"""The catalogue: cameras, lenses, aircraft and targets as data files, with a source for every figure."""

from groundglow.kit.catalogue import CameraEntry, Figure, camera, camera_entry, camera_ids
from groundglow.kit.fleet import Fleet, check_kit, fleet_with
from groundglow.kit.targets import target, targets

__all__ = [
    "CameraEntry",
    "Figure",
    "Fleet",
    "camera",
    "camera_entry",
    "camera_ids",
    "check_kit",
    "fleet_with",
    "target",
    "targets",
]
