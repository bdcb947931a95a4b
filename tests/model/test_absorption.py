"""The absorption table and the integration over a band."""

from __future__ import annotations

from importlib.resources import files

import numpy as np
import pytest

from groundglow.errors import InputError
from groundglow.model.absorption import absorption, columns, quadrature
from groundglow.model.band import band_radiance
from groundglow.model.planck import spectral_radiance
from groundglow.model.response import ideal_band, nominal_band


def test_the_table_is_small_finite_and_covers_the_long_wave_infrared() -> None:
    table = absorption()
    assert len((files("groundglow.model") / "data" / "air_table.npz").read_bytes()) < 400_000
    assert table.wavelength[0] < 7e-6
    assert table.wavelength[-1] > 14.5e-6
    assert (np.diff(table.wavelength) > 0).all()
    assert all(np.isfinite(a).all() for a in (table.ln_strength, table.power, table.self_cold, table.foreign))


def test_band_models_fall_slower_than_exponentially_and_the_continuum_is_stronger_in_the_cold() -> None:
    table = absorption()
    assert ((table.power > 0.3) & (table.power <= 1.0)).all()
    assert (table.self_cold > table.self_warm).all()


@pytest.mark.parametrize(
    ("gas", "micrometres", "elsewhere"),
    [("CO2", 15.0, 11.0), ("O3", 9.6, 11.0), ("N2O", 7.8, 11.0), ("CH4", 7.7, 11.0), ("H2O", 6.6, 11.0)],
)
def test_each_gas_absorbs_in_its_known_band(gas: str, micrometres: float, elsewhere: float) -> None:
    """Band centres: textbook knowledge of the atmosphere's spectrum (common practice, no source)."""
    table = absorption()
    row = table.ln_strength[table.gases.index(gas)]
    inside, outside = (row[np.abs(table.wavelength - w * 1e-6).argmin()] for w in (micrometres, elsewhere))
    assert inside > outside + 4


def test_the_law_gas_by_gas_written_out() -> None:
    """The vectorised law against the formula of the module's docstring, one wavelength, in plain Python."""
    table, i = absorption(), 77
    kelvin, vapour, pascal, metres = 300.0, 1500.0, 95e3, 321.0
    warm, dense = 273.15 / kelvin, pascal / 101325.0 * 273.15 / kelvin
    water = vapour / 101325.0 * warm
    wanted = 0.0
    for g, part in enumerate([water, *(table.mole_fractions[1:] * dense)]):
        scaled = part * metres * (pascal / 101325.0) ** table.pressure_exponent[g, i]
        scaled *= warm ** table.temperature_exponent[g, i] * np.exp(table.ln_strength[g, i])
        wanted += scaled ** table.power[g, i]
    wanted += water * metres * (water * table.self_warm[i] + (dense - water) * table.foreign[i])
    path = columns(np.array([kelvin]), np.array([vapour]), np.array([pascal])).stretched(np.array([metres]))
    assert table.depth(path)[0, i] == pytest.approx(wanted, rel=1e-12)


@pytest.mark.parametrize("band", [ideal_band(8e-6, 14e-6), nominal_band("7.5-13.5")], ids=lambda b: b.name)
@pytest.mark.parametrize("kelvin", [233.0, 300.0, 600.0])
def test_a_black_body_is_integrated_exactly(band: object, kelvin: float) -> None:
    grid = quadrature(band)
    ours = float(spectral_radiance(grid.wavelength, kelvin) @ grid.weight)
    assert ours == pytest.approx(float(band_radiance(band, kelvin)), rel=1e-8)


def test_a_spectrum_that_is_linear_in_wavelength_is_met_exactly_at_the_nodes() -> None:
    grid = quadrature(ideal_band(8e-6, 14e-6))
    np.testing.assert_allclose(grid.at_nodes(2.0 * absorption().wavelength), 2.0 * grid.wavelength, rtol=1e-12)


def test_a_band_beyond_the_table_is_refused() -> None:
    with pytest.raises(InputError, match="the air is known from"):
        quadrature(ideal_band(8e-6, 20e-6))
