"""A camera's calibration: counts to band radiance and back, with the doubt of its coefficients.

References
----------
Sakuma-Hattori: BIPM Consultative Committee for Thermometry, working group 5 (2008), equation from memory.
JCGM 100:2008 (GUM) 5.2.2 for correlated coefficients, here turned into independent sources.
"""

from __future__ import annotations

import numpy as np
from numpy.typing import ArrayLike, NDArray

from groundglow.errors import InputError
from groundglow.frames.units import ZERO_CELSIUS
from groundglow.model.planck import SECOND_RADIATION_CONSTANT
from groundglow.model.sakuma_hattori import SakumaHattori
from groundglow.model.table import BandTable
from groundglow.records.flight import CalibrationSpec

__all__ = [
    "DEFAULT_CALIBRATION_SD_K",
    "calibration_sources",
    "counts_to_radiance",
    "radiance_to_counts",
]

Floats = NDArray[np.floating]

C2_UM_K = SECOND_RADIATION_CONSTANT * 1e6
#: Of a black-body temperature when nobody stated one: the usual +-5 K of uncooled cameras taken as the
#: limits of a rectangular distribution (common practice, no source).
DEFAULT_CALIBRATION_SD_K = 5.0 / np.sqrt(3.0)
#: Shares of the largest principal variance below this are rounding, not doubt.
NEGLIGIBLE = 1e-12


def counts_to_radiance(counts: ArrayLike, calibration: CalibrationSpec, table: BandTable) -> Floats:
    """Band radiance in W m-2 sr-1 of the black body that gives these counts.

    Parameters
    ----------
    counts : array_like
        float32 gives float32 (and is several times as fast), anything else float64.
    calibration : CalibrationSpec
        ``linear`` or ``sakuma_hattori``; see there for the equations.
    table : BandTable
        The camera's band; turns a calibrated temperature into radiance.

    Returns
    -------
    ndarray
        NaN where the calibration gives no black body within the table.

    See Also
    --------
    radiance_to_counts : the inverse.

    Examples
    --------
    >>> from groundglow.model.band import lookup, nominal_band
    >>> table = lookup(nominal_band("7.5-13.5"))
    >>> linear = CalibrationSpec(form="linear", quantity="temperature", unit="K", coefficients=(0.0, 0.04))
    >>> radiance = counts_to_radiance(7500, linear, table)
    >>> round(float(table.temperature(radiance)), 3)
    300.0
    """
    given = np.asarray(counts)
    given = given if given.dtype == np.float32 else given.astype(np.float64)
    c = _coefficients(calibration)
    if calibration.form == "sakuma_hattori":
        kelvin = _equation(c).temperature(given - c[3])
        return np.asarray(table.radiance(kelvin.astype(given.dtype)))
    value = c[0] + c[1] * given
    return value if calibration.quantity == "radiance" else np.asarray(table.radiance(_kelvin(value, calibration)))


def radiance_to_counts(radiance: ArrayLike, calibration: CalibrationSpec, table: BandTable) -> Floats:
    """Counts, not rounded, that a black body of this band radiance (W m-2 sr-1) gives.

    See Also
    --------
    counts_to_radiance : the inverse, with the parameters.

    Examples
    --------
    >>> from groundglow.model.band import lookup, nominal_band
    >>> linear = CalibrationSpec(form="linear", quantity="radiance", unit="W m-2 sr-1", coefficients=(2.0, 0.01))
    >>> float(radiance_to_counts(52.0, linear, lookup(nominal_band("8-14"))))
    5000.0
    """
    given = np.asarray(radiance, dtype=np.float64)
    c = _coefficients(calibration)
    if calibration.form == "sakuma_hattori":
        return _equation(c).signal(table.temperature(given)) + c[3]
    if calibration.quantity == "radiance":
        return np.asarray((given - c[0]) / c[1])
    shift = ZERO_CELSIUS if calibration.unit == "C" else 0.0
    return np.asarray((table.temperature(given) - shift - c[0]) / c[1])


def calibration_sources(
    counts: Floats, kelvin: Floats, slope: Floats, calibration: CalibrationSpec
) -> dict[str, Floats]:
    """Signed change of the band radiance for one standard uncertainty of each source of the calibration.

    Parameters
    ----------
    counts, kelvin, slope : ndarray, shape S
        Counts, their black-body temperature (K), and the band's slope there (W m-2 sr-1 K-1).
    calibration : CalibrationSpec
        Its ``covariance`` gives the sources ``calibration 1`` ... (principal axes of the coefficients),
        its ``standard_uncertainty_k`` the source ``calibration``.

    Returns
    -------
    dict of str to ndarray, shape S
        Each source is one random number for the whole flight.
    """
    found: dict[str, Floats] = {}
    if calibration.standard_uncertainty_k is not None:
        found["calibration"] = slope * calibration.standard_uncertainty_k
    if calibration.covariance is None:
        return found
    by_coefficient = _derivatives(counts, kelvin, calibration)
    if calibration.quantity == "temperature":
        by_coefficient = [d * slope for d in by_coefficient]
    for number, axis in enumerate(_principal(calibration), start=1):
        found[f"calibration {number}"] = sum(
            (float(a) * d for a, d in zip(axis, by_coefficient, strict=True)), np.zeros(())
        )
    return found


def _principal(calibration: CalibrationSpec) -> list[Floats]:
    """Principal axes of the covariance, each times its standard deviation, largest first.

    Coefficients differ by orders of magnitude, so the axes are those of the correlation matrix.
    """
    covariance = np.array(calibration.covariance, dtype=np.float64)
    sd = np.sqrt(np.diag(covariance))
    scale = np.where(sd > 0, sd, 1.0)
    variances, axes = np.linalg.eigh(covariance / np.outer(scale, scale))
    if variances.min() < -1e-6 * max(variances.max(), 0.0):
        raise InputError("calibration.covariance is no covariance: it has a negative principal variance")
    kept = [i for i in np.argsort(-variances) if variances[i] > NEGLIGIBLE * variances.max()]
    return [axes[:, i] * np.sqrt(variances[i]) * scale for i in kept]


def _derivatives(counts: Floats, kelvin: Floats, calibration: CalibrationSpec) -> list[Floats]:
    """Of the calibrated quantity (K or W m-2 sr-1) by each coefficient.

    Sakuma-Hattori: with s = counts - D, x = ln(C / s + 1) and T = (c2 / x - B) / A,
    dT/dx = -c2 / (A x^2), dx/dC = 1 / (C + s), dx/dD = C / (s (C + s)).
    """
    if calibration.form == "linear":
        return [np.ones_like(counts), counts]
    a, b, c, d = calibration.coefficients
    signal = counts - d
    length = a * kelvin + b  # um K: c2 / x
    by_x = -(length**2) / (a * C2_UM_K)
    return [-kelvin / a, np.full_like(kelvin, -1 / a), by_x / (c + signal), by_x * c / (signal * (c + signal))]


def _equation(coefficients: tuple[float, ...]) -> SakumaHattori:
    a, b, c, _ = coefficients
    return SakumaHattori(a * 1e-6, b * 1e-6, c)


def _kelvin(value: Floats, calibration: CalibrationSpec) -> Floats:
    return value + ZERO_CELSIUS if calibration.unit == "C" else value


def _coefficients(calibration: CalibrationSpec) -> tuple[float, ...]:
    wanted = {"linear": 2, "sakuma_hattori": 4}.get(calibration.form)
    if wanted is None or len(calibration.coefficients) != wanted:
        raise InputError(
            f'calibration.form is "{calibration.form}" with {len(calibration.coefficients)} coefficients; allowed '
            '"linear" with 2 or "sakuma_hattori" with 4'
        )
    return calibration.coefficients
