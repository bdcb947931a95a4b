"""What a lens sees from a height: figures that a practitioner knows by heart (common practice, no source).

The 19 mm lens stands in test_pixels.
"""

import numpy as np
import pytest

from groundglow.model import optics
from groundglow.model.appearance import box_in_pixels
from groundglow.records.brief import FitQuestion
from groundglow.records.kit import Camera, Combination, Detector, Lens
from groundglow.steps.fit.ask import ask_of
from groundglow.steps.fit.findings import fit_findings

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


# ---- the same through the answers of fit ------------------------------------------------------------


def kit(columns, rows, focal_mm, pitch=PITCH):
    """A sharp, quiet camera of these figures, in the hand."""
    detector = Detector("d", "d", columns, rows, pitch, (7.5e-6, 13.5e-6), 0.01)
    lens = Lens("l", "l", focal_mm * 1e-3, 1.0)
    camera = Camera("c", "c", detector, (lens,), 0.03, 1.0, (9.0, 30.0), (), None, 0.02, 0.1,
                    ("picture frames",), "", 0.2, "plate", 0.0)  # fmt: skip
    return Combination(camera, lens)


def answers(*kits, **asked):
    return fit_findings(ask_of(FitQuestion(**asked)), kits).answers


def test_fit_tells_the_footprints_that_a_practitioner_knows():
    """Common practice, no source: 57 x 46 ft and 63.5 x 48.4 ft from 100 ft, with 3.8 times fewer pixels."""
    for of, sides, within in ((kit(640, 512, 19), [57, 46], 0.5), (kit(336, 256, 9), [63.5, 48.4], 0.05)):
        (answer,) = answers(of, target="person", distance="100 ft")
        assert np.array(answer.at.footprint) / FOOT == pytest.approx(sides, abs=within)


def test_fit_sees_farther_with_the_longer_lens_and_less_ground():
    """Common practice, no source."""
    found = {f: answers(kit(640, 512, f), target="person", distance="60 m")[0] for f in (9, 13, 19, 35)}
    reach = [answer.reach.recognise for answer in found.values()]
    assert reach == sorted(reach)
    assert [a.at.footprint for a in found.values()] == sorted((a.at.footprint for a in found.values()), reverse=True)
    pixels = [answer.at.pixels for answer in found.values()]
    assert pixels == sorted(pixels)


def test_reach_of_fit_at_one_half_is_two_pixels_a_line_pair_in_ample_contrast():
    """Johnson 1958 (as quoted by secondary sources): detection 2 pixels, recognition 8, identification 12.8.

    A large rise near by, so that contrast does not limit: across a square of 1 m.
    """
    of = kit(640, 512, 13, 12e-6)
    asked = {"length": "1 m", "width": "1 m", "material": "dry soil", "rise": "60 K", "clutter": "0.01 K"}
    (answer,) = answers(of, probability="50 %", distance="50 m", humidity="20 %", **asked)
    reach = answer.reach
    for far, pixels in ((reach.detect, 2.0), (reach.recognise, 8.0), (reach.identify, 12.8)):
        assert far == pytest.approx(1.0 / (of.ifov * pixels), rel=0.01)


def test_reach_for_80_and_95_per_cent_is_shorter_by_the_published_ratios():
    """A public simulation source: 1.452 and 2.041 times the cycles for one half."""
    of = kit(640, 512, 13, 12e-6)
    asked = {"length": "1 m", "width": "1 m", "material": "dry soil", "rise": "60 K", "clutter": "0.01 K"}
    half, four_fifths, most = (
        answers(of, probability=p, distance="50 m", **asked)[0].reach.recognise for p in ("50 %", "80 %", "95 %")
    )
    assert half / four_fifths == pytest.approx(1.452, rel=0.005)
    assert half / most == pytest.approx(2.041, rel=0.005)
