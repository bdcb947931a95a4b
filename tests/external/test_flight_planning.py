"""A published flight planning example: NPTEL, Photogrammetry, lecture 21.

45 x 36 km at 1 : 12 000, f 21 cm, picture 23 cm, 60 % along and 30 % across, 200 km/h, terrain at 500 m.
"""

import math

import pytest

from groundglow.model import optics, overlap

PICTURE, FOCAL, SCALE = 0.23, 0.21, 12_000
SPEED = 55.55  # m/s, as rounded in the lecture


@pytest.fixture
def side():
    """Ground side of a picture: taken as one pixel of 23 cm."""
    height = optics.height_for_ground_sampling(PICTURE * SCALE, PICTURE, FOCAL)
    return float(optics.ground_sampling_at_nadir(height, PICTURE, FOCAL))


def test_flying_height_above_sea_level():
    height = optics.height_for_ground_sampling(PICTURE * SCALE, PICTURE, FOCAL)
    assert float(height) + 500 == pytest.approx(3020, abs=0.1)


def test_strips(side):
    spacing = overlap.spacing_for_overlap(side, 0.30)
    strips = overlap.count_to_cover(36_000, spacing)
    assert spacing == pytest.approx(1932, abs=0.1)
    assert strips == 20
    assert 36_000 / (strips - 1) == pytest.approx(1894.7, abs=0.1)


def test_interval_between_exposures_and_number_of_pictures(side):
    interval = overlap.spacing_for_overlap(side, 0.60) / SPEED
    assert interval == pytest.approx(19.872, abs=0.01)
    base = SPEED * math.floor(interval)
    assert base == pytest.approx(1055.45, abs=0.01)
    photos = overlap.count_to_cover(45_000, base) + 2 + 2  # two more at each end, as in the lecture
    assert photos == 48
    assert photos * overlap.count_to_cover(36_000, overlap.spacing_for_overlap(side, 0.30)) == 960
