"""Seeing against published criteria and real boxes."""

import csv
import json

import numpy as np
import pytest

from groundglow.model import optics, seeing
from groundglow.model.search import random_search_probability
from groundglow.model.sighting import Sighting, task_probability

TOPIC, OPEN = "Seeing", "HIT-UAV, Suo et al. 2023, open data"


def test_criteria_of_johnson_1958(record_check):
    """Line pairs for one half, as quoted by several secondary sources: 1.0, 1.4, 4.0, 6.4."""
    ours = list(seeing.JOHNSON_CYCLES.values())
    record_check(TOPIC, "line pairs for one half", [1.0, 1.4, 4.0, 6.4], ours, "", 1e-12, "Johnson 1958, second hand")
    for cycles in seeing.JOHNSON_CYCLES.values():
        assert seeing.probability_of_task(cycles, cycles) == pytest.approx(0.5)


def test_table_of_the_probability_function(shared_reference, record_check):
    """P = r^E / (1 + r^E), E = 2.7 + 0.7 r, computed apart from this code."""
    with open(shared_reference("ttpf.csv"), newline="") as file:
        rows = [(float(r["N_over_N50"]), float(r["P_E=2.7+0.7r (Johnson/ACQUIRE)"])) for r in csv.DictReader(file)]
    ratio, probability = np.array(rows).T
    assert len(rows) >= 10
    ours = seeing.probability_of_task(4.0 * ratio, 4.0)
    record_check(TOPIC, "probability of a task, E = 2.7 + 0.7 r", probability, ours, "", 1e-3, "computed apart")


def test_rounded_book_table(record_check):
    """Book table of the same function, rounded to two figures: .02 .10 .30 .50 .80 .95 1.0 (from memory)."""
    found = seeing.probability_of_task([0.25, 0.5, 0.75, 1, 1.5, 2, 3], 1.0)
    book = [0.02, 0.10, 0.30, 0.50, 0.80, 0.95, 1.0]
    record_check(TOPIC, "probability of a task, rounded table", book, found, "", 0.025, "book table, from memory")


def test_inverse_of_the_probability_function(record_check):
    """A public simulation source: P = 0.80 at 1.452 N50, P = 0.95 at 2.041 N50."""
    ours = seeing.cycles_for_probability([0.80, 0.95], 1.0)
    record_check(TOPIC, "line pairs for 80 and 95 %", [1.452, 2.041], ours, "", 1e-3, "public simulation source")


def test_one_line_pair_is_two_pixels():
    """Secondary sources on Johnson 1958: recognition 8 pixels, identification 12.8."""
    for task, pixels in (("detect", 2), ("recognise", 8), ("identify", 12.8)):
        target = Sighting(size=pixels * 0.1, rise=1e3, ifov=1e-3, noise=0.05)  # 0.1 m per pixel at 100 m
        assert task_probability(target, 100.0, seeing.JOHNSON_CYCLES[task]) == pytest.approx(0.5, abs=1e-6)


def test_random_search_at_coverage_one(record_check):
    """Koopman 1946: 63 % at coverage one."""
    ours = random_search_probability(1.0)
    record_check(TOPIC, "random search at coverage one", 0.632, ours, "", 5e-4, "Koopman 1946")


# ---- HIT-UAV, Suo et al., Scientific Data 10:227 (2023), CC BY 4.0: a subset -------------------------

# The lens is not in the data's notes; 25 mm before 17 um pixels is from memory, hence the wide limits.
IFOV = float(optics.ifov(17e-6, 25e-3))
STEEP_DEG = 50  # from here down the boxes are little stretched by the view


@pytest.fixture
def boxes(shared_data):
    """Rows of slant distance (m), longer and shorter side of the box (px), by category."""
    data = json.loads((shared_data("people-vehicles") / "boxes.json").read_text())
    images = {i["id"]: i for i in data["images"]}
    names = {c["id"]: c["name"] for c in data["categories"]}
    found = {name: [] for name in names.values()}
    for box in data["annotations"]:
        image = images[box["image_id"]]
        if image["camera_angle_deg"] >= STEEP_DEG:
            distance = image["altitude_m"] / np.sin(np.radians(image["camera_angle_deg"]))
            found[names[box["category_id"]]].append((distance, max(box["bbox"][2:]), min(box["bbox"][2:])))
    return {name: np.array(rows) for name, rows in found.items() if rows}


def test_cars_shrink_in_the_picture_as_the_distance_grows(boxes, record_check):
    """Geometry alone, no lens: size in pixels goes as 1 / distance."""
    distance, long, short = boxes["Car"].T
    assert len(distance) > 200
    slope = np.polyfit(np.log(distance), np.log(np.sqrt(long * short)), 1)[0]
    record_check(TOPIC, "power of distance in the size of cars", -1.0, slope, "", 0.15, OPEN)


def box_of_a_turned_rectangle(length, width):
    """Side of a square as large as the upright box around a rectangle, averaged over how it is turned."""
    turn = np.linspace(0, np.pi, 181)
    sine, cosine = np.sin(turn), np.abs(np.cos(turn))
    return np.sqrt((length * cosine + width * sine) * (length * sine + width * cosine)).mean()


def test_cars_and_people_have_the_size_that_geometry_predicts(boxes, record_check):
    """A car of 4.5 x 1.8 m; a person between 0.5 m (from above) and 1.8 m (lying, or aslant)."""
    distance, long, short = boxes["Car"].T
    predicted = box_of_a_turned_rectangle(4.5, 1.8) / (IFOV * distance)
    ratio = np.median(np.sqrt(long * short) / predicted)
    record_check(TOPIC, "size of cars over prediction (lens from memory)", 1.0, ratio, "", 0.3, OPEN)
    distance, long, short = boxes["Person"].T
    size = np.sqrt(long * short) * IFOV * distance
    assert 0.5 < np.median(size) < 1.8
    assert np.mean((size > 0.4) & (size < 2.0)) > 0.9


def test_people_that_were_marked_were_predicted_to_be_seen(boxes):
    """At these distances a person (0.5 x 0.5 m at the least) that is 3 K warmer is detected nearly surely."""
    far = boxes["Person"][:, 0].max()
    person = Sighting(size=0.5, rise=3.0, ifov=IFOV, noise=0.3)  # noise with clutter
    assert task_probability(person, far, seeing.JOHNSON_CYCLES["detect"]) > 0.9
