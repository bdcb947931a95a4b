"""How hot, and how surely? Frames become surface temperatures with three-part doubt, or levelled counts."""

from groundglow.steps.measure.frame import FrameInputs, measure_frame
from groundglow.steps.measure.references import ReferenceReading, read_reference
from groundglow.steps.measure.surfaces import GroundSurface, resolve_surfaces

__all__ = [
    "FrameInputs",
    "GroundSurface",
    "ReferenceReading",
    "measure_frame",
    "read_reference",
    "resolve_surfaces",
]
