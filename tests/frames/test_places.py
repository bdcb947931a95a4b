"""Places go to the local plane and back without loss, and agree with an independent geodesic."""

from __future__ import annotations

import numpy as np
import pyproj
import pytest
from hypothesis import given
from hypothesis import strategies as st

from groundglow.errors import InputError
from groundglow.frames.places import LocalPlane, dms_text, utm_text
from groundglow.records.log import Origin

LATITUDES = st.floats(-80, 80)
NEAR = st.floats(-0.05, 0.05)


@given(st.floats(-179, 179), LATITUDES, NEAR, NEAR)
def test_there_and_back_is_the_same_place(lon: float, lat: float, east: float, north: float) -> None:
    """Within some 5 km of the origin the round trip closes to a nanodegree (0.1 mm)."""
    plane = LocalPlane(Origin(lon, lat, 0.0))
    back = plane.to_geographic(*plane.to_local(lon + east, lat + north))
    np.testing.assert_allclose(back, (lon + east, lat + north), rtol=0, atol=1e-9)


@given(LATITUDES, NEAR, NEAR)
def test_distances_agree_with_the_geodesic(lat: float, east: float, north: float) -> None:
    """Against the inverse geodesic of Karney (2013) in PROJ: 1e-6 within some 5 km, plus rounding.

    A plane whose origin lies within 1e-10 rad of the equator is laid on it: 0.6 mm.
    """
    plane = LocalPlane(Origin(8.0, lat, 0.0))
    x, y = plane.to_local(8.0 + east, lat + north)
    _, _, distance = pyproj.Geod(ellps="WGS84").inv(8.0, lat, 8.0 + east, lat + north)
    assert np.hypot(x, y) == pytest.approx(distance, rel=1e-6, abs=1e-3 if abs(lat) < 1e-8 else 1e-6)


def test_the_plane_is_true_north_up() -> None:
    """A place due north has x = 0; a place to the east has x > 0, and the origin is 0, 0."""
    plane = LocalPlane(Origin(-70.0, -33.0, 500.0))
    x, y = plane.to_local([-70.0, -70.0, -69.999], [-33.0, -32.999, -33.0])
    np.testing.assert_allclose(x[:2], 0, atol=1e-6)
    assert y[0] == pytest.approx(0, abs=1e-6)
    assert y[1] > 110
    assert x[2] > 92


def test_unknown_places_stay_unknown() -> None:
    """NaN in, NaN out, and its neighbours are not touched."""
    x, y = LocalPlane(Origin(8.0, 47.0, 0.0)).to_local([8.0, np.nan], [47.0, 47.0])
    assert np.isnan(x[1])
    assert np.isnan(y[1])
    assert x[0] == pytest.approx(0, abs=1e-6)


def test_an_origin_that_is_no_place_is_refused() -> None:
    """An unknown origin must not make a plane of NaN."""
    for lon, lat in ((np.nan, 47.0), (8.0, 95.0), (8.0, np.nan)):
        with pytest.raises(InputError, match="no place"):
            LocalPlane(Origin(lon, lat, 0.0))


@pytest.mark.parametrize(
    ("lon", "lat", "zone"),
    [(9.0, 0.5, 32), (-105.0, 40.0, 13), (179.9, -45.0, 60), (-179.9, 10.0, 1), (5.0, 60.0, 32), (20.0, 78.0, 33)],
)
def test_utm_agrees_with_the_registered_system(lon: float, lat: float, zone: int) -> None:
    """Against the EPSG registry's definition of each zone, with the exceptions in the far north."""
    text = utm_text(lon, lat)
    code = (32600 if lat >= 0 else 32700) + zone
    east, north = pyproj.Transformer.from_crs(4326, code, always_xy=True).transform(lon, lat)
    assert text == f"{zone}{'N' if lat >= 0 else 'S'} {east:.0f} E {north:.0f} N"


def test_utm_ends_near_the_poles() -> None:
    """Beyond its limits UTM is not shown."""
    with pytest.raises(InputError, match="no UTM zone"):
        utm_text(0.0, 85.0)


@pytest.mark.parametrize(
    ("lon", "lat", "text"),
    [
        (0.0, 0.0, "0°00'00.0\"N 0°00'00.0\"E"),
        (-0.5, 51.5, "51°30'00.0\"N 0°30'00.0\"W"),
        (8.99999999, -47.99999999, "48°00'00.0\"S 9°00'00.0\"E"),
    ],
)
def test_degrees_minutes_seconds_carry_over(lon: float, lat: float, text: str) -> None:
    """Never 59'60.0"."""
    assert dms_text(lon, lat) == text
