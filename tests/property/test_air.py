"""What must hold for any air: shares, order with distance and water, sub-exponential fall, broadcasting."""

from __future__ import annotations

import numpy as np
from hypothesis import given, settings
from hypothesis import strategies as st

from groundglow.model.air import air_path, spectral_transmittance
from groundglow.model.band import band_radiance
from groundglow.model.response import ideal_band, nominal_band
from groundglow.model.sky import sky_hemisphere_radiance, sky_radiance

BANDS = st.sampled_from([ideal_band(8e-6, 14e-6), nominal_band("7.5-13.5"), ideal_band(7e-6, 9e-6)])
DISTANCE = st.floats(0.0, 5000.0)
WEATHER = st.fixed_dictionaries(
    {
        "air_temperature": st.floats(233.15, 328.15),
        "relative_humidity": st.floats(0.0, 1.0),
        "pressure": st.floats(50e3, 105e3),
    }
)


@given(BANDS, DISTANCE, WEATHER)
@settings(deadline=None, max_examples=60)
def test_a_path_is_a_share_and_never_glows_more_than_a_black_body(
    band: object, distance: float, weather: dict[str, float]
) -> None:
    path = air_path(band, distance, **weather)
    assert 0.0 <= path.transmittance <= 1.0 + 1e-12
    assert -1e-9 <= path.radiance <= float(band_radiance(band, weather["air_temperature"])) * (1 + 1e-9)


@given(BANDS, DISTANCE, DISTANCE, WEATHER)
@settings(deadline=None, max_examples=60)
def test_a_longer_path_absorbs_more(band: object, a: float, b: float, weather: dict[str, float]) -> None:
    short, long = sorted((a, b))
    near, far = air_path(band, short, **weather), air_path(band, long, **weather)
    assert far.transmittance <= near.transmittance + 1e-12
    assert far.radiance >= near.radiance - 1e-9


@given(st.floats(1.0, 2500.0), WEATHER)
@settings(deadline=None, max_examples=40)
def test_two_halves_absorb_at_least_as_much_as_the_whole(distance: float, weather: dict[str, float]) -> None:
    """A band of lines saturates: the second half meets light whose line centres are gone."""
    _, half = spectral_transmittance(distance, **weather)
    _, whole = spectral_transmittance(2 * distance, **weather)
    assert (whole >= half**2 - 1e-12).all()


@given(DISTANCE, st.floats(233.15, 328.15), st.floats(0.0, 1.0), st.floats(0.0, 1.0))
@settings(deadline=None, max_examples=60)
def test_more_water_absorbs_more(distance: float, kelvin: float, a: float, b: float) -> None:
    dry, moist = sorted((a, b))
    _, less = spectral_transmittance(distance, air_temperature=kelvin, relative_humidity=dry)
    _, more = spectral_transmittance(distance, air_temperature=kelvin, relative_humidity=moist)
    assert (more <= less + 1e-12).all()


@given(st.lists(DISTANCE, min_size=1, max_size=6), WEATHER)
@settings(deadline=None, max_examples=25)
def test_arrays_equal_single_calls(distances: list[float], weather: dict[str, float]) -> None:
    band = ideal_band(8e-6, 14e-6)
    together = air_path(band, distances, **weather).transmittance
    alone = [float(air_path(band, d, **weather).transmittance) for d in distances]
    np.testing.assert_allclose(together, alone, rtol=1e-12)


@given(
    st.floats(0.0, np.pi / 2),
    st.floats(233.15, 328.15),
    st.floats(0.02, 1.0),
    st.floats(0.0, 1.0),
)
@settings(deadline=None, max_examples=25)
def test_the_sky_lies_between_nothing_and_the_air(zenith: float, kelvin: float, share: float, cloud: float) -> None:
    band = ideal_band(8e-6, 14e-6)
    weather = {"air_temperature": kelvin, "relative_humidity": share, "cloud_fraction": cloud}
    black = float(band_radiance(band, kelvin)) * (1 + 1e-6)
    assert 0.0 < float(sky_radiance(band, zenith, **weather)) <= black
    assert 0.0 < sky_hemisphere_radiance(band, **weather) <= black
