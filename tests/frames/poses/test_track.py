"""Between two rows of a log: straight way, even turn, and the clock's doubt as a doubt of place."""

from __future__ import annotations

import numpy as np
import pytest
from scipy.spatial.transform import Rotation

from groundglow.frames.poses.track import Track, pose_between
from groundglow.records.frame import Pose


def pose(x: float, turn_deg: float = 0.0, sd: float = 1.0) -> Pose:
    rotation = Rotation.from_euler("z", turn_deg, degrees=True).as_matrix()
    return Pose(np.array([x, 0.0, 50.0]), rotation, np.full(3, sd), np.full(3, 0.1))


KNOWN = [(0.0, pose(0)), (10.0, pose(100, 90, sd=2.0)), (20.0, pose(100, 90))]


@pytest.mark.parametrize(
    ("time", "x", "turn"), [(0, 0, 0), (2.5, 25, 22.5), (10, 100, 90), (15, 100, 90), (20, 100, 90)]
)
def test_position_and_attitude_in_between(time: float, x: float, turn: float) -> None:
    """A quarter of the time is a quarter of the way and of the turn."""
    found = pose_between(KNOWN, time)
    assert found is not None
    np.testing.assert_allclose(found.position, [x, 0, 50], atol=1e-9)
    expected = Rotation.from_euler("z", turn, degrees=True).as_matrix()
    np.testing.assert_allclose(found.rotation, expected, atol=1e-12)


def test_nothing_is_extrapolated() -> None:
    """Before the log and after it there is no pose."""
    assert pose_between(KNOWN, -0.001) is None
    assert pose_between(KNOWN, 20.001) is None
    assert pose_between([], 0.0) is None


def test_one_row_holds_at_its_own_time_only() -> None:
    """A log of one row is no track."""
    assert pose_between(KNOWN[:1], 0.0) is KNOWN[0][1]
    assert pose_between(KNOWN[:1], 1.0) is None


def test_two_rows_of_one_time_do_no_harm() -> None:
    """A receiver that stutters gives the first of them."""
    found = pose_between([(0.0, pose(0)), (0.0, pose(7))], 0.0)
    assert found is not None
    np.testing.assert_allclose(found.position, [0, 0, 50])


def test_the_clocks_doubt_times_the_speed_is_a_doubt_of_the_place() -> None:
    """10 m/s along x and 0.3 s give 3 m there and nothing across; standing still gives nothing."""
    moving = pose_between(KNOWN, 2.0, clock_sd=0.3)
    standing = pose_between(KNOWN, 18.0, clock_sd=0.3)
    assert moving is not None
    assert standing is not None
    np.testing.assert_allclose(moving.position_sd, [np.hypot(1, 3), 1, 1])
    np.testing.assert_allclose(standing.position_sd, 1)


def test_a_row_with_an_unknown_number_has_no_pose() -> None:
    """Half a pose is none."""
    position = np.array([[0.0, 0, 0], [np.nan, 0, 0], [0, 0, 0]])
    rotation = np.stack([np.eye(3)] * 3)
    rotation[2, 0, 0] = np.nan
    track = Track(position, np.ones((3, 3)), rotation, np.ones((3, 3)), None, None, None, 0.0)
    assert [track.pose(i) is None for i in range(3)] == [False, True, True]
