"""Pictures of a job's findings, as the report shows them."""

from __future__ import annotations

from collections.abc import Callable
from pathlib import Path

import numpy as np

from groundglow.errors import JobError
from groundglow.frames.fields import read_value
from groundglow.job.folder import JobFolder
from groundglow.job.inputs import log_of
from groundglow.job.plans.check import log_path
from groundglow.job.plans.measure import field_path
from groundglow.records.finding import Finding
from groundglow.records.log import FlightLog
from groundglow.steps.report import departure_picture, rise_scale

__all__ = ["finding_picture"]


def finding_picture(job: JobFolder, finding: Finding, shown: str = "C") -> tuple[Path, Callable[[], bytes]]:
    """The measured field that a finding's picture is drawn from, and what draws it as PNG; ``shown`` is C, F or K.

    Raises
    ------
    JobError
        When the flight that it was found in is gone.
    """
    flight = next((f for f in job.flights() if f.key == finding.flight), None)
    if flight is None:
        raise JobError(f"{finding.flight}, in which finding {finding.number} was seen, is not in this job any more.")
    path = field_path(job, flight, Path(finding.frame))

    def draw() -> bytes:
        times, unit = rise_scale(finding.unit, shown)
        return departure_picture(
            read_value(path) * np.float32(times),
            finding.box,
            finding.background * times,
            unit=unit,
            number=finding.number,
            metres_a_pixel=_sampling(log_of(log_path(job, flight)), finding.frame),
        )

    return path, draw


def _sampling(log: FlightLog, frame: str) -> float | None:
    """Metres a pixel of a frame, where its height is known."""
    pose = log.entry(frame).pose
    if pose is None or not log.metres_per_unit or not log.focal_px:
        return None
    return abs(float(pose.position[2]) - log.ground_height) * log.metres_per_unit / log.focal_px
