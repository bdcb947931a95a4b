"""Emissivities against published figures, tables made from published optical constants, and open spectra."""

from __future__ import annotations

from collections.abc import Callable
from pathlib import Path

import numpy as np
import pytest

from groundglow.model.fresnel import fresnel_emissivity, optical_constants
from groundglow.model.planck import spectral_radiance
from groundglow.model.surface import emissivity_at_angle, material, materials

TOPIC = "Emissivity"
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
    shared_reference: Finder, record_check: Callable[..., None], table: str, name: str, column: str, band: str
) -> None:
    """Within 0.005 from 0 to 85 degrees.

    Source: Hale & Querry 1973 and Rubin 1985 optical constants through Fresnel's equations, reference tables
    (computed apart from this package).
    """
    with shared_reference(table).open() as file:
        names = file.readline().strip().split(",")
    rows = np.loadtxt(shared_reference(table), delimiter=",", skiprows=1)
    ours = emissivity_at_angle(material(name), np.radians(rows[:, 0]), band=band)
    source = "Hale & Querry 1973" if name == "water" else "Rubin 1985"
    what = f"{name}, {band} um, 0 to 85 degrees"
    record_check(TOPIC, what, rows[:, names.index(column)], ours, "", 0.005, f"{source} by Fresnel, computed apart")


@pytest.mark.parametrize(("substance", "source"), [("water", "Hale & Querry 1973"), ("glass", "Rubin 1985")])
def test_each_wavelength_of_water_and_glass(
    shared_reference: Finder, record_check: Callable[..., None], substance: str, source: str
) -> None:
    """Six wavelengths from 8 to 13 um, 0 to 85 degrees, within 0.005: the spectrum behind the band mean."""
    path = shared_reference(f"{substance}_fresnel_emissivity.csv")
    with path.open() as file:
        names = file.readline().strip().split(",")
    rows = np.loadtxt(path, delimiter=",", skiprows=1)
    known, index = optical_constants(substance)
    for metres in (8e-6, 9e-6, 10e-6, 11e-6, 12e-6, 13e-6):
        n = np.interp(metres, known, index.real) + 1j * np.interp(metres, known, index.imag)
        ours, theirs = fresnel_emissivity(n, np.radians(rows[:, 0])), rows[:, names.index(f"e_{metres * 1e6:g}um")]
        what = f"{substance} at {metres * 1e6:g} um, 0 to 85 degrees"
        record_check(TOPIC, what, theirs, ours, "", 0.005, f"{source} by Fresnel, computed apart")


def test_ideal_dielectric(record_check: Callable[..., None]) -> None:
    """Index 1.5 at 0, 45, 60, 75, 85 degrees. Source: Fresnel's equations, reference values of the check list."""
    ours = fresnel_emissivity(1.5, np.radians([0, 45, 60, 75, 85]))
    wanted = [0.96, 0.94976, 0.91081, 0.74694, 0.38720]
    record_check(TOPIC, "dielectric of index 1.5, 0 to 85 degrees", wanted, ours, "", 1e-5, "Fresnel, computed apart")


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
def test_published_spans_hold(record_check: Callable[..., None], name: str, low: float, high: float) -> None:
    """The table's figure lies inside the span that the source prints."""
    middle, half = (low + high) / 2, max((high - low) / 2, 1e-9)
    source = material(name).source.replace("|", "/")
    record_check(TOPIC, f"{name}, middle of {low:g} to {high:g}", middle, material(name).emissivity, "", half, source)


def test_known_slips_of_hand_tables_are_not_repeated() -> None:
    """Water of 0.67, snow of 0.8 and black copper oxide of 0.04 stand in tables that circulate; none is here."""
    assert material("water").emissivity > 0.96
    assert min(material(name).emissivity for name in ("snow, fresh", "snow, old")) > 0.96
    assert material("copper, oxidised black").emissivity > 0.7


def test_urban_samples_are_their_spectra(shared_data: Finder, record_check: Callable[..., None]) -> None:
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
    source, values = "Kotthaus et al. 2014, DOI 10.5281/zenodo.4263842", list(ours.values())
    found = [ours[name] for name in columns[1:]]
    record_check(TOPIC, "urban samples, mean of each spectrum", mean, found, "", 1e-3, source)
    ends = [min(values), np.median(values), max(values)]
    record_check(TOPIC, "urban samples: least, median, greatest", [0.163, 0.939, 0.966], ends, "", 1e-3, source)


@pytest.mark.parametrize("name", ["roofing tile or shingle", "roofing, clay tile", "roofing, bitumen felt"])
def test_roofs_lie_in_the_span_of_measured_ones(
    shared_data: Finder, record_check: Callable[..., None], name: str
) -> None:
    """Twelve roofing samples (class letter R from memory), averaged over 8-14 um at 300 K.

    Source: Kotthaus et al. 2014, urban spectral library, DOI 10.5281/zenodo.4263842 (CC0).
    """
    table = np.genfromtxt(shared_data("emissivity") / "urban_materials_8_14um.csv", delimiter=",", skip_header=1)
    with (shared_data("emissivity") / "urban_materials_8_14um.csv").open() as stream:
        names = [cell.strip().strip('"') for cell in stream.readline().split(",")]
    roofs = [k for k, cell in enumerate(names) if cell.startswith("R")]
    assert len(roofs) == 12
    wavelength = table[:, 0] * 1e-6
    weight = spectral_radiance(wavelength, 300.0)
    means = np.trapezoid(table[:, roofs] * weight[:, None], wavelength, axis=0) / np.trapezoid(weight, wavelength)
    middle, half = (means.max() + means.min()) / 2, np.ptp(means) / 2
    source = "Kotthaus et al. 2014, DOI 10.5281/zenodo.4263842"
    quantity = f"{name}, middle of twelve measured roofs"
    record_check(TOPIC, quantity, middle, material(name).emissivity, "", half, source)
