"""Every figure of the catalogue has a unit and a source and lies in a physical range."""

from __future__ import annotations

import pytest

from groundglow.errors import InputError
from groundglow.kit import camera, camera_entry, camera_ids

#: Ranges that any camera of this kind lies in (common practice, no source).
RANGES = {
    "width_px": (60, 2000),
    "height_px": (40, 2000),
    "pitch_um": (5, 60),
    "focal_mm": (2, 300),
    "f_number": (0.7, 4),
    "netd_mk": (5, 200),
    "time_constant_ms": (0.1, 30),
    "band_low_um": (7, 9),
    "band_high_um": (11, 15),
    "saturation_low_counts": (0, 1000),
    "saturation_high_counts": (4095, 65535),
    "bit_depth": (8, 16),
    "frame_rate_hz": (1, 200),
    "frame_rate_export_hz": (1, 9),
    "drift_k": (0, 5),
    "pattern_k": (0, 2),
    "accuracy_k": (0.1, 10),
}
#: Ending of a name to its unit.
UNITS = {"px": "px", "um": "um", "mm": "mm", "mk": "mK", "ms": "ms", "hz": "Hz", "k": "K", "counts": "counts"}


@pytest.mark.parametrize("id", camera_ids())
def test_every_figure_has_unit_source_and_a_possible_value(id: str) -> None:
    """A slipped decimal does not survive."""
    for name, figure in camera_entry(id).figures.items():
        low, high = RANGES[name]
        assert low <= figure.value <= high, name
        assert figure.source.strip(), name
        assert figure.unit == UNITS.get(name.rsplit("_", 1)[-1], figure.unit), name


@pytest.mark.parametrize("id", camera_ids())
def test_every_camera_is_a_complete_specification(id: str) -> None:
    """What measuring needs is there, and the band has its low end first."""
    spec = camera(id)
    needed = (spec.pitch_um, spec.focal_mm, spec.width_px, spec.height_px, spec.netd_mk, spec.saturation_counts)
    assert None not in needed
    assert spec.band_um[0] < spec.band_um[1]
    assert spec.id == id


def test_the_demo_camera_is_named_as_invented() -> None:
    """Nobody takes it for a product."""
    entry = camera_entry("demo-640")
    assert {figure.source for figure in entry.figures.values()} == {"invented for the demo"}
    assert "nvented" in entry.note


def test_an_unknown_camera_names_the_nearest_and_the_way_out() -> None:
    """A misspelt id is told; so is how to give a camera of one's own."""
    with pytest.raises(InputError, match="did you mean 'demo-640'"):
        camera("demo640")
    with pytest.raises(InputError, match=r"known are .*demo-640.*\[camera\]"):
        camera("zzz")


def test_a_camera_that_was_chosen_with_its_lens_serves_flights() -> None:
    """The same camera by both names is the same specification, but for what only recordings need."""
    listed, chosen = camera("demo-640"), camera("demo-640 + l640-13")
    for name in (
        "pitch_um",
        "focal_mm",
        "f_number",
        "width_px",
        "height_px",
        "netd_mk",
        "band_um",
        "drift_k",
        "pattern_k",
    ):
        assert getattr(listed, name) == getattr(chosen, name), name
    with pytest.raises(InputError, match="no camera"):
        camera("demo-640 + l640-45")
