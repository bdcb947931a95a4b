"""Features, pairs and ties: true homographies are found, and nothing else is believed."""

from __future__ import annotations

import dataclasses
from pathlib import Path

import cv2
import numpy as np
import pytest
from tests.steps.test_register_scene import DOWN, FOCAL, HEIGHT, SHAPE, Flight, make_flight, pose_over, two_lines

from groundglow.errors import FrameError
from groundglow.records.frame import Pose
from groundglow.records.log import FlightLog, LogEntry, Origin
from groundglow.records.tie import Tie
from groundglow.steps.register import (
    Candidate,
    Description,
    Link,
    RegisterSettings,
    candidate_pairs,
    describe_frame,
    fit_ground,
    read_description,
    read_links,
    tie_pair,
    write_description,
    write_links,
)
from groundglow.steps.register.description import block_means
from groundglow.steps.register.expected import expect, grid_of, log_plane, transfer
from groundglow.steps.register.features import Features, describe, local_contrast, pixel_noise
from groundglow.steps.register.loops import consistent_links
from groundglow.steps.register.match import match
from groundglow.steps.register.overlap import cell_table, overlap_difference, reduced_homography, warped_difference

NO_PATTERN = np.zeros(SHAPE, np.float32)


def _described(flight: Flight) -> dict[str, Description]:
    return {n: describe_frame(n, flight.load, flight.pattern.astype(np.float32)) for n in flight.names}


def _miss(found: tuple[float, ...], truth: np.ndarray) -> float:
    places = grid_of(SHAPE)
    return float(np.max(np.linalg.norm(transfer(np.reshape(found, (3, 3)), places) - transfer(truth, places), axis=1)))


@pytest.fixture(scope="module")
def lines() -> Flight:
    return make_flight(two_lines())


@pytest.fixture(scope="module")
def described(lines: Flight) -> dict[str, Description]:
    return _described(lines)


@pytest.fixture(scope="module")
def links(lines: Flight, described: dict[str, Description]) -> list[Link]:
    tied = [tie_pair(c, described[c.a], described[c.b]) for c in candidate_pairs(lines.log)]
    return [x for x in tied if x is not None]


def test_ties_take_places_where_the_truth_takes_them(lines: Flight, links: list[Link]) -> None:
    misses = [_miss(x.tie.homography, lines.homography(x.tie.a, x.tie.b)) for x in links if x.tie.overlap > 0.3]
    assert np.median(misses) < 0.4
    assert max(misses) < 2.5
    assert max(x.tie.rms_px for x in links) < 1.5


def test_a_pass_flown_back_the_other_way_is_tied_without_a_shift(lines: Flight, links: list[Link]) -> None:
    """Half a pixel of bias in the places of features shows doubled between frames that are turned about."""
    number = {n: i for i, n in enumerate(lines.names)}
    across = [x for x in links if number[x.tie.a] < 10 <= number[x.tie.b] and x.tie.overlap > 0.3]
    assert len(across) >= 10
    offs = []
    for link in across:
        places = grid_of(SHAPE)
        truth = transfer(lines.homography(link.tie.a, link.tie.b), places)
        offs.append(np.median(transfer(np.reshape(link.tie.homography, (3, 3)), places) - truth, axis=0))
    assert np.all(np.abs(np.median(offs, axis=0)) < 0.15)


def test_every_frame_is_tied_to_several_others(lines: Flight, links: list[Link]) -> None:
    count = dict.fromkeys(lines.names, 0)
    for link in links:
        count[link.tie.a] += 1
        count[link.tie.b] += 1
    assert min(count.values()) >= 4


def test_level_difference_of_a_tie_is_that_of_the_frames(lines: Flight, links: list[Link]) -> None:
    level = dict(zip(lines.names, lines.levels, strict=True))
    off = [x.tie.level_difference - (level[x.tie.a] - level[x.tie.b]) for x in links if x.tie.overlap > 0.3]
    assert np.max(np.abs(off)) < 0.6


def test_frames_of_different_ground_are_not_tied(described: dict[str, Description]) -> None:
    other = _described(make_flight([(0.0, 0.0, False)], seed=11))["frame_000.tif"]
    for name in ("frame_000.tif", "frame_007.tif", "frame_015.tif"):
        assert tie_pair(Candidate(name, "other"), described[name], other) is None


def test_a_fixed_pattern_left_in_the_frames_is_not_taken_for_ground() -> None:
    """Nearly flat ground under a strong pattern: all that matches stands still, and that is not believed."""
    rng = np.random.default_rng(2)
    pattern = cv2.GaussianBlur(rng.normal(size=SHAPE).astype(np.float32), (0, 0), 2) * 40
    a, b = (describe(pattern + rng.normal(0, 0.05, SHAPE).astype(np.float32), np.ones(SHAPE, bool), 500) for _ in "ab")
    assert match(a, b, SHAPE) is None
    flight = make_flight([(0.0, 0.0, False), (0.0, 30.0, False)])
    moved = candidate_pairs(flight.log)[0].expected
    assert moved is not None
    assert moved.motion_px > moved.sd_px
    assert match(a, b, SHAPE, expected=moved) is None


def test_a_hovering_camera_may_stand_still_when_its_poses_say_so() -> None:
    flight = make_flight([(0.0, 0.0, False), (0.01, 0.0, False)], pattern=False)
    a, b = _described(flight).values()
    (candidate,) = candidate_pairs(flight.log)
    assert tie_pair(candidate, a, b) is not None
    assert tie_pair(Candidate(candidate.a, candidate.b), a, b) is None


def test_a_tie_far_from_where_poses_expect_it_is_refused() -> None:
    flight = make_flight([(0.0, 0.0, False), (0.0, 8.0, False)])
    a, b = _described(flight).values()
    (candidate,) = candidate_pairs(flight.log)
    assert candidate.expected is not None
    assert tie_pair(candidate, a, b) is not None
    wrong = np.array([[1.0, 0, 130], [0, 1, -90], [0, 0, 1]])
    elsewhere = dataclasses.replace(candidate.expected, homography=tuple(wrong.ravel()), sd_px=8.0)
    assert tie_pair(dataclasses.replace(candidate, expected=elsewhere), a, b) is None


def test_a_mirrored_picture_is_refused() -> None:
    flight = make_flight([(0.0, 0.0, False)], pattern=False)
    values = flight.values[flight.names[0]]
    usable = np.ones(SHAPE, bool)
    kept, mirrored = describe(values, usable, 500), describe(values, usable, 500)
    places = mirrored.places.copy()
    places[:, 0] = SHAPE[1] - 1 - places[:, 0]
    assert match(kept, Features(places, mirrored.descriptors), SHAPE) is None


def test_a_frame_without_detail_has_no_features_and_no_tie(described: dict[str, Description]) -> None:
    flat = (np.full(SHAPE, 20.0, np.float32), np.zeros(SHAPE, np.uint8))
    blank = describe_frame("blank", lambda _: flat, NO_PATTERN)
    assert len(blank.features.places) == 0
    assert tie_pair(Candidate("frame_000.tif", "blank"), described["frame_000.tif"], blank) is None


def test_features_keep_off_masked_pixels() -> None:
    flight = make_flight([(0.0, 0.0, False)])
    usable = np.ones(SHAPE, bool)
    usable[60:120, 80:160] = False
    found = describe(flight.values[flight.names[0]], usable, 800)
    column, row = found.places.round().astype(int).T
    assert len(column) > 100
    assert usable[row, column].all()


def test_a_frame_of_another_shape_or_without_a_usable_pixel_is_set_aside() -> None:
    with pytest.raises(FrameError, match="not the shape"):
        describe_frame("x", lambda _: (np.zeros((5, 5), np.float32), np.zeros((5, 5), np.uint8)), NO_PATTERN)
    masked = (np.zeros(SHAPE, np.float32), np.ones(SHAPE, np.uint8))
    with pytest.raises(FrameError, match="no usable pixel"):
        describe_frame("x", lambda _: masked, NO_PATTERN)


def test_local_contrast_does_not_depend_on_level_or_scale_of_the_values() -> None:
    values = make_flight([(0.0, 0.0, False)]).values["frame_000.tif"]
    one = local_contrast(values, pixel_noise(values)).astype(int)
    other = local_contrast(0.01 * values + 300.0, pixel_noise(0.01 * values + 300.0)).astype(int)
    assert np.abs(one - other).max() <= 2


def test_noise_of_a_calm_frame_is_found() -> None:
    noise = np.random.default_rng(1).normal(0, 0.7, (300, 300)).astype(np.float32)
    assert abs(pixel_noise(noise) / 0.7 - 1) < 0.02


def test_candidates_are_the_neighbours_in_time_and_the_frames_across(lines: Flight) -> None:
    number = {n: i for i, n in enumerate(lines.names)}
    found = candidate_pairs(lines.log)
    steps = {(number[c.b] - number[c.a], c.held_out) for c in found if not c.crossing}
    assert steps == {(1, False), (2, False), (3, False), (4, True), (5, False)}
    across = [(number[c.a], number[c.b]) for c in found if c.crossing]
    assert len(set(across)) == len(across)
    assert all(a < 10 <= b for a, b in across)
    assert any(abs((19 - b) - a) <= 1 for a, b in across if a < 3)
    assert all(c.expected is not None and c.expected.overlap >= 0.3 for c in found if c.crossing)


def test_pairs_grow_with_frames_and_not_with_their_square() -> None:
    def count(frames: int) -> int:
        entries = tuple(
            LogEntry(f"{i:05}", "", float(i), pose_over(30.0 * (i // 20), 8.0 * (i % 20)), "", {})
            for i in range(frames)
        )
        log = FlightLog("f", SHAPE, "counts", FOCAL, Origin(8.0, 47.0, 0.0), 1.0, 0.0, 0.5, entries, ())
        return len(candidate_pairs(log))

    assert count(160) < 2.3 * count(80)
    assert count(160) < 12 * 160


def test_without_poses_only_neighbours_in_time_are_proposed(lines: Flight) -> None:
    blind = lines.log.with_entries(tuple(dataclasses.replace(e, pose=None) for e in lines.log.entries))
    found = candidate_pairs(blind)
    assert found
    assert all(c.expected is None and not c.crossing for c in found)


def test_frames_set_aside_are_not_proposed(lines: Flight) -> None:
    entries = (dataclasses.replace(lines.log.entries[0], reason="blurred"), *lines.log.entries[1:])
    found = candidate_pairs(lines.log.with_entries(entries))
    assert "frame_000.tif" not in {n for c in found for n in (c.a, c.b)}


def test_poses_predict_the_true_homography(lines: Flight) -> None:
    first, *_, last = lines.log.entries
    expected = expect(lines.log, log_plane(lines.log), first.pose, last.pose)
    assert expected is not None
    assert _miss(expected.homography, lines.homography(first.name, last.name)) < 1e-6


def test_nothing_is_expected_where_a_camera_looks_at_the_sky(lines: Flight) -> None:
    up = Pose(np.array([0.0, 0.0, HEIGHT]), np.diag([1.0, 1.0, 1.0]), np.zeros(3), np.zeros(3))
    plane = log_plane(lines.log)
    assert expect(lines.log, plane, up, lines.log.entries[0].pose) is None
    assert expect(lines.log, None, lines.log.entries[0].pose, lines.log.entries[1].pose) is None


def test_doubt_of_poses_widens_where_a_tie_is_sought(lines: Flight) -> None:
    a, b = (lines.log.entries[k].pose for k in (0, 1))
    assert a is not None
    plane = log_plane(lines.log)
    vague = dataclasses.replace(a, position_sd=np.array([2.0, 2.0, 0.0]))
    near, far = (expect(lines.log, plane, x, b) for x in (a, vague))
    assert near is not None
    assert far is not None
    assert far.sd_px > near.sd_px + 1.0
    # 2 m at 60 m under a focal length of 240 px are 8 px on each axis.
    exact = dataclasses.replace(vague, attitude_sd=np.zeros(3))
    still = dataclasses.replace(exact, position_sd=np.zeros(3))
    only, none = (expect(lines.log, plane, x, x) for x in (exact, still))
    assert only is not None
    assert none is not None
    assert only.sd_px - none.sd_px == pytest.approx(8.0 * np.sqrt(2) * np.sqrt(2))


def test_the_ground_of_a_local_frame_is_fitted_from_features() -> None:
    """Tilted cameras over a plane that lies askew in a frame of its own; the truth is the plane itself."""
    rng = np.random.default_rng(4)
    normal = np.array([0.1, -0.2, 1.0]) / np.linalg.norm([0.1, -0.2, 1.0])
    plane = (*normal, -3.0)
    ground = rng.uniform(-40, 40, (900, 2))
    points = np.column_stack([ground, (-3.0 - ground @ normal[:2]) / normal[2]])
    descriptors = rng.normal(size=(900, 128))
    descriptors /= np.linalg.norm(descriptors, axis=1, keepdims=True)
    entries, seen = [], {}
    for i in range(12):
        pose = Pose(np.array([0.5 * np.sin(i), 3.0 * i - 18, 30.0]), _tilted(0.2), np.zeros(3), np.zeros(3))
        entries.append(LogEntry(f"{i}", "", float(i), pose, "", {}))
        seen[f"{i}"] = _project(points, descriptors, pose, rng)
    log = FlightLog("f", SHAPE, "counts", FOCAL, None, None, 0.0, 0.0, tuple(entries), ())
    assert log_plane(log) is None
    found = fit_ground(log, seen.__getitem__)
    assert found is not None
    np.testing.assert_allclose(found, plane, atol=0.05)
    blind = log.with_entries(tuple(dataclasses.replace(e, pose=None) for e in entries))
    assert fit_ground(blind, seen.__getitem__) is None


def _tilted(angle: float) -> np.ndarray:
    turn = np.array([[1, 0, 0], [0, np.cos(angle), -np.sin(angle)], [0, np.sin(angle), np.cos(angle)]])
    return turn @ DOWN


def _project(points: np.ndarray, descriptors: np.ndarray, pose: Pose, rng: np.random.Generator) -> Description:
    camera = (points - pose.position) @ pose.rotation.T
    middle = np.array([(SHAPE[1] - 1) / 2, (SHAPE[0] - 1) / 2])
    places = middle + FOCAL * camera[:, :2] / camera[:, 2:] + rng.normal(0, 0.2, (len(points), 2))
    inside = np.all((places > 0) & (places < np.array(SHAPE[::-1])), axis=1)
    features = Features(places[inside].astype(np.float32), descriptors[inside].astype(np.float16))
    return Description("", SHAPE, features, np.zeros((1, 1), np.float32), 4)


def test_a_difference_of_warped_images_is_bilinear_and_knows_its_gaps() -> None:
    """Against OpenCV's own warp, whose fractions are rounded to 1/32 of a pixel."""
    rng = np.random.default_rng(8)
    a, b = (cv2.GaussianBlur(rng.normal(size=(60, 80)).astype(np.float32), (0, 0), 4) for _ in "ab")
    matrix = np.array([[0.98, 0.05, 4.3], [-0.04, 1.01, -2.2], [1e-4, -5e-5, 1.0]])
    ours = warped_difference(a, b, matrix)
    theirs = a - cv2.warpPerspective(
        b,
        matrix,
        (80, 60),
        flags=cv2.INTER_LINEAR | cv2.WARP_INVERSE_MAP,
        borderMode=cv2.BORDER_CONSTANT,
        borderValue=np.nan,
    )
    inside = np.isfinite(ours) & np.isfinite(theirs)
    assert inside.mean() > 0.8
    assert np.isfinite(ours).mean() < 1.0
    np.testing.assert_allclose(ours[inside], theirs[inside], atol=5e-3)
    b[20:25, 30:35] = np.nan
    holes = ~np.isfinite(warped_difference(a, b, np.eye(3)))
    assert holes[20:25, 30:35].all()
    assert holes.sum() <= 49


def test_cells_hold_the_medians_that_numpy_finds() -> None:
    rng = np.random.default_rng(9)
    a, b = rng.normal(size=(24, 36)).astype(np.float32), rng.normal(size=(24, 36)).astype(np.float32)
    a[3, 5] = np.nan
    shift = np.array([[1.0, 0, 8.0], [0, 1, 4.0], [0, 0, 1]])
    cells, overlap = cell_table(a, b, shift, block=4, size=12)
    difference = np.full(a.shape, np.nan)
    difference[:23, :34] = a[:23, :34] - b[1:, 2:]
    expected = [np.nanmedian(difference[i : i + 12, j : j + 12]) for i in (0, 12) for j in (0, 12, 24)]
    np.testing.assert_allclose(cells[:, 4], expected, rtol=1e-6)
    np.testing.assert_allclose(cells[:, 2:4] - cells[:, :2], np.tile([8.0, 4.0], (6, 1)), atol=1e-4)
    assert overlap == pytest.approx(np.isfinite(difference).mean())


def test_the_median_over_cells_counts_each_by_its_share() -> None:
    difference, share = np.array([1.0, 2.0, 9.0], np.float32), np.array([0.1, 0.2, 1.0], np.float32)
    assert overlap_difference(difference, share)[0] == 9.0
    assert np.isnan(overlap_difference(difference[:0], share[:0])).all()


def test_the_uncertainty_of_an_overlap_is_that_of_its_median() -> None:
    rng = np.random.default_rng(3)
    drawn = [overlap_difference(rng.normal(0, 2.0, 80).astype(np.float32), np.ones(80, np.float32)) for _ in range(400)]
    medians, said = np.array(drawn).T
    assert abs(np.mean(said) / np.std(medians) - 1) < 0.15


def test_a_homography_between_block_means_takes_block_middles_to_the_same_places() -> None:
    matrix = np.array([[0.9, 0.1, 12.0], [-0.1, 1.1, -7.0], [1e-4, 2e-4, 1.0]])
    blocks = np.array([[0.0, 0.0], [10.0, 20.0], [30.0, 5.0]])
    taken = transfer(reduced_homography(matrix, 4), blocks) * 4 + 1.5
    np.testing.assert_allclose(taken, transfer(matrix, blocks * 4 + 1.5), atol=1e-9)


def test_block_means_leave_out_what_is_masked() -> None:
    values = np.arange(16, dtype=np.float32).reshape(4, 4)
    usable = np.ones((4, 4), bool)
    usable[0, 0] = False
    usable[2:, 2:] = False
    means = block_means(values, usable, 2)
    assert means[0, 0] == pytest.approx((1 + 4 + 5) / 3)
    assert np.isnan(means[1, 1])


def test_a_wrong_tie_that_all_ways_round_contradict_is_dropped(links: list[Link]) -> None:
    victim = next(x for x in links if x.tie.overlap > 0.6)
    shifted = np.reshape(victim.tie.homography, (3, 3)).copy()
    shifted[0, 2] += 40.0
    wrong = dataclasses.replace(victim, tie=dataclasses.replace(victim.tie, homography=tuple(shifted.ravel())))
    kept, dropped = consistent_links([wrong if x is victim else x for x in links], SHAPE)
    assert dropped == (wrong,)
    assert len(kept) == len(links) - 1
    assert consistent_links(links, SHAPE) == (tuple(links), ())


def test_descriptions_and_links_survive_writing_with_equal_bytes(
    tmp_path: Path, described: dict[str, Description], links: list[Link]
) -> None:
    one = described["frame_003.tif"]
    for name in ("first.npz", "second.npz"):
        write_description(tmp_path / name, one)
    assert (tmp_path / "first.npz").read_bytes() == (tmp_path / "second.npz").read_bytes()
    read = read_description(tmp_path / "first.npz")
    assert (read.name, read.shape, read.block_px) == (one.name, one.shape, one.block_px)
    np.testing.assert_array_equal(read.blocks, one.blocks)
    np.testing.assert_array_equal(read.features.places, one.features.places)
    np.testing.assert_array_equal(read.features.descriptors, one.features.descriptors)
    for some in (links[:5], []):
        write_links(tmp_path / "links.npz", some)
        again = read_links(tmp_path / "links.npz")
        assert [x.tie for x in again] == [x.tie for x in some]
        assert all(np.array_equal(x.cells, y.cells) for x, y in zip(again, some, strict=True))


def test_a_settings_of_fewer_features_ties_with_fewer(lines: Flight) -> None:
    few = RegisterSettings(features=200)
    a, b = (describe_frame(n, lines.load, NO_PATTERN, few) for n in lines.names[:2])
    assert len(a.features.places) <= 210
    link = tie_pair(candidate_pairs(lines.log)[0], a, b, few)
    assert link is not None
    assert isinstance(link.tie, Tie)
    assert link.tie.inliers <= 200
