"""Checking: bad frames are told apart, and coverage is counted by the poses."""

from __future__ import annotations

import numpy as np
import pytest
import shapely

from groundglow.errors import FrameError
from groundglow.model.pose import rotation_from_yaw_pitch_roll
from groundglow.records.flight import FlightSpec
from groundglow.records.frame import Frame, Pose, Stamp, ValueKind
from groundglow.steps.check import FlightPoses, Look, assemble, coverage, look

SPEC = FlightSpec.parse(
    {
        "values": {"kind": "counts"},
        "camera": {
            "pitch_um": 12.0,
            "focal_mm": 12.0,
            "width_px": 100,
            "height_px": 80,
            "saturation_counts": [0, 16383],
        },
    },
    "flight.toml",
)


def frame(values: np.ndarray) -> Frame:
    return Frame("a.tif", values, ValueKind.COUNTS, Stamp(time=5.0), {})


def texture(seed: int = 0) -> np.ndarray:
    return np.random.default_rng(seed).integers(5000, 6000, (80, 100)).astype(np.uint16)


def test_the_share_of_saturated_pixels_is_counted() -> None:
    values = texture()
    values[:8] = 16383
    assert look(frame(values), SPEC).stats["saturated_share"] == pytest.approx(0.1)


def test_a_frame_that_is_all_alike_is_set_aside() -> None:
    with pytest.raises(FrameError, match="shutter"):
        look(frame(np.full((80, 100), 7, np.uint16)), SPEC)


def test_a_frame_with_too_many_unusable_values_is_set_aside() -> None:
    values = texture().astype(np.float32)
    values[:40] = np.nan
    with pytest.raises(FrameError, match="50 %"):
        look(frame(values), SPEC)


def test_a_blurred_frame_has_less_sharpness() -> None:
    import cv2

    values = texture().astype(np.float32)
    blurred = cv2.GaussianBlur(values, (0, 0), 2.0)
    assert look(frame(blurred), SPEC).stats["sharpness"] < 0.5 * look(frame(values), SPEC).stats["sharpness"]


def seen(name: str, shape: tuple[int, int] = (80, 100), sharpness: float = 1.0, reason: str = "") -> Look:
    return Look(name, shape, Stamp(time=1.0), {"sharpness": sharpness}, reason)


def pose(x: float) -> Pose:
    down = rotation_from_yaw_pitch_roll(0.0, -np.pi / 2, 0.0)
    return Pose(np.array([x, 0.0, 50.0]), down, np.ones(3), np.full(3, 0.01))


def log_of(looks: list[Look], poses: dict[str, tuple[float | None, Pose]]):
    placed = FlightPoses(poses, None, 1.0, 0.0, 1.0, ())
    return assemble("v/f", looks, placed, spec=SPEC, paths={x.name: x.name for x in looks})


def test_a_frame_of_another_size_is_set_aside_with_both_sizes() -> None:
    log = log_of([seen("a"), seen("b", (10, 10))], {})
    assert [e.reason for e in log.entries] == ["", "10 x 10 px, the flight has 100 x 80"]


def test_a_frame_less_sharp_than_the_rest_is_named_in_a_note() -> None:
    log = log_of([seen("a"), seen("b"), seen("c", sharpness=0.2)], {})
    assert any("Less sharp" in n and "c" in n for n in log.notes)


def test_coverage_counts_frames_over_each_part_of_a_zone() -> None:
    # 100 px of 12 um behind 12 mm from 50 m: 5 m wide, 4 m high (pinhole).
    log = log_of([seen("a"), seen("b")], {"a": (0.0, pose(0.0)), "b": (1.0, pose(2.5))})
    (got,) = coverage(log, {"z": shapely.box(-2.5, -2.0, 5.0, 2.0)}, step=0.05)
    assert got.area_m2 == pytest.approx(30.0)
    assert got.seen_once == pytest.approx(1.0, abs=0.02)
    assert got.seen_twice == pytest.approx(1 / 3, abs=0.02)
    assert got.seen_five == 0.0
