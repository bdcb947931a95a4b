"""Flights of one site share its plane; north stays true north on it."""

from __future__ import annotations

from collections.abc import Callable
from pathlib import Path

import numpy as np
import pyproj
import pytest

from groundglow.frames.poses import poses_from_stamps, read_poses
from groundglow.model.pose import yaw_pitch_roll_from_rotation
from groundglow.records.flight import FlightSpec
from groundglow.records.frame import Stamp

Write = Callable[[str, str], Path]
Flight = Callable[..., FlightSpec]

POSES = {"height_reference": "ground"}
STAMPS = {f"{i}.tif": Stamp(time=float(i), lon_deg=8.0, lat_deg=47.0 + i * 1e-3, height_m=60.0) for i in range(3)}


def test_a_flight_near_its_site_is_put_on_the_sites_plane(flight: Flight) -> None:
    """Positions are the geodesic way from the site, by Karney's inverse geodesic in PROJ."""
    site = (8.05, 47.03)
    poses = poses_from_stamps(STAMPS, flight(poses=POSES), about=site)
    assert poses.origin is not None
    assert (poses.origin.lon_deg, poses.origin.lat_deg) == site
    first = poses.rows[0].pose
    assert first is not None
    azimuth, _, distance = pyproj.Geod(ellps="WGS84").inv(*site, 8.0, 47.0)
    way = [distance * np.sin(np.radians(azimuth)), distance * np.cos(np.radians(azimuth)), 60.0]
    np.testing.assert_allclose(first.position, way, atol=0.01)


def test_a_flight_far_from_the_site_keeps_its_own_middle(flight: Flight) -> None:
    """A wrong place in the brief must not stretch the plane."""
    poses = poses_from_stamps(STAMPS, flight(poses=POSES), about=(9.0, 47.0))
    assert poses.origin is not None
    assert poses.origin.lon_deg == 8.0


def test_true_north_is_kept_away_from_the_planes_middle(written: Write, flight: Flight) -> None:
    """A camera that looks level to true north points along the meridian, by two places on it."""
    head = "frame,lon_deg,lat_deg,height_m,yaw_deg,pitch_deg,roll_deg\n"
    text = head + "a.tif,8.1,47.00,2,0,0,0\nb.tif,8.1,47.01,2,0,0,0\n"
    poses = read_poses(written("poses.csv", text), flight(poses=POSES), about=(8.0, 47.0))
    first, second = (row.pose for row in poses)
    assert first is not None
    assert second is not None
    along = second.position - first.position
    sight = first.rotation[2]
    turn = np.cross(sight, along / np.linalg.norm(along))[2]
    assert abs(np.degrees(turn)) < 1e-4
    yaw, _, _ = yaw_pitch_roll_from_rotation(first.rotation)
    assert np.degrees(yaw) == pytest.approx(-0.1 * np.sin(np.radians(47.0)), rel=1e-3)  # convergence of meridians


def test_a_degree_of_longitude_is_shorter_than_one_of_latitude(written: Write, flight: Flight) -> None:
    """Doubts in degrees become metres by the latitude of the row."""
    head = "frame,lon_deg,lat_deg,height_m,lon_deg_sd,lat_deg_sd,height_m_sd\n"
    poses = read_poses(written("p.csv", head + "a.tif,8,60,50,0.00001,0.00001,2\n"), flight(poses=POSES))
    assert poses.rows[0].pose is not None
    assert poses.rows[0].pose.position_sd == pytest.approx([0.556, 1.113, 2.0], abs=0.001)
