"""A published flight planning example: NPTEL, Photogrammetry, lecture 21.

45 x 36 km at 1 : 12 000, f 21 cm, picture 23 cm, 60 % along and 30 % across, 200 km/h, terrain at 500 m.
"""

import math

import pytest

from groundglow.model import optics, overlap

TOPIC, SOURCE = "Optics and flight planning", "NPTEL Photogrammetry, lecture 21"
PICTURE, FOCAL, SCALE = 0.23, 0.21, 12_000
SPEED = 55.55  # m/s, as rounded in the lecture


@pytest.fixture
def side():
    """Ground side of a picture: taken as one pixel of 23 cm."""
    height = optics.height_for_ground_sampling(PICTURE * SCALE, PICTURE, FOCAL)
    return float(optics.ground_sampling_at_nadir(height, PICTURE, FOCAL))


def test_flying_height_above_sea_level(record_check):
    height = optics.height_for_ground_sampling(PICTURE * SCALE, PICTURE, FOCAL)
    record_check(TOPIC, "flying height above the sea, 1 : 12 000", 3020, float(height) + 500, "m", 0.1, SOURCE)


def test_strips(side, record_check):
    spacing = overlap.spacing_for_overlap(side, 0.30)
    strips = overlap.count_to_cover(36_000, spacing)
    ours = [spacing, 36_000 / (strips - 1)]
    record_check(TOPIC, "spacing of strips, as asked and as flown", [1932, 1894.7], ours, "m", 0.1, SOURCE)
    record_check(TOPIC, "strips", 20, strips, "", 1e-9, SOURCE)


def test_interval_between_exposures_and_number_of_pictures(side, record_check):
    interval = overlap.spacing_for_overlap(side, 0.60) / SPEED
    record_check(TOPIC, "interval of exposures", 19.872, interval, "s", 0.01, SOURCE)
    base = SPEED * math.floor(interval)
    record_check(TOPIC, "base of exposures", 1055.45, base, "m", 0.01, SOURCE)
    photos = overlap.count_to_cover(45_000, base) + 2 + 2  # two more at each end, as in the lecture
    all_strips = photos * overlap.count_to_cover(36_000, overlap.spacing_for_overlap(side, 0.30))
    record_check(TOPIC, "pictures of a strip, and of all", [48, 960], [photos, all_strips], "", 1e-9, SOURCE)
