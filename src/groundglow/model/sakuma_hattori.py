"""Sakuma-Hattori equation: a three-parameter stand-in for a band's radiance or a camera's signal.

S = C / (exp(c2 / (A T + B)) - 1) with A in m (an effective wavelength), B in m K, C in the unit of S.

References
----------
BIPM Consultative Committee for Thermometry, working group 5, recommends the form for interpolation (2008);
M. Battuello, F. Girard, T. Ricolfi, F. Sakuma et al. (citations from memory).
"""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np
from numpy.typing import ArrayLike, NDArray
from scipy.optimize import least_squares

from groundglow.errors import InputError
from groundglow.model.limits import require_temperature
from groundglow.model.planck import SECOND_RADIATION_CONSTANT as C2

__all__ = ["SakumaHattori", "fit_sakuma_hattori"]


@dataclass(frozen=True)
class SakumaHattori:
    """Planckian form of the Sakuma-Hattori equation.

    Parameters
    ----------
    a : float
        m.
    b : float
        m K.
    c : float
        Unit of the signal.

    Examples
    --------
    >>> equation = SakumaHattori(9.33894e-6, 178.365e-6, 6809.815)
    >>> round(float(equation.signal(300.0)), 2)
    54.93
    """

    a: float
    b: float
    c: float

    def signal(self, temperature: ArrayLike) -> NDArray[np.float64]:
        """Signal of a black body at a temperature, K.

        Examples
        --------
        >>> equation = SakumaHattori(10e-6, 0.0, 2.0)
        >>> float(equation.temperature(equation.signal(300.0)).round(9))
        300.0
        """
        return np.asarray(self.c / np.expm1(C2 / (self.a * require_temperature(temperature) + self.b)))

    def temperature(self, signal: ArrayLike) -> NDArray[np.float64]:
        """Temperature, K, of the black body with a signal; NaN where the signal is not positive."""
        given = np.asarray(signal, dtype=np.float64)
        positive = np.where(given > 0, given, np.nan)
        return np.asarray((C2 / np.log1p(self.c / positive) - self.b) / self.a)

    def slope(self, temperature: ArrayLike) -> NDArray[np.float64]:
        """Change of the signal with temperature, per K.

        Notes
        -----
        dS/dT = S^2 A c2 / (C (A T + B)^2) exp(c2 / (A T + B)).

        Examples
        --------
        >>> equation = SakumaHattori(10e-6, 0.0, 2.0)
        >>> step = equation.signal(300.5) - equation.signal(299.5)
        >>> bool(abs(equation.slope(300.0) / step - 1) < 1e-5)
        True
        """
        length = self.a * require_temperature(temperature) + self.b
        share = -np.expm1(-C2 / length)
        return np.asarray(self.c * np.exp(-C2 / length) * C2 * self.a / (share * length) ** 2)


def _start(kelvin: NDArray[np.float64], signal: NDArray[np.float64]) -> NDArray[np.float64]:
    """Wien's line ln S = ln C - c2 / (A T) as a first guess: A in um, B in um K, ln C."""
    slope, constant = np.polyfit(1 / kelvin, np.log(signal), 1)
    return np.array([-C2 / slope * 1e6, 0.0, constant])


def _check(kelvin: NDArray[np.float64], signal: NDArray[np.float64]) -> None:
    if kelvin.shape != signal.shape or kelvin.ndim != 1 or np.unique(kelvin).size < 3:
        raise InputError(
            f"Sakuma-Hattori fit: temperatures have shape {kelvin.shape}, signals {signal.shape}; allowed two "
            "lists of one length with three different temperatures or more. Add points."
        )
    if not (np.isfinite(signal) & (signal > 0)).all() or np.corrcoef(kelvin, signal)[0, 1] <= 0:
        raise InputError(
            "Sakuma-Hattori fit: signals must be positive, finite and rise with temperature. "
            "Subtract the camera's offset first and check the order of the columns."
        )


def fit_sakuma_hattori(
    temperature: ArrayLike, signal: ArrayLike, *, standard_uncertainty: ArrayLike | None = None
) -> SakumaHattori:
    """Sakuma-Hattori equation through pairs of temperature and signal, by least squares.

    Parameters
    ----------
    temperature : array_like, shape (N,)
        K, three different values or more.
    signal : array_like, shape (N,)
        Positive: band radiance or a camera's linear signal.
    standard_uncertainty : array_like, shape (N,), optional
        Of the signals; default in proportion to the signal.

    Returns
    -------
    SakumaHattori

    Raises
    ------
    InputError
        When the pairs do not determine the equation.

    Examples
    --------
    >>> from groundglow.model.band import band_radiance, ideal_band
    >>> kelvin = np.arange(253.15, 374.0, 5.0)
    >>> fit = fit_sakuma_hattori(kelvin, band_radiance(ideal_band(8e-6, 14e-6), kelvin))
    >>> round(fit.a * 1e6, 3), round(fit.b * 1e6, 1)
    (9.339, 178.4)
    """
    kelvin, given = require_temperature(temperature), np.asarray(signal, dtype=np.float64)
    _check(kelvin, given)
    weight = 1 / np.broadcast_to(given if standard_uncertainty is None else standard_uncertainty, given.shape)

    def model(p: NDArray[np.float64]) -> SakumaHattori:
        return SakumaHattori(float(p[0]) * 1e-6, float(p[1]) * 1e-6, float(np.exp(p[2])))

    def misfit(p: NDArray[np.float64]) -> NDArray[np.float64]:
        return np.asarray((model(p).signal(kelvin) - given) * weight)

    solution = least_squares(misfit, _start(kelvin, given), x_scale="jac", xtol=1e-15, ftol=1e-15, gtol=1e-15)
    return model(solution.x)
