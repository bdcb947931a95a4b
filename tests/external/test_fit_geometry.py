"""What a lens sees from a height: figures that a practitioner knows by heart (common practice, no source).

The 19 mm lens stands in test_pixels.
"""

import numpy as np
import pytest

from groundglow.model import optics
from groundglow.model.appearance import box_in_pixels

FOOT = 0.3048  # exact
PITCH = 17e-6


def view_ft(columns, rows, focal_mm, height_ft=100):
    """Sides of the ground in the picture straight down, ft."""
    return optics.ground_sampling_at_nadir(height_ft * FOOT, PITCH, focal_mm * 1e-3) * np.array([columns, rows]) / FOOT


def test_9_mm_before_336_by_256_sees_63_5_by_48_4_feet_from_100():
    """Common practice, no source (computed: 63.47 x 48.36 ft)."""
    assert view_ft(336, 256, 9) == pytest.approx([63.5, 48.4], abs=0.05)


def test_the_small_array_spreads_3_8_times_fewer_pixels_over_its_view():
    """Common practice, no source."""
    many, few = 640 * 512, 336 * 256
    assert many / few == pytest.approx(3.8, abs=0.05)
    coarse, fine = (optics.ground_sampling_at_nadir(30.48, PITCH, f) for f in (9e-3, 19e-3))
    assert coarse / fine == pytest.approx(19 / 9)


def test_a_longer_focal_length_narrows_the_view_and_puts_more_pixels_on_the_target():
    """Common practice, no source."""
    focal = np.array([9.0, 13.0, 19.0, 25.0, 35.0]) * 1e-3
    assert (np.diff(optics.field_of_view(640, PITCH, focal)) < 0).all()
    sampling = optics.ground_sampling_at_nadir(60.0, PITCH, focal)
    on_person = box_in_pixels(0.5, 0.3, 1.7, np.radians(60), sampling=sampling)
    assert (np.diff(on_person) > 0).all()
