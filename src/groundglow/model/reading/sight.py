"""How a band sees bodies of each temperature through the air of each reading.

Air passes some wavelengths better than others, so a mean transmittance belongs to one temperature of the source.
Here it is kept as a row over temperatures for each reading: the band integral of spectral transmittance times
Planck's law, as one matrix product. With that row all three terms of the measurement equation are black bodies:

L = tau(T) eps B(T) + tau(T_r) (1 - eps) B(T_r) + (1 - tau(T_air)) B(T_air)
"""

from __future__ import annotations

from dataclasses import dataclass
from functools import lru_cache

import numpy as np
from numpy.typing import ArrayLike, NDArray

from groundglow.model.absorption import absorption, quadrature
from groundglow.model.air import spectral_transmittance
from groundglow.model.band import lookup
from groundglow.model.planck import spectral_radiance
from groundglow.model.reading.situation import Situation
from groundglow.model.response import Band
from groundglow.model.table import TABLE_RANGE, BandTable

__all__ = ["NODES", "Sight", "shares", "sight", "spectrum"]

Floats = NDArray[np.float64]
#: Temperatures of the sources, K, in equal ratios.
NODES = np.geomspace(*TABLE_RANGE, 48)
STEP = float(np.log(NODES[1] / NODES[0]))


@lru_cache(maxsize=32)
def shares(band: Band) -> Floats:
    """Share of each wavelength of the absorption table in a black body's band radiance, shape (nodes, wavelengths).

    Examples
    --------
    >>> from groundglow.model.band import ideal_band
    >>> shares(ideal_band(8e-6, 14e-6)).sum(axis=1).round(9)[:2]
    array([1., 1.])
    """
    grid = quadrature(band)
    at_nodes = grid.at_nodes(np.eye(absorption().wavelength.size))
    weight = (grid.weight * spectral_radiance(grid.wavelength, NODES[:, None])) @ at_nodes.T
    return np.asarray(weight / weight.sum(axis=1, keepdims=True))


def spectrum(situation: Situation, **moved: Floats) -> Floats:
    """Spectral transmittance of each reading's air at its stated values, shape (readings, wavelengths).

    Parameters
    ----------
    situation : Situation
        Flat.
    **moved : ndarray
        Other values of ``air_temperature``, ``relative_humidity`` or ``distance``.
    """
    inputs = ("air_temperature", "relative_humidity", "distance")
    given = {name: moved.get(name, situation.of(name).arrays[0]) for name in inputs}
    distance = given.pop("distance")
    return spectral_transmittance(distance, pressure=situation.pressure, visibility=situation.visibility, **given)[1]


@dataclass(frozen=True, eq=False)
class Sight:
    """A band's table and, for each reading, the transmittance for sources at ``NODES``, shape (readings, nodes)."""

    table: BandTable
    transmittance: Floats

    def through(self, kelvin: ArrayLike) -> Floats:
        """Transmittance for a black body of this temperature a reading; NaN outside the table."""
        place = np.log(np.asarray(kelvin, dtype=np.float64) / NODES[0]) / STEP
        inside = (place >= 0) & (place <= NODES.size - 1)
        cell = np.where(inside, place, 0.0).astype(int).clip(0, NODES.size - 2)
        row = np.arange(len(self.transmittance))
        near, far = self.transmittance[row, cell], self.transmittance[row, cell + 1]
        return np.asarray(np.where(inside, near + (place - cell) * (far - near), np.nan))

    def arriving(self, kelvin: Floats) -> Floats:
        """Band radiance that arrives from a black body of this temperature, W m-2 sr-1."""
        return np.asarray(self.through(kelvin) * self.table.radiance(kelvin))

    def path_radiance(self, air_temperature: Floats) -> Floats:
        """Band radiance of the air itself, W m-2 sr-1: exact, by the row's value at air temperature."""
        return np.asarray((1 - self.through(air_temperature)) * self.table.radiance(air_temperature))

    def arrivals(self) -> Floats:
        """Logarithm of the radiance that arrives from black bodies at ``NODES``, shape (readings, nodes)."""
        return np.asarray(np.log(np.maximum(self.transmittance, 1e-12) * self.table.radiance(NODES)))

    def source_temperature(self, arrived: Floats) -> Floats:
        """Temperature of the black body of which this radiance arrives, K: the inverse of ``arriving``.

        NaN where it is not positive or outside the table. Between the nodes emitted against arrived radiance is a
        power law.
        """
        rows, known = self.arrivals(), np.log(self.table.radiance(NODES))
        target = np.log(np.where(arrived > 0, arrived, np.nan))
        cell = (rows <= target[:, None]).sum(axis=1).clip(1, NODES.size - 1) - 1
        row = np.arange(len(rows))
        share = (target - rows[row, cell]) / (rows[row, cell + 1] - rows[row, cell])
        return np.asarray(self.table.temperature(np.exp(known[cell] + share * (known[cell + 1] - known[cell]))))

    def at_sensor(self, kelvin: Floats, emissivity: Floats, reflected: Floats, air: Floats) -> Floats:
        """Band radiance at the sensor, W m-2 sr-1: the module's equation."""
        mirrored = (1 - emissivity) * self.arriving(reflected)
        return np.asarray(emissivity * self.arriving(kelvin) + mirrored + self.path_radiance(air))


def sight(band: Band, spectral: Floats) -> Sight:
    """How a band sees through air of these spectral transmittances, shape (readings, wavelengths)."""
    return Sight(lookup(band), np.asarray(spectral @ shares(band).T))
