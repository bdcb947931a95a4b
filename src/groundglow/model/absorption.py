"""Spectral absorption of clear air: a band model with one row every 5 cm-1 from 6.5 to 16.9 um.

At a resolution of 20 cm-1 a transmittance is a mean over many lines, so it does not fall exponentially with
distance. Each gas follows a power law in a scaled amount, water adds a continuum that does fall exponentially:

    depth = sum over gases (k W)^a + vapour column * (own pressure * self + pressure of dry air * foreign)
    W = column * (p / p0)^n * (T0 / T)^m

Columns are metres of pure gas at 273.15 K and 101325 Pa. The table is fitted to LOWTRAN7, one gas at a time, by
``tools/make_air_table.py``. No aerosol, no scattering; oxygen above 1395 cm-1 (0.6 % of 1 km, under water
vapour's own absorption) is left out.

References
----------
F. X. Kneizys et al., Users Guide to LOWTRAN 7, AFGL-TR-88-0177 (1988); J. H. Pierluissi and C. E. Maragoudakis,
Molecular transmission band models for LOWTRAN, AFGL-TR-86-0272 (1986) (both cited from memory; the law was
found again from runs of the public-domain program).
"""

from __future__ import annotations

from dataclasses import dataclass
from functools import cache, lru_cache
from importlib.resources import files

import numpy as np
from numpy.typing import NDArray

from groundglow.errors import InputError
from groundglow.model.response import Band

__all__ = [
    "STANDARD_PRESSURE",
    "STANDARD_TEMPERATURE",
    "Absorption",
    "Columns",
    "Quadrature",
    "absorption",
    "columns",
    "quadrature",
]

Floats = NDArray[np.float64]

#: Reference state of gas columns.
STANDARD_PRESSURE, STANDARD_TEMPERATURE = 101325.0, 273.15
#: Temperatures of the two self continua, K; linear between, constant outside, as in the reference.
_WARM, _COLD = 296.0, 260.0


@dataclass(frozen=True)
class Absorption:
    """The table: G gases (water first), N wavelengths.

    Attributes
    ----------
    wavelength : ndarray, shape (N,)
        m, ascending.
    gases : tuple of str
        Names, water first.
    mole_fractions : ndarray, shape (G,)
        Of the well-mixed gases and of ozone near the ground; NaN for water.
    ln_strength, power, pressure_exponent, temperature_exponent : ndarray, shape (G, N)
        ln k, a, n and m of the law.
    self_warm, self_cold, foreign : ndarray, shape (N,)
        Continuum per metre of vapour column and unit of relative density.
    """

    wavelength: Floats
    gases: tuple[str, ...]
    mole_fractions: Floats
    ln_strength: Floats
    power: Floats
    pressure_exponent: Floats
    temperature_exponent: Floats
    self_warm: Floats
    self_cold: Floats
    foreign: Floats

    def depth(self, amounts: Columns) -> Floats:
        """Optical depth, shape (..., N), of scaled columns."""
        with np.errstate(divide="ignore"):
            lines = np.exp(self.power * np.log(amounts.lines))
        return np.asarray(lines.sum(axis=-2) + amounts.continuum)


@dataclass(frozen=True)
class Columns:
    """Absorber along a path, or per metre of it; columns of successive stretches add up.

    Attributes
    ----------
    lines : ndarray, shape (..., G, N)
        k W of each gas.
    continuum : ndarray, shape (..., N)
        Optical depth of the water continuum.
    """

    lines: Floats
    continuum: Floats

    def stretched(self, length: Floats) -> Columns:
        """Columns per metre (S, ...) times lengths (S), m."""
        return Columns(self.lines * length[..., None, None], self.continuum * length[..., None])


@cache
def absorption() -> Absorption:
    """The shipped table, read once."""
    with (files("groundglow.model") / "data" / "air_table.npz").open("rb") as stream, np.load(stream) as data:
        arrays = {name: data[name] for name in data.files}
    gases = tuple(str(gas) for gas in arrays.pop("gases"))
    return Absorption(gases=gases, **{name: array.astype(np.float64) for name, array in arrays.items()})


def columns(temperature: Floats, vapour: Floats, pressure: Floats, *, ozone: Floats | float | None = None) -> Columns:
    """Absorber in one metre of air.

    Parameters
    ----------
    temperature, vapour, pressure : ndarray, all of shape S
        K; partial pressure of water Pa; total pressure Pa.
    ozone : ndarray, shape S, or float, optional
        Mole fraction of ozone; default that of the table, near the ground.

    Returns
    -------
    Columns
        Of shape (S, G, N) and (S, N), per metre.

    Notes
    -----
    Ideal gas; the law is in the module's docstring.
    """
    table = absorption()
    warm = STANDARD_TEMPERATURE / temperature
    density = pressure / STANDARD_PRESSURE * warm
    water = vapour / STANDARD_PRESSURE * warm
    parts = np.broadcast_to(table.mole_fractions, (*np.shape(density), len(table.gases))) * density[..., None]
    parts[..., 0] = water
    if ozone is not None:
        parts[..., table.gases.index("O3")] = ozone * density
    scale = (
        table.ln_strength
        + table.pressure_exponent * np.log(pressure / STANDARD_PRESSURE)[..., None, None]
        + table.temperature_exponent * np.log(warm)[..., None, None]
    )
    return Columns(parts[..., None] * np.exp(scale), _continuum(temperature, water, density - water))


def _continuum(temperature: Floats, water: Floats, dry: Floats) -> Floats:
    table = absorption()
    cold = np.clip((_WARM - temperature) / (_WARM - _COLD), 0.0, 1.0)[..., None]
    own = table.self_warm * (1.0 - cold) + table.self_cold * cold
    return np.asarray(water[..., None] * (water[..., None] * own + dry[..., None] * table.foreign))


@dataclass(frozen=True)
class Quadrature:
    """Nodes and weights that integrate over a band what is known at the table's wavelengths.

    Attributes
    ----------
    wavelength, weight : ndarray, shape (M,)
        Nodes, m, and response times step, m: ``sum(weight * f(wavelength))`` is the band integral of f.
    """

    wavelength: Floats
    weight: Floats
    _left: NDArray[np.intp]
    _share: Floats

    def at_nodes(self, spectrum: Floats) -> Floats:
        """Values at the nodes, shape (..., M), of values at the table's wavelengths, shape (..., N)."""
        left = spectrum[..., self._left]
        return np.asarray(left + self._share * (spectrum[..., self._left + 1] - left))


@lru_cache(maxsize=32)
def quadrature(band: Band) -> Quadrature:
    """Two-point Gauss rule between all wavelengths of band and table, where both are linear.

    Parameters
    ----------
    band : Band

    Returns
    -------
    Quadrature

    Raises
    ------
    InputError
        When the band responds outside the table.

    Notes
    -----
    Exact for a cubic on each step; 1e-9 relative for a black body over 8-14 um.
    """
    table = absorption().wavelength
    low, high = _responding(band)
    if low < table[0] or high > table[-1]:
        raise InputError(
            f"Band {band.name!r} responds at {low * 1e6:.2f} to {high * 1e6:.2f} um; the air is known from "
            f"{table[0] * 1e6:.2f} to {table[-1] * 1e6:.2f} um. Cut the table of the response there."
        )
    edges = np.unique(np.concatenate([band.wavelength, table]).clip(low, high))
    middle, half = 0.5 * (edges[1:] + edges[:-1]), 0.5 * np.diff(edges)
    nodes = (middle[:, None] + half[:, None] * np.array([-1.0, 1.0]) / np.sqrt(3.0)).ravel()
    left = np.clip(np.searchsorted(table, nodes) - 1, 0, table.size - 2)
    share = (nodes - table[left]) / (table[left + 1] - table[left])
    return Quadrature(nodes, np.repeat(half, 2) * np.interp(nodes, band.wavelength, band.response), left, share)


def _responding(band: Band) -> tuple[float, float]:
    """Shortest and longest wavelength of the pieces where the response is not zero."""
    there = np.flatnonzero(band.response > 0)
    first, last = max(there[0] - 1, 0), min(there[-1] + 1, band.response.size - 1)
    return float(band.wavelength[first]), float(band.wavelength[last])
