"""What the camera covers and how fast it may move."""

from __future__ import annotations

import math

from groundglow.errors import InputError
from groundglow.model.optics import focal_length_px, ground_sampling_at_nadir
from groundglow.model.overlap import motion_in_pixels, spacing_for_overlap
from groundglow.records.kit import Combination

__all__ = ["focal_px", "footprint_sides", "sampling_at", "speed_limit", "steps"]


def focal_px(kit: Combination) -> float:
    """Focal length over pitch, px."""
    return float(focal_length_px(kit.camera.detector.pitch, kit.lens.focal_length))


def sampling_at(kit: Combination, distance: float) -> float:
    """Length that a pixel covers square on, m."""
    return float(ground_sampling_at_nadir(distance, kit.camera.detector.pitch, kit.lens.focal_length))


def footprint_sides(kit: Combination, distance: float) -> tuple[float, float]:
    """Across the track (the picture's columns) and along it (its rows), square on, m."""
    pixel = sampling_at(kit, distance)
    return kit.camera.detector.columns * pixel, kit.camera.detector.rows * pixel


def steps(kit: Combination, distance: float, overlaps: tuple[float, float]) -> tuple[float, float]:
    """Greatest distance between lines and between frames for overlaps (forward, side), m."""
    across, along = footprint_sides(kit, distance)
    return spacing_for_overlap(across, overlaps[1]), spacing_for_overlap(along, overlaps[0])


def speed_limit(kit: Combination, distance: float, base: float, smear: float) -> tuple[float, str]:
    """Greatest speed over ground and what limits it: the detector's lag, or the frame rate.

    Parameters
    ----------
    distance : float
        Least distance to what is looked at, m.
    base : float
        Between frames, m.
    smear : float
        Allowed movement of the picture in the detector's time constant, px.

    Raises
    ------
    InputError
        For a smear that allows no speed.
    """
    if not smear > 0:
        raise InputError(f"smear is {smear} px; allowed > 0 px, or nothing may move.")
    by_lag = smear * sampling_at(kit, distance) / kit.camera.detector.time_constant
    by_rate = base * max(kit.camera.frame_rates)
    return (by_lag, "smear") if by_lag <= by_rate else (by_rate, "frame rate")


def smear_at(kit: Combination, distance: float, speed: float) -> float:
    """Movement of the picture in the detector's time constant, px."""
    return motion_in_pixels(speed, kit.camera.detector.time_constant, sampling_at(kit, distance))


def halves(kit: Combination) -> tuple[float, float]:
    """Tangents of half the field of view across and along."""
    f = focal_px(kit)
    return kit.camera.detector.columns / (2 * f), kit.camera.detector.rows / (2 * f)


def straight_down() -> float:
    """Pitch of a camera that looks at its nadir, rad."""
    return -math.pi / 2
