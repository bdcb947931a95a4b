"""Map projections and geodesics that places rest on, through the library that does them."""

import numpy as np
import pytest
import shapely

from groundglow.kit.fleet import catalogue
from groundglow.records.kit import Combination
from groundglow.records.log import Origin
from groundglow.steps.plan.ask import PlanAsk
from groundglow.steps.plan.ground import flat_ground
from groundglow.steps.plan.layers import waypoint_rows
from groundglow.steps.plan.make import plan_of

pyproj = pytest.importorskip("pyproj")


def test_transverse_mercator_of_snyder():
    """Snyder, USGS Professional Paper 1395, p. 269: UTM on Clarke 1866, rounded by hand there."""
    utm = pyproj.Proj(proj="tmerc", lat_0=0, lon_0=-75, k=0.9996, ellps="clrk66")
    assert utm(-73.5, 40.5) == pytest.approx((127106.5, 4484124.4), abs=0.06)


def test_british_grid_example_of_epsg():
    """IOGP Guidance Note 7-2 (373-07-02), pp. 54-55."""
    grid = pyproj.Proj(
        proj="tmerc", lat_0=49, lon_0=-2, k=0.9996012717, x_0=400000, y_0=-100000, a=6377563.396, rf=299.32496
    )
    assert grid(0.5, 50.5) == pytest.approx((577274.99, 69740.50), abs=0.01)


@pytest.mark.parametrize(
    ("start", "end", "length"),
    [
        ((40.6, -73.8), (51.6, -0.5), 5551759.4003186785),
        ((-41.32, 174.81), (40.96, -5.50), 19959679.267353822),
    ],
)
def test_geodesics_of_the_geographiclib_examples(start, end, length):
    """Karney's GeographicLib documentation."""
    _, _, distance = pyproj.Geod(ellps="WGS84").inv(start[1], start[0], end[1], end[0])
    assert distance == pytest.approx(length, abs=1e-6)


def test_azimuths_of_a_geodesic():
    """GeographicLib documentation: JFK to London Heathrow."""
    there, back, _ = pyproj.Geod(ellps="WGS84").inv(-73.8, 40.6, -0.5, 51.6)
    assert there == pytest.approx(51.198882845580, abs=1e-9)
    assert (back + 180) % 360 == pytest.approx(107.821776735514, abs=1e-9)


def test_utm_of_a_city():
    """Computed with pyproj 3.7: holds the library's answer in place."""
    utm = pyproj.Proj("EPSG:32632")
    assert utm(11.5755, 48.1372) == pytest.approx((691603.7766, 5334757.8036), abs=1e-3)
    factors = utm.get_factors(11.5755, 48.1372)
    assert factors.meridian_convergence == pytest.approx(1.918671, abs=1e-6)
    assert factors.meridional_scale == pytest.approx(1.00005111, abs=1e-8)


LON, LAT = 2 + 7 / 60 + 46.38 / 3600, 53 + 48 / 60 + 33.82 / 3600


def test_geocentric_example():
    """IOGP Guidance Note 7-2, geocentric conversion (that it is that example: from memory)."""
    to_xyz = pyproj.Transformer.from_crs("EPSG:4979", "EPSG:4978", always_xy=True)
    found = to_xyz.transform(LON, LAT, 73.0)
    assert found == pytest.approx((3771793.968, 140253.342, 5124304.349), abs=1e-3)


def test_topocentric_example():
    """IOGP Guidance Note 7-2, method 9837 (that it is that example: from memory)."""
    enu = pyproj.Transformer.from_pipeline(
        "+proj=pipeline +step +proj=unitconvert +xy_in=deg +xy_out=rad +step +proj=cart +ellps=WGS84 "
        "+step +proj=topocentric +lat_0=55 +lon_0=5 +h_0=200 +ellps=WGS84"
    )
    assert enu.transform(LON, LAT, 73.0) == pytest.approx((-189013.869, -128642.040, -4220.171), abs=1e-3)


def test_a_flights_local_plane_keeps_ellipsoidal_distances():
    """The plane in which flights are worked out against geodesics on the ellipsoid: 1 mm in 2 km."""
    plane = pyproj.Proj("+proj=tmerc +lat_0=47 +lon_0=8 +k=1 +ellps=WGS84")
    geod = pyproj.Geod(ellps="WGS84")
    for azimuth in range(0, 360, 30):
        lon, lat, _ = geod.fwd(8.0, 47.0, azimuth, 2000.0)
        x, y = plane(lon, lat)
        assert np.hypot(x, y) == pytest.approx(2000.0, abs=1e-3)
        assert np.degrees(np.arctan2(x, y)) % 360 == pytest.approx(azimuth, abs=1e-4)


@pytest.mark.parametrize(
    ("lon", "lat"), [(11.5755, 48.1372), (-73.8, 40.6), (174.81, -41.32), (16.0, 78.0), (180.0, -17.0)]
)
def test_a_plans_waypoints_keep_geodesic_lengths_and_azimuths(lon, lat):
    """Lengths and courses of a plan's lines from its written degrees, by Karney's geodesics: 1 cm, 0.02 degrees.

    Among the places are ends of the GeographicLib examples, 78 N and the antimeridian.
    """
    fleet = catalogue()
    camera = fleet.cameras["demo-640"]
    kit = Combination(camera, camera.lenses[0], fleet.aircraft["demo-quad-work"])
    plan = plan_of(PlanAsk("p", "area", shapely.box(-300, -200, 300, 200), Origin(lon, lat, 0.0), kit,
                           flat_ground((-1000.0, -1000.0, 1000.0, 1000.0)), {"home": (-320.0, -220.0)}, height=100.0,
                           heading=0.5))  # fmt: skip
    geod = pyproj.Geod(ellps="WGS84")
    rows = [r for r in waypoint_rows(plan) if r["kind"] == "line"]
    assert len(rows) == 2 * len(plan.lines)
    for a, b in zip(rows[::2], rows[1::2], strict=True):
        azimuth, _, length = geod.inv(a["lon_deg"], a["lat_deg"], b["lon_deg"], b["lat_deg"])
        line = plan.lines[a["line"] - 1]
        assert length == pytest.approx(line.length, abs=0.01)
        assert (azimuth - a["course_deg"] + 180) % 360 - 180 == pytest.approx(0.0, abs=0.02)
