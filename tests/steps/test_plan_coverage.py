"""Coverage as places for a map: areas add up to the site, the worst is shown, a line has dots."""

from __future__ import annotations

from collections import Counter
from dataclasses import replace

import numpy as np
import pytest
import shapely
from tests.steps.plan_cases import SITE, ask

from groundglow.frames.places import LocalPlane
from groundglow.frames.vectors import Feature
from groundglow.records.plan import Plan
from groundglow.steps.plan.coverage import CLASSES, blocks, class_of, coverage_features
from groundglow.steps.plan.make import plan_of


@pytest.fixture(scope="module")
def plan() -> Plan:
    return plan_of(ask())


def local(plan: Plan, feature: Feature) -> shapely.Geometry:
    plane = LocalPlane(plan.origin)
    shape = shapely.geometry.shape(feature.geometry)
    return shapely.transform(shape, lambda xy: np.c_[plane.to_local(xy[:, 0], xy[:, 1])])


def test_areas_add_up_to_the_site_and_do_not_overlap(plan: Plan) -> None:
    made = [local(plan, f) for f in coverage_features(plan)]
    whole = shapely.union_all(made)
    assert sum(m.area for m in made) == pytest.approx(whole.area, rel=1e-6)
    assert whole.area == pytest.approx(SITE.area, rel=0.05)
    assert whole.intersection(SITE).area > 0.95 * SITE.area


def test_each_area_says_the_least_frames_of_the_points_in_it(plan: Plan) -> None:
    proof = plan.proof
    assert proof is not None
    rows, columns = np.nonzero(proof.counts >= 0)
    x, y = proof.corner[0] + columns * proof.step[0], proof.corner[1] + rows * proof.step[1]
    for feature in coverage_features(plan):
        inside = shapely.contains_xy(local(plan, feature).buffer(-1e-3), x, y)
        assert proof.counts[rows, columns][inside].min() == feature.properties["frames"]
        assert feature.properties["seen"] == class_of(int(feature.properties["frames"] or 0))


def test_a_hole_in_the_coverage_shows_as_unseen_and_on_top(plan: Plan) -> None:
    proof = plan.proof
    assert proof is not None
    counts = proof.counts.copy()
    seen_often = np.argwhere(counts > 4)
    middle = tuple(seen_often[len(seen_often) // 3])
    counts[middle] = 0
    made = coverage_features(replace(plan, proof=replace(proof, counts=counts)))
    assert Counter(f.properties["seen"] for f in made)[0] == 1
    assert made[-1].properties == {"seen": 0, "frames": 0}
    place = proof.corner[0] + middle[1] * proof.step[0], proof.corner[1] + middle[0] * proof.step[1]
    assert local(plan, made[-1]).buffer(1e-3).contains(shapely.Point(place))
    assert min(b[4] for b in blocks(replace(proof, counts=counts), 10)) == 0, "the worst of a block stands for it"


def test_a_line_has_a_dot_at_each_place_of_its_proof() -> None:
    road = shapely.LineString([(0, 0), (200, 30), (400, 0)])
    plan = plan_of(ask(kind="along", shape=road))
    proof = plan.proof
    assert proof is not None
    assert len(proof.places)
    made = coverage_features(plan)
    assert {f.geometry["type"] for f in made if f.geometry} == {"Point"}
    at = np.array(sorted((p.x, p.y) for p in (local(plan, f) for f in made)))
    kept = np.array(sorted(proof.places[proof.counts.ravel() >= 0].tolist()))
    assert at == pytest.approx(kept, abs=1e-3)
    assert Counter(f.properties["frames"] for f in made) == Counter(c for c in proof.counts.ravel().tolist() if c >= 0)


def test_a_plan_without_a_proof_has_none(plan: Plan) -> None:
    assert coverage_features(replace(plan, proof=None)) == ()
    assert [least for least, _ in CLASSES] == sorted({least for least, _ in CLASSES})
