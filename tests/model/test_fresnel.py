"""Fresnel's equations keep to their limits, and their inverses invert."""

from __future__ import annotations

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st

from groundglow.errors import InputError
from groundglow.model.fresnel import (
    band_emissivity,
    dielectric_index,
    fresnel_emissivity,
    metal_index,
    optical_constants,
)
from groundglow.model.planck import spectral_radiance


@given(st.floats(0.5, 0.999))
def test_dielectric_index_inverts_the_normal_emissivity(emissivity: float) -> None:
    """Index from emissivity and back."""
    assert fresnel_emissivity(dielectric_index(emissivity), 0.0) == pytest.approx(emissivity, abs=1e-12)


@given(st.floats(0.01, 0.82))
def test_metal_index_inverts_the_normal_emissivity(emissivity: float) -> None:
    """The same for a conductor with equal parts of the index."""
    assert fresnel_emissivity(metal_index(emissivity), 0.0) == pytest.approx(emissivity, abs=1e-9)


@given(st.floats(1.0, 5.0), st.floats(0.0, 5.0), st.floats(0.0, np.pi / 2))
def test_emissivity_is_a_share_for_any_body(n: float, k: float, angle: float) -> None:
    """Nothing absorbs less than nothing or more than all, up to rounding."""
    assert -1e-9 <= float(fresnel_emissivity(complex(n, k), angle)) <= 1 + 1e-9


def test_no_boundary_no_reflection() -> None:
    """A body with the index of air is black at every angle short of grazing."""
    assert fresnel_emissivity(1.0, np.radians([0, 30, 60, 85])) == pytest.approx(1.0, abs=1e-9)


def test_brewster_angle_lets_one_polarisation_in() -> None:
    """At arctan(n) only the perpendicular half reflects: 1 - sin^2(2 b - 90 deg) / 2, textbook optics."""
    b = np.arctan(1.5)
    assert fresnel_emissivity(1.5, b) == pytest.approx(1 - 0.5 * np.cos(2 * b) ** 2, abs=1e-12)


def test_band_mean_follows_a_direct_integral() -> None:
    """The quarter-degree table agrees with the equations evaluated at the angle itself."""
    angle = np.radians(71.13)
    wavelength = np.linspace(8e-6, 14e-6, 2001)
    known, index = optical_constants("glass")
    between = np.interp(wavelength, known, index.real) + 1j * np.interp(wavelength, known, index.imag)
    weight = spectral_radiance(wavelength, 300.0)
    direct = np.trapezoid(fresnel_emissivity(between, angle) * weight, wavelength) / np.trapezoid(weight, wavelength)
    assert band_emissivity("glass", angle) == pytest.approx(direct, abs=2e-4)


def test_unknown_substance_is_refused_with_the_known_ones() -> None:
    """The message lists what there is."""
    with pytest.raises(InputError, match="water, ice, glass"):
        optical_constants("mercury")
