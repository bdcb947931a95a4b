"""What nobody measured of a frame's spectra: the camera's response, the surface's, the sky's."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from groundglow.model.band import Band, BandTable
from groundglow.model.reading import Situation, Stated, camera_doubt, sky_factor
from groundglow.model.reading.effects import Effects, effects
from groundglow.model.weather import LIMITS
from groundglow.steps.measure.air import Air, Reflection
from groundglow.steps.measure.surfaces import GroundSurface

__all__ = ["RESPONSE", "Spectral", "response_change", "sky_passing", "spectral_doubt"]

Floats = NDArray[np.float64]
#: Sources of a response that is only nominal.
RESPONSE = ("response, short edge", "response, long edge", "response, tilt")
#: Radiances and distances at which a frame is computed; between them all is straight.
RADIANCES, DISTANCES = 6, 5
#: Distances within this share of each other count as one.
EVEN = 0.02


@dataclass(frozen=True)
class Spectral:
    """Signed error of the temperature, K, for one standard uncertainty, at some radiances at the sensor.

    ``response`` maps the sources of :data:`RESPONSE`, ``spectra`` the surfaces, in their order, shape (S, N).
    """

    radiance: Floats
    response: dict[str, Floats]
    spectra: Floats

    def of_response(self, name: str, radiance: NDArray[np.float32], shares: NDArray[np.float32]) -> NDArray[np.float32]:
        """Map of one source over a frame, K, for pixels that show a mixture of surfaces."""
        return _over(radiance, self.radiance, self.response[name], shares)

    def of_surface(self, index: int, radiance: NDArray[np.float32], share: NDArray[np.float32]) -> NDArray[np.float32]:
        """Map of what the spectrum of one surface leaves unknown, K."""
        return _over(radiance, self.radiance, self.spectra[index : index + 1], share[None])


def _over(seen: NDArray[np.float32], nodes: Floats, values: Floats, shares: NDArray[np.float32]) -> NDArray[np.float32]:
    total = np.zeros(seen.shape, dtype=np.float32)
    for share, row in zip(shares, values, strict=True):
        if share.max() > 0.0:
            total += share * np.interp(seen, nodes, row).astype(np.float32)
    return total


def _scenes(surfaces: Sequence[GroundSurface], kelvin: Floats, air: Air, distance: float, *, columns: int) -> Situation:
    """Every surface at so many columns; all doubts but those of spectra are nil, being counted elsewhere."""
    emissivity = np.array([[s.emissivity] for s in surfaces])
    shape = (len(surfaces), columns)
    given = (air.temperature.value, air.humidity.value, min(distance, LIMITS["distance"].high))
    return Situation(emissivity, kelvin[:, None], *given, pressure=air.pressure.value).flat(shape)


def _known(values: Floats, nodes: Floats) -> Floats:
    """A row with what has no solution filled from its neighbours; nil where there is none at all."""
    good = np.isfinite(values)
    return np.interp(nodes, nodes[good], values[good]) if good.any() else np.zeros_like(values)


def spectral_doubt(
    band: Band,
    table: BandTable,
    radiance: NDArray[np.float32],
    surfaces: Sequence[GroundSurface],
    reflected: Sequence[Reflection],
    *,
    air: Air,
    distance: float,
) -> Spectral:
    """Doubt of a frame for want of spectra.

    Parameters
    ----------
    band : Band
        Nominal, or else without doubt of the response.
    table : BandTable
    radiance : ndarray
        At the sensor, W m-2 sr-1; sets the range.
    surfaces, reflected : sequences of one length
    air : Air
    distance : float
        In the middle of the frame, m.
    """
    low, high = (float(end(radiance)) for end in (np.nanmin, np.nanmax))
    seen = np.unique(np.clip(np.linspace(low, high, RADIANCES), *table.radiance(np.array([160.0, 1400.0]))))
    found = _effects(band, table, seen, surfaces, reflected, air=air, distance=distance)
    shape = (len(surfaces), seen.size)

    def rows(name: str) -> Floats:
        return np.array([_known(-row, seen) for row in found.contributions[name].reshape(shape)])

    return Spectral(seen, {name: rows(name) for name in RESPONSE if band.nominal}, rows("spectra"))


def _effects(
    band: Band,
    table: BandTable,
    seen: Floats,
    surfaces: Sequence[GroundSurface],
    reflected: Sequence[Reflection],
    *,
    air: Air,
    distance: float,
) -> Effects:
    mirrored = np.array([float(table.temperature(r.radiance)) for r in reflected])
    scene = _scenes(surfaces, mirrored, air, distance, columns=seen.size)
    apparent = np.broadcast_to(table.temperature(seen), (len(surfaces), seen.size)).ravel()
    camera = camera_doubt(band, noise=Stated(0.0), calibration=Stated(0.0)).flat(apparent.shape)
    return effects(band, apparent, scene, camera)


def response_change(
    band: Band,
    table: BandTable,
    radiance: float,
    surface: GroundSurface,
    reflected: Reflection,
    *,
    air: Air,
    distance: float,
) -> dict[str, float]:
    """Change of the radiance shown, W m-2 sr-1, for one standard uncertainty of each source of the response."""
    if not band.nominal:
        return {}
    seen = np.array([radiance])
    found = _effects(band, table, seen, [surface], [reflected], air=air, distance=distance)
    camera = camera_doubt(band, noise=0.0, calibration=0.0)
    slope = float(table.slope(table.temperature(radiance)))
    spreads = {name: float(camera.of(name).arrays[1]) for name in found.by_response}
    return {
        f"response, {name.replace('_', ' ')}": float(change[0, 0]) * spreads[name] * slope
        for name, change in found.by_response.items()
    }


def sky_passing(
    band: Band, table: BandTable, reflected: Sequence[Reflection], air: Air, distance: NDArray[np.float32]
) -> list[NDArray[np.float32]]:
    """Factor by which less of what each surface reflects passes the air than of a black body: a sky has a spectrum.

    Parameters
    ----------
    band : Band
    table : BandTable
    reflected : sequence of Reflection
    air : Air
    distance : ndarray
        m.

    Returns
    -------
    list of ndarray float32
        For each of ``reflected``, of the shape of ``distance`` or ().

    See Also
    --------
    groundglow.model.reading.sky_factor
    """
    low, high = np.clip([distance.min(), distance.max()], 1e-3, LIMITS["distance"].high)
    even = high <= low * (1 + EVEN)
    nodes = np.array([np.median(distance).clip(low, high)]) if even else np.geomspace(low, high, DISTANCES)
    kelvin = np.array([[float(table.temperature(r.radiance))] for r in reflected])
    weather = (air.temperature.value, air.humidity.value)
    factors = sky_factor(band, Situation(0.5, kelvin, *weather, nodes, pressure=air.pressure.value))
    if even:
        return [np.asarray(row[0], dtype=np.float32) for row in factors]
    return [np.interp(distance, nodes, row).astype(np.float32) for row in factors]
