"""A job made from the open river flight: real frames, raw counts, poses in a local frame of unknown scale."""

from __future__ import annotations

import shutil
from pathlib import Path

BRIEF = """
title = "Warm and cold water along a river"
[site]
name = "A river reach"
[[question]]
name = "water of another temperature"
looking_for = "area"
sign = "both"
smallest_px = 90
largest_px = 900
"""

FLIGHT = """
frames = "frames"
[values]
kind = "counts"
[camera]
pitch_um = 17.0
focal_mm = 9.0
width_px = 640
height_px = 512
[poses]
file = "poses.csv"
rotation = "world-to-camera"
camera_axes = "y-up-looking-minus-z"
time_zone = "unknown"
"""


def river_job(data: Path, folder: Path, *, frames: int | None = None) -> Path:
    """Write the job into a folder; frames are linked, not copied, so that nothing of the data is kept."""
    flight = folder / "visits/2017-02-09/flights/river"
    (flight / "frames").mkdir(parents=True)
    (folder / "brief.toml").write_text(BRIEF)
    (flight / "flight.toml").write_text(FLIGHT)
    shutil.copy(data / "poses.csv", flight / "poses.csv")
    for path in sorted((data / "frames").iterdir())[:frames]:
        (flight / "frames" / path.name).symlink_to(path)
    return folder
