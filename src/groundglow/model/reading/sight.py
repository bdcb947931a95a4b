"""How a band sees bodies of each temperature through the air of each reading.

Air passes some wavelengths better than others, so a mean transmittance belongs to one temperature of the source.
Here it is kept as a row over temperatures for each reading: the band integral of spectral transmittance times
Planck's law, as one matrix product. With that row all three terms of the measurement equation are black bodies:

L = tau(T) eps B(T) + s tau(T_r) (1 - eps) B(T_r) + (1 - tau(T_air)) B(T_air)

What is reflected is no black body where it is a clear sky: that shines at the wavelengths which air absorbs, so less of
it arrives. The factor s says how much less. Outdoors only the sky is colder than the air; a reflected temperature
below that of the air is therefore taken as the glow of a long path of the same air (:func:`sky_passage`).
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

__all__ = ["NODES", "Sight", "SkyPassage", "near", "shares", "shares_at", "sight", "sky_passage", "spectrum"]

Floats = NDArray[np.float64]
#: Temperatures of the sources, K, in equal ratios.
NODES = np.geomspace(*TABLE_RANGE, 48)
#: Paths of air whose glow stands for that of the sky, m.
LONG_PATHS = (300.0, 1000.0, 3000.0)
#: Smallest step of the reflected temperature for the slope of the passage, K.
PASSAGE_STEP = 1.0
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
    return shares_at(band, NODES)


def shares_at(band: Band, kelvin: Floats) -> Floats:
    """The same for black bodies of other temperatures, shape (bodies, wavelengths)."""
    grid = quadrature(band)
    at_nodes = grid.at_nodes(np.eye(absorption().wavelength.size))
    weight = (grid.weight * spectral_radiance(grid.wavelength, kelvin[:, None])) @ at_nodes.T
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
    """A band's table and, for each reading, the transmittance for sources at ``NODES``, shape (readings, nodes).

    ``mirrored`` is the factor s of what is reflected, shape (readings,) or ().
    """

    table: BandTable
    transmittance: Floats
    mirrored: Floats

    def through(self, kelvin: ArrayLike) -> Floats:
        """Transmittance for a black body of this temperature a reading; NaN outside the table."""
        place = np.log(np.asarray(kelvin, dtype=np.float64) / NODES[0]) / STEP
        inside = (place >= 0) & (place <= NODES.size - 1)
        cell = np.where(inside, place, 0.0).astype(int).clip(0, NODES.size - 2)
        row = np.arange(len(self.transmittance))
        low, high = self.transmittance[row, cell], self.transmittance[row, cell + 1]
        return np.asarray(np.where(inside, low + (place - cell) * (high - low), np.nan))

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
        back = (1 - emissivity) * self.mirrored * self.arriving(reflected)
        return np.asarray(emissivity * self.arriving(kelvin) + back + self.path_radiance(air))


def sight(band: Band, spectral: Floats, mirrored: Floats | float = 1.0) -> Sight:
    """How a band sees through air of these spectral transmittances, shape (readings, wavelengths)."""
    return Sight(lookup(band), np.asarray(spectral @ shares(band).T), np.asarray(mirrored, dtype=np.float64))


@dataclass(frozen=True, eq=False)
class SkyPassage:
    """What is reflected: its spectrum, and its transmittance over that for a black body as warm in the band.

    Attributes
    ----------
    factor : ndarray, shape (readings,)
        Transmittance over that for a black body; 1 where what is reflected is as warm as the air or warmer.
    slope : ndarray, shape (readings,)
        Its change with the reflected temperature, 1/K.
    glow : ndarray, shape (readings, wavelengths)
        Spectral radiance of what is reflected over that of a black body at air temperature.
    """

    factor: Floats
    slope: Floats
    glow: Floats


def sky_passage(band: Band, spectral: Floats, situation: Situation) -> SkyPassage:
    """How a reflected sky's radiation passes the air between, against a black body as warm in the band.

    Parameters
    ----------
    band : Band
    spectral : ndarray, shape (readings, wavelengths)
        Transmittance of the air between.
    situation : Situation
        Flat.

    Returns
    -------
    SkyPassage

    Notes
    -----
    The glow of the near air along 300, 1000 and 3000 m, mixed so that its band radiance is that of the reflected
    temperature. Within 30 % of the effect for clear skies of the layered model, any angle to 70 degrees (tests).
    """
    names = ("reflected_temperature", "air_temperature")
    mirrored, around = (situation.of(name).arrays[0] for name in names)
    factor, slope = np.ones_like(mirrored), np.zeros_like(mirrored)
    wavelength = absorption().wavelength
    sent = spectral_radiance(wavelength, mirrored[:, None]) / spectral_radiance(wavelength, around[:, None])
    cold = np.flatnonzero(mirrored < around)
    if cold.size:
        kelvin, glow = mirrored[cold], _Glow(band, spectral[cold], situation.part(cold))
        step = np.maximum(situation.of("reflected_temperature").arrays[1][cold], PASSAGE_STEP)
        ends = [glow.factor((kelvin + by).clip(*TABLE_RANGE)) for by in (-step, step)]
        factor[cold], slope[cold] = glow.factor(kelvin), (ends[1] - ends[0]) / (2 * step)
        sent[cold] = glow.mixed(kelvin)
    return SkyPassage(factor, slope, sent)


def near(kelvin: Floats) -> NDArray[np.intp]:
    """Node nearest to each temperature."""
    return np.asarray(np.abs(np.log(NODES[:, None] / kelvin)).argmin(axis=0))


class _Glow:
    """Glow of long paths of each reading's air, sent and arriving, as shares of a black body at air temperature."""

    def __init__(self, band: Band, spectral: Floats, situation: Situation) -> None:
        self.air = situation.of("air_temperature").arrays[0]
        self.between = sight(band, spectral)
        weight = shares(band)[near(self.air)]
        self.glow = np.zeros((len(LONG_PATHS) + 2, *spectral.shape))
        for k, metres in enumerate(LONG_PATHS, start=1):
            self.glow[k] = 1 - spectrum(situation, distance=np.full(self.air.shape, metres))
        self.glow[-1] = 1.0
        self.sent, self.arriving = (np.einsum("kij,ij->ki", self.glow, part) for part in (weight, weight * spectral))

    def share(self, mirrored: Floats) -> Floats:
        """Radiance of what is reflected over that of a black body at air temperature, at most 1."""
        table = self.between.table
        return np.asarray(np.minimum(table.radiance(mirrored) / table.radiance(self.air), 1.0))

    def _mix(self, mirrored: Floats) -> tuple[NDArray[np.intp], Floats]:
        """Upper one of the two glows that are mixed, and its part."""
        share, row = self.share(mirrored), np.arange(self.air.size)
        upper = (self.sent < share).sum(axis=0).clip(1, len(self.sent) - 1)
        low, high = self.sent[upper - 1, row], self.sent[upper, row]
        return upper, (share - low) / (high - low)

    def mixed(self, mirrored: Floats) -> Floats:
        """Spectral glow as warm in the band, shape (readings, wavelengths)."""
        upper, part = self._mix(mirrored)
        row = np.arange(self.air.size)
        low, high = self.glow[upper - 1, row], self.glow[upper, row]
        return np.asarray(low + part[:, None] * (high - low))

    def factor(self, mirrored: Floats) -> Floats:
        """Transmittance of the mixed glow over that of a black body."""
        upper, part = self._mix(mirrored)
        row = np.arange(self.air.size)
        seen = self.arriving[upper - 1, row] + part * (self.arriving[upper, row] - self.arriving[upper - 1, row])
        return np.asarray(np.minimum(seen / self.share(mirrored) / self.between.through(mirrored), 1.0))
