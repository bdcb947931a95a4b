"""Planck's law at one wavelength, its slope, its inverse and the share of emission below a wavelength.

Refractive index one. All radiances are per metre of wavelength: divide by 1e6 for per micrometre.

References
----------
Constants: CODATA 2018/2022, exact by definition of the SI (BIPM, SI brochure 9th ed., 2019, section 2.2).
Planck's law: F. P. Incropera et al., Fundamentals of Heat and Mass Transfer, chapter 12 (equation from memory).
"""

from __future__ import annotations

import numpy as np
from numpy.typing import ArrayLike, NDArray

from groundglow.model.limits import require, require_temperature

__all__ = [
    "BOLTZMANN",
    "FIRST_RADIATION_CONSTANT",
    "LIGHT_SPEED",
    "PLANCK",
    "SECOND_RADIATION_CONSTANT",
    "STEFAN_BOLTZMANN",
    "black_body_exitance",
    "brightness_temperature",
    "fraction_below",
    "spectral_radiance",
    "spectral_radiance_slope",
]

#: Planck constant, J s (exact).
PLANCK = 6.62607015e-34
#: Speed of light in vacuum, m/s (exact).
LIGHT_SPEED = 299792458.0
#: Boltzmann constant, J/K (exact).
BOLTZMANN = 1.380649e-23
#: First radiation constant for radiance, 2 h c^2, W m2 sr-1.
FIRST_RADIATION_CONSTANT = 2.0 * PLANCK * LIGHT_SPEED**2
#: Second radiation constant, h c / k, m K.
SECOND_RADIATION_CONSTANT = PLANCK * LIGHT_SPEED / BOLTZMANN
#: Stefan-Boltzmann constant, W m-2 K-4.
STEFAN_BOLTZMANN = 2.0 * np.pi**5 * BOLTZMANN**4 / (15.0 * LIGHT_SPEED**2 * PLANCK**3)


def _wavelength(values: ArrayLike) -> NDArray[np.float64]:
    array = np.asarray(values, dtype=np.float64)
    require(
        "wavelength",
        array,
        (array > 1e-8) & (array < 0.1),
        unit="m",
        allowed="1e-8 to 0.1 m",
        why="optical radiation",
        hint="Multiply micrometres by 1e-6.",
    )
    return array


def spectral_radiance(wavelength: ArrayLike, temperature: ArrayLike) -> NDArray[np.float64]:
    """Spectral radiance of a black body, W m-2 sr-1 per metre of wavelength.

    Parameters
    ----------
    wavelength : array_like
        Wavelength in vacuum, m.
    temperature : array_like
        Temperature, K, above zero; broadcast against ``wavelength``. NaN gives NaN.

    Returns
    -------
    ndarray
        Spectral radiance, W m-2 sr-1 m-1.

    Raises
    ------
    RangeError
        When a temperature is not above 0 K or a wavelength is no optical wavelength in metres.

    See Also
    --------
    brightness_temperature : the inverse.

    Notes
    -----
    L = 2 h c^2 / lambda^5 / (exp(h c / (lambda k T)) - 1), written with exp(-x) so that nothing overflows.

    Examples
    --------
    >>> round(float(spectral_radiance(10e-6, 300.0)) / 1e6, 5)  # per micrometre
    9.92403
    """
    length, kelvin = _wavelength(wavelength), require_temperature(temperature)
    x = SECOND_RADIATION_CONSTANT / (length * kelvin)
    return np.asarray(FIRST_RADIATION_CONSTANT / length**5 * np.exp(-x) / -np.expm1(-x))


def spectral_radiance_slope(wavelength: ArrayLike, temperature: ArrayLike) -> NDArray[np.float64]:
    """Change of a black body's spectral radiance with temperature, W m-2 sr-1 m-1 K-1.

    Parameters
    ----------
    wavelength, temperature : array_like
        As for :func:`spectral_radiance`.

    Returns
    -------
    ndarray

    Notes
    -----
    dL/dT = L (x / T) / (1 - exp(-x)), x = h c / (lambda k T).

    Examples
    --------
    >>> step = spectral_radiance(10e-6, 300.5) - spectral_radiance(10e-6, 299.5)
    >>> bool(abs(spectral_radiance_slope(10e-6, 300.0) / step - 1) < 1e-5)
    True
    """
    length, kelvin = _wavelength(wavelength), require_temperature(temperature)
    x = SECOND_RADIATION_CONSTANT / (length * kelvin)
    share = -np.expm1(-x)
    return np.asarray(FIRST_RADIATION_CONSTANT / length**5 * np.exp(-x) / share**2 * x / kelvin)


def brightness_temperature(wavelength: ArrayLike, radiance: ArrayLike) -> NDArray[np.float64]:
    """Temperature of the black body with this spectral radiance, K.

    Parameters
    ----------
    wavelength : array_like
        Wavelength, m.
    radiance : array_like
        Spectral radiance, W m-2 sr-1 m-1; broadcast against ``wavelength``.

    Returns
    -------
    ndarray
        Temperature, K; NaN where the radiance is not positive.

    See Also
    --------
    spectral_radiance : the inverse.

    Examples
    --------
    >>> float(brightness_temperature(10e-6, 9924033.96).round(4))
    300.0
    """
    length = _wavelength(wavelength)
    given = np.asarray(radiance, dtype=np.float64)
    positive = np.where(given > 0, given, np.nan)
    ratio = np.log1p(FIRST_RADIATION_CONSTANT / (length**5 * positive))
    return np.asarray(SECOND_RADIATION_CONSTANT / (length * ratio))


def black_body_exitance(temperature: ArrayLike) -> NDArray[np.float64]:
    """Radiation of a black body over all wavelengths into the half space, W/m2.

    Notes
    -----
    Stefan-Boltzmann law, sigma T^4.

    Examples
    --------
    >>> round(float(black_body_exitance(300.0)), 6)
    459.300328
    """
    return np.asarray(STEFAN_BOLTZMANN * require_temperature(temperature) ** 4)


def fraction_below(wavelength: ArrayLike, temperature: ArrayLike) -> NDArray[np.float64]:
    """Share of a black body's emission at wavelengths below the given one, 0..1.

    Parameters
    ----------
    wavelength, temperature : array_like
        m and K, broadcast; only their product matters.

    Returns
    -------
    ndarray

    Notes
    -----
    F = 15/pi^4 sum over n of exp(-n x) (x^3/n + 3 x^2/n^2 + 6 x/n^3 + 6/n^4), x = h c / (lambda k T), for
    x >= 1; below, one minus the integral of the series of t^3/(exp(t) - 1) from 0 to x (seven terms,
    M. Abramowitz and I. Stegun, Handbook of Mathematical Functions, 27.1.1). Error below 1e-10.

    References
    ----------
    S.-L. Chang and K. T. Rhee, Int. Commun. Heat Mass Transfer 11 (1984) 451 (the sum; citation from memory).

    Examples
    --------
    >>> fraction_below([1e-6, 10e-6], 300.0).round(6).tolist()[1]
    0.273229
    """
    x = SECOND_RADIATION_CONSTANT / (_wavelength(wavelength) * require_temperature(temperature))
    return np.asarray(np.where(x < 1.0, _fraction_hot(np.minimum(x, 1.0)), _fraction_cool(np.maximum(x, 1.0))))


def _fraction_cool(x: NDArray[np.float64]) -> NDArray[np.float64]:
    total = np.zeros_like(x)
    for n in range(1, 31):
        total += np.exp(-n * x) * (x**3 / n + 3 * x**2 / n**2 + 6 * x / n**3 + 6 / n**4)
    return np.asarray(15 / np.pi**4 * total)


def _fraction_hot(x: NDArray[np.float64]) -> NDArray[np.float64]:
    powers = [x**2 / 60, -(x**4) / 5040, x**6 / 272160, -(x**8) / 13305600, x**10 / 622702080]
    inner = 1 / 3 - x / 8 + sum(powers, np.zeros_like(x))
    return np.asarray(1 - 15 / np.pi**4 * x**3 * inner)
