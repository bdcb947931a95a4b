"""How hot, and how surely? Frames become surface temperatures with three-part doubt, or levelled counts."""

from groundglow.steps.measure.frame import FrameInputs, band_name, measure_frame
from groundglow.steps.measure.method import Method, describe_method
from groundglow.steps.measure.references import ReferenceReading, place_reference, read_reference
from groundglow.steps.measure.surfaces import GroundSurface, resolve_surfaces

__all__ = [
    "FrameInputs",
    "GroundSurface",
    "Method",
    "ReferenceReading",
    "band_name",
    "describe_method",
    "measure_frame",
    "place_reference",
    "read_reference",
    "resolve_surfaces",
]
