"""Spectral response of a camera: any table, an ideal rectangle, or a nominal uncooled detector.

The response is relative (its scale cancels between calibration and use) and piecewise linear between
its points, zero outside.
"""

from __future__ import annotations

from dataclasses import dataclass
from functools import cache

import numpy as np
from numpy.typing import ArrayLike, NDArray

from groundglow.errors import InputError
from groundglow.model.limits import require

__all__ = ["NOMINAL_BANDS", "Band", "ideal_band", "nominal_band"]

#: Half-response edges of the shipped nominal bands, m.
NOMINAL_BANDS = {"7.5-13.5": (7.5e-6, 13.5e-6), "8-14": (8.0e-6, 14.0e-6)}
#: Full width of the smooth edges of a nominal band, m (our choice; detector windows cut within some 0.5 um).
EDGE_WIDTH = 0.8e-6
#: Wavelength at which the nominal detector's quarter-wave cavity absorbs all, m (our choice).
CAVITY_WAVELENGTH = 10.0e-6
#: Step of the nominal tables, m.
NOMINAL_STEP = 0.05e-6


@dataclass(frozen=True, eq=False)
class Band:
    """Relative spectral response of a camera.

    Parameters
    ----------
    name : str
        Name for people.
    wavelength : array_like, shape (N,), N >= 2
        Strictly ascending, m, 0.1 um to 1 mm.
    response : array_like, shape (N,)
        Finite, not negative, not all zero; linear between the points, zero outside. Equal response to
        equal power (not to equal photons).
    nominal : bool
        True when this is a typical shape and not this camera's own.

    Raises
    ------
    InputError
        When the table is no response.

    Examples
    --------
    >>> Band("mine", [8e-6, 9e-6, 12e-6, 14e-6], [0.0, 1.0, 1.0, 0.0]).edges
    (8e-06, 1.4e-05)
    """

    name: str
    wavelength: NDArray[np.float64]
    response: NDArray[np.float64]
    nominal: bool = False

    def __post_init__(self) -> None:
        for name in ("wavelength", "response"):
            array = np.array(getattr(self, name), dtype=np.float64)
            array.setflags(write=False)
            object.__setattr__(self, name, array)
        _check_shape(self)
        _check_wavelength(self)
        _check_response(self)

    def _content(self) -> tuple[str, bytes, bytes, bool]:
        return self.name, self.wavelength.tobytes(), self.response.tobytes(), self.nominal

    def __eq__(self, other: object) -> bool:
        """Bands are equal when name, table and kind are."""
        return isinstance(other, Band) and self._content() == other._content()

    def __hash__(self) -> int:
        """Hash of the content, so that tables are built once a band."""
        return hash(self._content())

    @property
    def edges(self) -> tuple[float, float]:
        """Shortest and longest wavelength of the table, m."""
        return float(self.wavelength[0]), float(self.wavelength[-1])


def _check_shape(band: Band) -> None:
    found = band.wavelength.shape, band.response.shape
    if band.wavelength.ndim != 1 or found[0] != found[1] or band.wavelength.size < 2:
        raise InputError(
            f"Band {band.name!r}: wavelength and response have shapes {found[0]} and {found[1]}; "
            "allowed two lists of one length, two points or more. Check the columns of the table."
        )


def _check_wavelength(band: Band) -> None:
    array = band.wavelength
    require(
        f"wavelength of band {band.name!r}",
        np.where(np.isnan(array), np.inf, array),
        (array >= 1e-7) & (array <= 1e-3),
        unit="m",
        allowed="1e-7 to 1e-3 m",
        why="optical radiation",
        hint="Multiply micrometres by 1e-6.",
    )
    if not (np.diff(array) > 0).all():
        first = int(np.argmin(np.diff(array) > 0)) + 1
        raise InputError(
            f"Band {band.name!r}: wavelengths do not ascend at row {first + 1} ({array[first]:.6g} m). "
            "Sort the table and remove repeated wavelengths."
        )


def _check_response(band: Band) -> None:
    array = band.response
    require(
        f"response of band {band.name!r}",
        np.where(np.isnan(array), np.inf, array),
        np.isfinite(array) & (array >= 0),
        unit="",
        allowed="finite and >= 0",
        why="a share of the power",
        hint="Cut the noise below zero.",
    )
    if not array.any():
        raise InputError(f"Band {band.name!r}: the response is zero everywhere. Check the column of the table.")


def ideal_band(low: float, high: float) -> Band:
    """Rectangular band: response one between two wavelengths, zero outside.

    Parameters
    ----------
    low, high : float
        Edges, m.

    Returns
    -------
    Band

    Examples
    --------
    >>> ideal_band(8e-6, 14e-6).name
    'ideal 8-14 um'
    """
    name = f"ideal {low * 1e6:g}-{high * 1e6:g} um"
    return Band(name, np.array([low, high]), np.ones(2))


@cache
def nominal_band(name: str) -> Band:
    """Typical response of an uncooled long-wave camera, marked nominal; use the camera's own where known.

    Parameters
    ----------
    name : {"7.5-13.5", "8-14"}
        Half-response edges, um.

    Returns
    -------
    Band

    Raises
    ------
    InputError
        For another name.

    Notes
    -----
    Our own analytic shape, no measured camera: the absorption of a matched resistive sheet a quarter
    wave (of 10 um) before a mirror, A = 4 / (4 + cot^2(pi lambda_0 / (2 lambda))), from the theory of
    transmission lines, times half-cosine edges 0.8 um wide about the named wavelengths.

    Examples
    --------
    >>> band = nominal_band("8-14")
    >>> band.nominal, float(band.response.max().round(3))
    (True, 1.0)
    """
    if name not in NOMINAL_BANDS:
        raise InputError(f"Nominal band is {name!r}; allowed {', '.join(NOMINAL_BANDS)}. Or give a table.")
    low, high = NOMINAL_BANDS[name]
    count = round((high - low + EDGE_WIDTH) / NOMINAL_STEP) + 1
    wavelength = np.linspace(low - EDGE_WIDTH / 2, high + EDGE_WIDTH / 2, count)
    edges = _edge(wavelength - low) * _edge(high - wavelength)
    return Band(f"nominal {name} um", wavelength, edges * _cavity(wavelength), nominal=True)


def _edge(distance: ArrayLike) -> NDArray[np.float64]:
    phase = np.clip(np.asarray(distance) / EDGE_WIDTH, -0.5, 0.5)
    return np.asarray(0.5 + 0.5 * np.sin(np.pi * phase))


def _cavity(wavelength: NDArray[np.float64]) -> NDArray[np.float64]:
    cotangent = 1.0 / np.tan(0.5 * np.pi * CAVITY_WAVELENGTH / wavelength)
    return np.asarray(4.0 / (4.0 + cotangent**2))
