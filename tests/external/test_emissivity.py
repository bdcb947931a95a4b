"""Emissivities against published figures, tables made from published optical constants, and open spectra."""

from __future__ import annotations

from collections.abc import Callable
from pathlib import Path

import numpy as np
import pytest

from groundglow.model.fresnel import fresnel_emissivity
from groundglow.model.planck import spectral_radiance
from groundglow.model.surface import emissivity_at_angle, material, materials

Finder = Callable[[str], Path]


@pytest.mark.parametrize(
    ("table", "name", "column", "band"),
    [
        ("water_fresnel_emissivity.csv", "water", "e_8_14_planck293K", "8-14"),
        ("glass_fresnel_emissivity.csv", "glass, soda-lime", "e_8_14_planck300", "8-14"),
        ("glass_fresnel_emissivity.csv", "glass, soda-lime", "e_7.5_13.5_planck300", "7.5-13.5"),
        ("glass_fresnel_emissivity.csv", "photovoltaic module, glass front", "e_8_14_planck300", "8-14"),
    ],
)
def test_water_and_glass_follow_fresnel(
    shared_reference: Finder, table: str, name: str, column: str, band: str
) -> None:
    """Within 0.005 from 0 to 85 degrees.

    Source: Hale & Querry 1973 and Rubin 1985 optical constants through Fresnel's equations, reference tables
    (computed apart from this package).
    """
    with shared_reference(table).open() as file:
        names = file.readline().strip().split(",")
    rows = np.loadtxt(shared_reference(table), delimiter=",", skiprows=1)
    ours = emissivity_at_angle(material(name), np.radians(rows[:, 0]), band=band)
    assert np.abs(ours - rows[:, names.index(column)]).max() < 0.005


def test_ideal_dielectric() -> None:
    """Index 1.5 at 0, 45, 60, 75, 85 degrees. Source: Fresnel's equations, reference values of the check list."""
    ours = fresnel_emissivity(1.5, np.radians([0, 45, 60, 75, 85]))
    assert ours == pytest.approx([0.96, 0.94976, 0.91081, 0.74694, 0.38720], abs=1e-5)


@pytest.mark.parametrize(
    ("name", "low", "high"),
    [
        # Sutherland 1986, J. Atmos. Ocean. Technol. 3:199, abstract: 8-14 um
        ("sand, dry", 0.89, 0.92),
        ("clay soil", 0.955, 0.965),
        ("peat and muck", 0.97, 0.99),
        ("grass", 0.97, 0.99),
        # Togawa 1989 (0.971 +- 0.005) and Steketee 1973 (0.98 +- 0.01), abstracts
        ("human skin", 0.966, 0.99),
        # Chen & Chen 2016, Constr. Build. Mater. 126:130, abstract
        ("brick, red", 0.944, 0.944),
        ("wood", 0.902, 0.902),
        # Thome 2008, lecture tables (total radiation)
        ("aluminium, polished", 0.04, 0.06),
        ("copper, dull", 0.12, 0.15),
        ("stainless steel, repeatedly heated", 0.5, 0.7),
        ("paint, white", 0.89, 0.97),
    ],
)
def test_published_spans_hold(name: str, low: float, high: float) -> None:
    """The table's figure lies inside the span that the source prints."""
    assert low <= material(name).emissivity <= high


def test_known_slips_of_hand_tables_are_not_repeated() -> None:
    """Water of 0.67, snow of 0.8 and black copper oxide of 0.04 stand in tables that circulate; none is here."""
    assert material("water").emissivity > 0.96
    assert min(material(name).emissivity for name in ("snow, fresh", "snow, old")) > 0.96
    assert material("copper, oxidised black").emissivity > 0.7


def test_urban_samples_are_their_spectra(shared_data: Finder) -> None:
    """300 K Planck-weighted means of 74 measured spectra, within 1e-3; extremes and median as published with them.

    Source: Kotthaus et al. 2014, urban spectral library, DOI 10.5281/zenodo.4263842 (CC0).
    """
    path = shared_data("emissivity") / "urban_materials_8_14um.csv"
    table = np.genfromtxt(path, delimiter=",", names=True, deletechars="")
    columns = [name.strip('"') for name in table.dtype.names]
    values = table.view((float, len(columns))) if not table.dtype.isbuiltin else table
    wavelength = values[:, 0] * 1e-6
    weight = spectral_radiance(wavelength, 300.0)
    mean = np.trapezoid(values[:, 1:] * weight[:, None], wavelength, axis=0) / np.trapezoid(weight, wavelength)
    ours = {row.name.split()[2]: row.emissivity for row in materials().values() if row.name.startswith("urban")}
    assert len(ours) == 74
    assert [ours[name] for name in columns[1:]] == pytest.approx(list(mean), abs=1e-3)
    assert np.median(list(ours.values())) == pytest.approx(0.939, abs=1e-3)
    assert (min(ours.values()), max(ours.values())) == pytest.approx((0.163, 0.966), abs=1e-3)
