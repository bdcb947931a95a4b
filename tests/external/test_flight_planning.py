"""A published flight planning example: NPTEL, Photogrammetry, lecture 21.

45 x 36 km at 1 : 12 000, f 21 cm, picture 23 cm, 60 % along and 30 % across, 200 km/h, terrain at 500 m.
"""

import math
from dataclasses import replace

import pytest
import shapely

from groundglow.model import optics, overlap
from groundglow.records.kit import Aircraft, Camera, Combination, Detector, Lens
from groundglow.records.log import Origin
from groundglow.steps.plan.air import Wind
from groundglow.steps.plan.ask import PlanAsk
from groundglow.steps.plan.ground import flat_ground
from groundglow.steps.plan.make import plan_of
from groundglow.steps.plan.settings import usual_ways

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


def survey_kit():
    """The lecture's film camera as one of 2300 pixels of 0.1 mm a side, in an aeroplane that flies all day."""
    film = Detector("film", "film", 2300, 2300, PICTURE / 2300, (8e-6, 14e-6), 1e-3)
    lens = Lens("f21", "21 cm", FOCAL, 5.6)
    camera = Camera("camera", "camera", film, (lens,), 0.05, 1.0, (1.0,), (), None, 0.0, 0.0, ("raw frames",), "", 0.0,
                    "m", 0.0)  # fmt: skip
    plane = Aircraft("plane", "plane", ("m",), ((0.0, 1e6), (100.0, 1e6)), ((0.0, 1.0), (20.0, 1.0)), (30.0, 120.0),
                     20.0, "", 9000.0, (230.0, 330.0), 0.1)  # fmt: skip
    return Combination(camera, lens, plane)


def plan_question():
    """The example as a question: 45 km along, 36 km across, two more pictures at each end."""
    site = shapely.box(-22_500, -18_000, 22_500, 18_000)
    return PlanAsk(
        "lecture", "area", site, Origin(77.0, 20.0, 500.0), survey_kit(),
        flat_ground((-60_000.0, -60_000.0, 60_000.0, 60_000.0), 500.0), {"field": (-25_000.0, -20_000.0)},
        sampling=PICTURE * SCALE / 2300, forward=0.60, side=0.30, heading=math.pi / 2, highest=3000.0, speed=SPEED,
        smear=10.0, wind=Wind(), ways=usual_ways(lowest=300.0), extra_frames=2,
    )  # fmt: skip


@pytest.fixture(scope="module")
def plan():
    """The plan of the example."""
    return plan_of(plan_question())


def test_the_plans_own_height_strips_and_interval(plan):
    assert plan.height + 500 == pytest.approx(3020, abs=0.1)
    assert plan.lines[0].nodes[0, 2] == pytest.approx(3020, abs=0.1)
    assert len(plan.lines) == 20
    offsets = sorted(line.nodes[0, 1] for line in plan.lines)
    assert offsets[1] - offsets[0] == pytest.approx(1894.7, abs=0.1)
    assert plan.spacing == pytest.approx(1932, abs=0.1)
    assert plan.interval == pytest.approx(19.872, abs=0.01)
    assert plan.speed == SPEED


def test_the_plans_own_number_of_pictures(plan, side):
    """The lecture rounds the interval down to 19 s: 48 a strip, 960 in all."""
    whole = plan_of(replace(plan_question(), forward=1 - SPEED * 19 / side))
    assert whole.base == pytest.approx(1055.45, abs=0.01)
    assert {line.frames for line in whole.lines} == {48}
    assert whole.frames == 960
    assert plan.met, plan.unmet
    assert plan.proof.seen[2] == 1.0
