"""What is known of a reading: the surface, what it reflects, the air between, and the camera."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass, replace

import numpy as np
from numpy.typing import ArrayLike, NDArray

from groundglow.errors import InputError
from groundglow.model.limits import require
from groundglow.model.reading.stated import NO_LIMITS, Limits, Stated, as_stated
from groundglow.model.response import Band
from groundglow.model.table import TABLE_RANGE
from groundglow.model.weather import LIMITS, checked

__all__ = ["NOMINAL_EDGE_SD", "NOMINAL_TILT_SD", "POSSIBLE", "CameraDoubt", "Situation", "camera_doubt"]

#: Standard uncertainty of each edge of a nominal band, m: detector windows cut within some 0.5 um (our choice).
NOMINAL_EDGE_SD = 0.25e-6
#: Standard uncertainty of the tilt of a nominal response: rise from the middle to the long edge (our choice).
NOMINAL_TILT_SD = 0.10

#: What is possible at all, by the name of the input.
POSSIBLE: Mapping[str, Limits] = {
    "emissivity": Limits(0.0, 1.0),
    "reflected_temperature": Limits(*TABLE_RANGE),
    "air_temperature": NO_LIMITS,
    "relative_humidity": Limits(0.0, 1.0),
    "distance": Limits(0.0, LIMITS["distance"].high),
}


@dataclass(frozen=True, eq=False)
class Situation:
    """The surface, what it reflects and the air between, each with its standard uncertainty.

    Parameters
    ----------
    emissivity : Stated or array_like
        Above 0 to 1, in the camera's band and direction.
    reflected_temperature : Stated or array_like
        Reflected apparent temperature, K.
    air_temperature, relative_humidity, distance : Stated or array_like
        K, 0..1 over water, m. A plain number is taken as known without doubt. All broadcast.
    pressure : array_like
        Pa.
    visibility : array_like, optional
        m, adds haze; default none.

    Raises
    ------
    RangeError
        Outside the domain of the model.

    Examples
    --------
    >>> Situation(Stated(0.95, 0.01), Stated(250.0, 8.0), Stated(288.15, 1.0), Stated(0.5, 0.05), 60.0).shape
    ()
    """

    emissivity: Stated | ArrayLike
    reflected_temperature: Stated | ArrayLike
    air_temperature: Stated | ArrayLike
    relative_humidity: Stated | ArrayLike
    distance: Stated | ArrayLike
    pressure: ArrayLike = 101325.0
    visibility: ArrayLike | None = None

    def __post_init__(self) -> None:
        for name in POSSIBLE:
            object.__setattr__(self, name, as_stated(getattr(self, name)))
        for name in ("air_temperature", "relative_humidity", "distance"):
            checked(name, self.of(name).arrays[0])
        _check_surface(self.of("emissivity").arrays[0], self.of("reflected_temperature").arrays[0])

    def of(self, name: str) -> Stated:
        """The input of this name."""
        return as_stated(getattr(self, name))

    @property
    def shape(self) -> tuple[int, ...]:
        """Shape of all inputs, broadcast."""
        seen = () if self.visibility is None else np.shape(self.visibility)
        return np.broadcast_shapes(*(self.of(name).shape for name in POSSIBLE), np.shape(self.pressure), seen)

    def flat(self, shape: tuple[int, ...]) -> Situation:
        """The same at every element of a shape, as 1-D arrays."""
        seen = None if self.visibility is None else np.broadcast_to(self.visibility, shape).ravel()
        pressure = np.broadcast_to(self.pressure, shape).ravel()
        return replace(
            self, **{name: self.of(name).flat(shape) for name in POSSIBLE}, pressure=pressure, visibility=seen
        )

    def part(self, where: slice | NDArray[np.intp]) -> Situation:
        """Some elements of 1-D arrays."""
        seen = None if self.visibility is None else np.asarray(self.visibility)[where]
        inputs = {name: self.of(name).part(where) for name in POSSIBLE}
        return replace(self, **inputs, pressure=np.asarray(self.pressure)[where], visibility=seen)


def _check_surface(emissivity: NDArray[np.float64], mirrored: NDArray[np.float64]) -> None:
    require(
        "emissivity",
        emissivity,
        (emissivity > 0) & (emissivity <= 1),
        unit="",
        allowed="0 < emissivity <= 1",
        why="a share of black-body emission",
        hint="Check percent against fraction.",
    )
    low, high = TABLE_RANGE
    require(
        "reflected_temperature",
        mirrored,
        (mirrored >= low) & (mirrored <= high),
        unit="K",
        allowed=f"{low:g} to {high:g} K",
        why="the band's table",
        hint="Add 273.15 to degrees Celsius.",
    )


@dataclass(frozen=True, eq=False)
class CameraDoubt:
    """Errors of the camera, each with its standard uncertainty.

    Parameters
    ----------
    noise, calibration, drift : Stated or array_like
        Error of the apparent temperature, K: of one pixel (NETD at the reading's own temperature), shared by the
        flight, shared by a frame. A known error is the value: it is taken off.
    short_edge, long_edge : Stated or array_like
        Shift of the edges of the spectral response from the assumed one, m; value zero.
    tilt : Stated or array_like
        Of the response: its relative rise from the middle to the long edge, beyond the assumed one; value zero.

    Raises
    ------
    InputError
        When a shift or tilt of the response is said to be known: give the response as it is.

    See Also
    --------
    camera_doubt : with the doubt of a nominal response filled in.

    Examples
    --------
    >>> CameraDoubt(noise=Stated(0.0, 0.05), calibration=Stated(0.0, 1.0)).drift.standard_uncertainty
    0.0
    """

    noise: Stated | ArrayLike = 0.0
    calibration: Stated | ArrayLike = 0.0
    drift: Stated | ArrayLike = 0.0
    short_edge: Stated | ArrayLike = 0.0
    long_edge: Stated | ArrayLike = 0.0
    tilt: Stated | ArrayLike = 0.0

    def __post_init__(self) -> None:
        for name in self.names():
            object.__setattr__(self, name, as_stated(getattr(self, name)))
        if any(np.any(self.of(name).arrays[0]) for name in ("short_edge", "long_edge", "tilt")):
            raise InputError("A response that is known to be moved is another band. Give the band as it is.")

    @staticmethod
    def names() -> tuple[str, ...]:
        """Names of the errors."""
        return ("noise", "calibration", "drift", "short_edge", "long_edge", "tilt")

    def of(self, name: str) -> Stated:
        """The error of this name."""
        return as_stated(getattr(self, name))

    @property
    def shape(self) -> tuple[int, ...]:
        """Shape of all errors, broadcast."""
        return np.broadcast_shapes(*(self.of(name).shape for name in self.names()))

    def flat(self, shape: tuple[int, ...]) -> CameraDoubt:
        """The same at every element of a shape, as 1-D arrays."""
        return CameraDoubt(**{name: self.of(name).flat(shape) for name in self.names()})

    def part(self, where: slice | NDArray[np.intp]) -> CameraDoubt:
        """Some elements of 1-D arrays."""
        return CameraDoubt(**{name: self.of(name).part(where) for name in self.names()})


def camera_doubt(
    band: Band, *, noise: Stated | ArrayLike, calibration: Stated | ArrayLike, drift: Stated | ArrayLike = 0.0
) -> CameraDoubt:
    """Errors of a camera of which only a band is known: a nominal response carries its own doubt.

    Parameters
    ----------
    band : Band
        When ``band.nominal``, its edges and tilt are uncertain by :data:`NOMINAL_EDGE_SD` and
        :data:`NOMINAL_TILT_SD`; a measured response is taken as known.
    noise, calibration, drift : Stated or array_like
        As for :class:`CameraDoubt`.

    Returns
    -------
    CameraDoubt

    Examples
    --------
    >>> from groundglow.model.band import nominal_band
    >>> known = camera_doubt(nominal_band("7.5-13.5"), noise=Stated(0.0, 0.05), calibration=Stated(0.0, 1.0))
    >>> known.tilt.standard_uncertainty
    0.1
    """
    edge, tilt = (NOMINAL_EDGE_SD, NOMINAL_TILT_SD) if band.nominal else (0.0, 0.0)
    return CameraDoubt(noise, calibration, drift, Stated(0.0, edge), Stated(0.0, edge), Stated(0.0, tilt))
