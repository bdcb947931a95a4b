"""Figures that a practitioner knows by heart: lens, pixels, footprint, levels."""

import numpy as np
import pytest

from groundglow.model import optics, overlap

TOPIC, APART = "Optics and flight planning", "pinhole geometry, computed apart"
FOOT = 0.3048  # exact


def test_a_19_mm_lens_covers_57_by_46_feet_from_100(record_check):
    """Common practice, no source: 640 x 512 of 17 um."""
    sides = optics.ground_sampling_at_nadir(100 * FOOT, 17e-6, 19e-3) * np.array([640, 512]) / FOOT
    name = "footprint of 640 x 512 of 17 um behind 19 mm from 100 ft"
    record_check(TOPIC, name, [57, 46], sides, "ft", 0.5, "common practice, no source")


def test_a_640_by_512_detector_covers_3_8_times_the_ground_of_336_by_256(record_check):
    """Common practice, no source: at the same pixel size on the ground."""
    areas = [np.prod(np.ptp(_footprint(shape), axis=0)[:2]) for shape in ((512, 640), (256, 336))]
    name, ratio = "ground of 640 x 512 over that of 336 x 256 pixels", areas[0] / areas[1]
    record_check(TOPIC, name, 3.8, ratio, "", 0.05, "common practice, no source")


def _footprint(shape):
    return optics.footprint([0, 0, 60.0], np.diag([1.0, -1.0, -1.0]), 1000.0, shape)


def test_fourteen_bits_are_16384_levels():
    """Common practice, no source."""
    assert optics.digital_levels(14) == 16_384


@pytest.mark.parametrize(
    ("height", "sampling", "width", "length"),
    [(60.0, 0.0553846, 35.4462, 28.3569), (100.0, 0.0923077, 59.0769, 47.2615)],
)
def test_640_by_512_of_12_um_behind_13_mm(record_check, height, sampling, width, length):
    """Pinhole geometry, computed apart from this code."""
    found = optics.ground_sampling_at_nadir(height, 12e-6, 13e-3)
    where = f"640 x 512 of 12 um behind 13 mm from {height:g} m"
    record_check(TOPIC, f"ground sampling, {where}", sampling, found, "m", 1e-6, APART)
    corners = optics.footprint([0, 0, height], np.diag([1.0, -1, -1]), 13e-3 / 12e-6, (512, 640))
    record_check(TOPIC, f"footprint, {where}", [width, length], np.ptp(corners, axis=0)[:2], "m", 1e-4, APART)


def test_angles_of_that_camera(record_check):
    """Pinhole geometry, computed apart from this code."""
    angles = np.degrees(optics.field_of_view([640, 512], 12e-6, 13e-3))
    record_check(TOPIC, "field of view of that camera", [32.9127, 26.5911], angles, "degree", 1e-4, APART)
    record_check(TOPIC, "angle of a pixel of that camera", 0.923077e-3, optics.ifov(12e-6, 13e-3), "rad", 1e-9, APART)


def test_scale_and_sampling_of_a_textbook_example(record_check):
    """A published textbook-style example of small-format photography: f 20 mm, image 22.2 x 14.8 mm, 120 m wide:
    162.16 m above ground, 180 m long (the scale 1 : 8108 is rounded there)."""
    height = optics.height_for_ground_sampling(120 / 14.8e-3 * 1e-6, 1e-6, 20e-3)  # a "pixel" of 1 um
    side = optics.ground_sampling_at_nadir(height, 1e-6, 20e-3) * 22.2e3
    source = "textbook-style example of small-format photography"
    record_check(TOPIC, "height for 120 m behind 20 mm, and length", [162.16, 180], [height, side], "m", 0.01, source)


def test_spacings_and_blur_of_that_camera_at_60_m(record_check):
    """Pinhole geometry, computed apart from this code."""
    spacings = [overlap.spacing_for_overlap(35.446154, 0.70), overlap.spacing_for_overlap(28.356923, 0.80)]
    record_check(TOPIC, "spacing for 70 % side and 80 % forward", [10.63385, 5.67138], spacings, "m", 1e-4, APART)
    blur = overlap.motion_in_pixels(5.0, 10e-3, 0.0553846)
    record_check(TOPIC, "motion in 10 ms at 5 m/s", 0.9028, blur, "px", 1e-4, APART)
