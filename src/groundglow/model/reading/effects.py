"""What one standard uncertainty of each source does to a reading: first order, source by source."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from groundglow.model.reading.derivatives import (
    AIR_STEPS,
    RESPONSE_STEPS,
    At,
    air_effect,
    model_effect,
    model_ratios,
    model_sd,
    response_effect,
    slope,
    surface_effects,
)
from groundglow.model.reading.sight import Sight, sight, sky_passage, spectrum
from groundglow.model.reading.situation import POSSIBLE, CameraDoubt, Situation
from groundglow.model.reading.spectra import spectra_mean, spectra_sd
from groundglow.model.reading.stated import deviation
from groundglow.model.response import Band

__all__ = ["CAMERA_ERRORS", "Effects", "effects"]

Floats = NDArray[np.float64]
#: Errors of the apparent temperature.
CAMERA_ERRORS = ("noise", "calibration", "drift")


@dataclass(frozen=True, eq=False)
class Effects:
    """Readings at their stated values, and derivatives by all sources; arrays over readings.

    Attributes
    ----------
    apparent : ndarray
        Apparent temperature without known errors, K.
    temperature : ndarray
        Surface temperature, K; NaN where there is no solution.
    reference : ndarray
        The same, or the reflected temperature where there is none.
    air : Sight
        Of the assumed band at the stated air.
    transmittance : ndarray, shape (3, readings)
        For the surface, what it reflects (as a black body), and the air itself.
    transmittance_sd : ndarray
        Standard uncertainty that the air model states for its band mean at 300 K.
    by_model : ndarray, shape (3, readings)
        Change of the three transmittances with that mean: all depths err in proportion.
    by_sky : ndarray
        Change of the factor of what is reflected with the reflected temperature, 1/K.
    spectra_sd, spectra_mean : ndarray
        Standard uncertainty of the radiance at the sensor for want of spectra, and what they add on average,
        W m-2 sr-1.
    by_air : mapping of str to ndarray, shape (2, 3, readings)
        Change of ln transmittance by the input: factors of its change and of the square of it, rows as above.
    by_response : mapping of str to ndarray, shape (3, readings)
        Change of apparent temperature, K, likewise, and the change of the first factor with that temperature.
    contributions : mapping of str to ndarray
        Signed change of the surface temperature for one standard uncertainty, K.
    """

    apparent: Floats
    temperature: Floats
    reference: Floats
    air: Sight
    transmittance: Floats
    transmittance_sd: Floats
    by_model: Floats
    by_sky: Floats
    spectra_sd: Floats
    spectra_mean: Floats
    by_air: Mapping[str, Floats]
    by_response: Mapping[str, Floats]
    contributions: Mapping[str, Floats]

    @property
    def standard_uncertainty(self) -> Floats:
        """Combined, K."""
        return np.asarray(np.sqrt(sum(np.square(part) for part in self.contributions.values())))

    def part(self, where: slice | NDArray[np.intp]) -> Effects:
        """Some of the readings."""
        return Effects(
            self.apparent[where],
            self.temperature[where],
            self.reference[where],
            Sight(self.air.table, self.air.transmittance[where], self.air.mirrored[where]),
            self.transmittance[:, where],
            self.transmittance_sd[where],
            self.by_model[:, where],
            self.by_sky[where],
            self.spectra_sd[where],
            self.spectra_mean[where],
            {name: change[..., where] for name, change in self.by_air.items()},
            {name: change[..., where] for name, change in self.by_response.items()},
            {name: change[where] for name, change in self.contributions.items()},
        )


def _solved(at: At, radiance: Floats) -> Floats:
    share, mirrored, around = at.values
    own = at.air.path_radiance(around) + (1 - share) * at.air.mirrored * at.air.arriving(mirrored)
    return at.air.source_temperature((radiance - own) / share)


def _reference(at: At, kelvin: Floats) -> Floats:
    """The solution, or the reflected temperature where there is none or the table ends."""
    mirrored = at.values[1]
    found = np.where(np.isfinite(kelvin), kelvin, mirrored)
    return np.where(np.isfinite(slope(at, found)), found, mirrored)


def effects(band: Band, apparent_temperature: Floats, situation: Situation, camera: CameraDoubt) -> Effects:
    """Solve flat readings at their stated values, and find what each source does to them."""
    seen = apparent_temperature - sum(camera.of(name).arrays[0] for name in CAMERA_ERRORS)
    spectral = spectrum(situation)
    sky = sky_passage(band, spectral, situation)
    air = sight(band, spectral, sky.factor)
    at = At(band, situation, spectral, air, sky)
    kelvin = _solved(at, np.asarray(air.table.radiance(seen)))
    reference = _reference(at, kelvin)
    by_air = {name: air_effect(at, name, reference) for name in AIR_STEPS}
    by_response = {name: response_effect(at, name, reference) for name in RESPONSE_STEPS}
    spread, ratios = model_sd(band, situation), model_ratios(at, reference)
    unknown = spectra_sd(at, reference, camera)
    parts = surface_effects(at, reference) | {"transmittance": model_effect(at, reference, ratios) * spread}
    parts["spectra"] = unknown
    for name, (_, change) in by_air.items():
        parts[name.replace("_", " ")] = change * deviation(situation.of(name), POSSIBLE[name])
    seen_slope = air.table.slope(seen)
    for name, shift in by_response.items():
        parts[f"response, {name.replace('_', ' ')}"] = shift[0] * seen_slope * deviation(camera.of(name))
    for name in CAMERA_ERRORS:
        parts[name] = seen_slope * deviation(camera.of(name))
    gain = np.where(np.isfinite(kelvin), 1 / slope(at, reference), np.nan)
    return Effects(
        seen,
        kelvin,
        reference,
        air,
        np.array([air.through(source) for source in (reference, *at.values[1:])]),
        spread,
        ratios,
        sky.slope,
        unknown,
        spectra_mean(at, reference),
        {name: logs for name, (logs, _) in by_air.items()},
        by_response,
        {name: -gain * change for name, change in parts.items()},
    )
