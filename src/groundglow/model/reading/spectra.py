"""What is not known of a reading for want of spectra: an emissivity is one number, a surface and a sky have many.

A stated emissivity is the mean over the assumed band for a body at 300 K. Of another temperature, through air and to
another response it is another mean; and a surface that reflects most where the sky is darkest reflects less of it
than its mean says. The lost part 1 - eps is taken as (1 - eps)(1 + s x + c (x^2 - mean)), x the wavelength from the
middle of the window, 10.75 um, in units of 3 um, with s and c unknown. Solids reflect most at the short end, where
silicates have their bands: s is more often negative. A hotter surface shines more at that end and emits less of it than
its mean says; the interval knows that (:func:`spectra_mean`), the value is that of a grey surface.

References
----------
s and c: least squares with Planck weight of 71 urban samples of the Spectral Library of impervious Urban Materials
(Kotthaus et al. 2014, DOI 10.5281/zenodo.4263842), s -0.48 on average with a standard deviation of 0.37, root mean
square of c 0.47; of glass, water and ice (sources in :mod:`groundglow.model.fresnel`), s -0.3, 0.3 and 1.0, c 1.0
(tests). The values below lie between, and a little above for what a parabola leaves.
"""

from __future__ import annotations

from functools import lru_cache

import numpy as np
from numpy.typing import NDArray

from groundglow.model.absorption import absorption
from groundglow.model.reading.derivatives import RESPONSE_STEPS, At
from groundglow.model.reading.response import moved_band
from groundglow.model.reading.sight import near, shares, shares_at, sight
from groundglow.model.reading.situation import CameraDoubt
from groundglow.model.response import Band

__all__ = ["CURVATURE_SD", "SKY_SPECTRUM_SD", "SLOPE_MEAN", "SLOPE_SD", "WINDOW", "spectra_mean", "spectra_sd"]

Floats = NDArray[np.float64]
#: Standard uncertainty of what a sky's spectrum changes on its way through the air, as a share of it: the layered
#: model's skies lie within 30 % (tests).
SKY_SPECTRUM_SD = 0.2
#: Middle and half width of the atmospheric window, m.
WINDOW = (10.75e-6, 3e-6)
#: Relative change of what is lost per half width, and per its square: of dull surfaces. A metal's loss hardly changes
#: (by 0.14 eps / (1 - eps) per half width after Hagen and Rubens): both are taken times the emissivity squared.
SLOPE_MEAN, SLOPE_SD, CURVATURE_SD = -0.45, 0.5, 0.8
#: Temperature for which an emissivity is stated, K.
STATED_FOR = 300.0


@lru_cache(maxsize=32)
def _shapes(band: Band) -> tuple[Floats, Floats]:
    """Slope and curvature at the wavelengths of the air's table, of mean zero over the band."""
    x = (absorption().wavelength - WINDOW[0]) / WINDOW[1]
    weight = shares_at(band, np.array([STATED_FOR]))[0]
    return x - weight @ x, x**2 - weight @ x**2


@lru_cache(maxsize=32)
def _shifts(band: Band) -> dict[str, float]:
    """Change of the mean of x over the response with its edges and tilt."""
    x, stated = _shapes(band)[0], np.array([STATED_FOR])
    ends = {
        name: [float(shares_at(moved_band(band, **{name: by}), stated)[0] @ x) for by in (-step, step)]
        for name, step in RESPONSE_STEPS.items()
    }
    return {name: (high - low) / (2 * RESPONSE_STEPS[name]) for name, (low, high) in ends.items()}


def _shift_sd(band: Band, camera: CameraDoubt) -> Floats:
    """Standard uncertainty of the mean of x over the true response."""
    parts = [(shift * camera.of(name).arrays[1]) ** 2 for name, shift in _shifts(band).items()]
    return np.asarray(np.sqrt(sum(parts)))


def spectra_sd(at: At, kelvin: Floats, camera: CameraDoubt) -> Floats:
    """Standard uncertainty of the radiance at the sensor for want of the spectra of surface and sky, W m-2 sr-1.

    Parameters
    ----------
    at : At
    kelvin : ndarray
        Temperature of the surface, K.
    camera : CameraDoubt
        Flat.
    """
    share, mirrored, _ = at.values
    back, body = at.air.mirrored * at.air.arriving(mirrored), at.air.arriving(kelvin)
    lost = share**2 * (1 - share)
    parts = [(1 - share) * SKY_SPECTRUM_SD * (1 - at.air.mirrored) * at.air.arriving(mirrored)]
    for shape, spread in zip(_shapes(at.band), (SLOPE_SD, CURVATURE_SD), strict=True):
        parts.append(spread * _by_shape(at, kelvin, shape))
    parts.append(np.hypot(SLOPE_MEAN, SLOPE_SD) * lost * _shift_sd(at.band, camera) * (back - body))
    return np.asarray(np.sqrt(sum(np.square(part) for part in parts)))


def spectra_mean(at: At, kelvin: Floats) -> Floats:
    """What the slope that most surfaces have adds to the radiance at the sensor, W m-2 sr-1; as :func:`spectra_sd`."""
    return SLOPE_MEAN * _by_shape(at, kelvin, _shapes(at.band)[0])


def _by_shape(at: At, kelvin: Floats, shape: Floats) -> Floats:
    """Change of the radiance at the sensor where what is lost follows a shape of mean zero."""
    share, mirrored, around = at.values
    back = at.air.mirrored * at.air.arriving(mirrored)
    weight = shares(at.band)[near(around)] * at.sky.glow * at.spectral
    arriving = weight.sum(axis=1)
    reflected = back * (weight @ shape) / np.where(arriving > 0, arriving, np.inf)
    return np.asarray(share**2 * (1 - share) * (reflected - sight(at.band, at.spectral * shape).arriving(kelvin)))
