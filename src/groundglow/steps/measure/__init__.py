"""How hot, and how surely? Frames become surface temperatures with three-part doubt, or levelled counts."""

from groundglow.steps.measure.frame import FrameInputs, band_name, measure_frame
from groundglow.steps.measure.known import constraint_from_json, constraint_note, constraint_to_json
from groundglow.steps.measure.method import Method, describe_method
from groundglow.steps.measure.references import ReferenceReading, Spot, place_reference, read_reference
from groundglow.steps.measure.surfaces import GroundSurface, resolve_surfaces
from groundglow.steps.measure.targets import at_target, constraint_of, target_row

__all__ = [
    "FrameInputs",
    "GroundSurface",
    "Method",
    "ReferenceReading",
    "Spot",
    "at_target",
    "band_name",
    "constraint_from_json",
    "constraint_note",
    "constraint_of",
    "constraint_to_json",
    "describe_method",
    "measure_frame",
    "place_reference",
    "read_reference",
    "resolve_surfaces",
    "target_row",
]
