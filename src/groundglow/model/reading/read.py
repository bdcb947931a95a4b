"""One reading, or many: surface temperature, its doubt in three parts, and its 95 % interval.

First order where the model is straight enough over the doubts of its inputs; where it bends (low emissivity, cold
sky, emissivity near 1) the distributions are propagated instead. Which one was used is part of the answer.
"""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np
from numpy.typing import ArrayLike, NDArray

from groundglow.model.budget import Budget, Part, Quantity, make_budget
from groundglow.model.doubt import COVERAGE_95, Doubt
from groundglow.model.reading.derivatives import apparent
from groundglow.model.reading.effects import CAMERA_ERRORS, Effects, effects
from groundglow.model.reading.sight import sight, sky_passage, spectrum
from groundglow.model.reading.situation import POSSIBLE, CameraDoubt, Situation
from groundglow.model.reading.stated import NO_LIMITS, Limits, Stated, cut_share, deviation
from groundglow.model.reading.trials import trial_interval
from groundglow.model.response import Band

__all__ = ["TemperatureReading", "apparent_temperature", "reading_budget", "reading_with_interval", "sky_factor"]

Floats = NDArray[np.float64]
#: Readings solved at once, to bound memory.
AT_ONCE = 2048
#: Trials that test whether first order holds, and trials where it does not.
PILOT, TRIALS = 1024, 8192
#: First order holds while no end of its interval is off by more than this share of the half width ...
LARGEST_SHIFT = 0.10
#: ... and no more than this share of the variance comes from a rectangle, or from a distribution cut at a limit.
LARGEST_RECTANGLE, LARGEST_CUT = 0.5, 0.1
#: Share cut off from which on a distribution counts as cut.
LEAST_CUT = 1e-3


@dataclass(frozen=True, eq=False)
class TemperatureReading:
    """Surface temperature with its doubt and its 95 % interval; arrays of one shape.

    Attributes
    ----------
    temperature : ndarray
        At the stated values, K; NaN where they allow no solution.
    doubt : Doubt
        First order: noise independent, drift shared by the frame, all else by the flight, named.
    low, high : ndarray
        Ends of the 95 % interval, K. Minus infinity: the reading does not exclude any lower temperature (the
        radiation may all be reflected); plus infinity: any higher.
    first_order : ndarray of bool
        True where first order holds, False where distributions were propagated.
    """

    temperature: Floats
    doubt: Doubt
    low: Floats
    high: Floats
    first_order: NDArray[np.bool_]


def reading_with_interval(
    band: Band,
    apparent_temperature: ArrayLike,
    situation: Situation,
    camera: CameraDoubt,
    *,
    seed: int = 1,
) -> TemperatureReading:
    """Surface temperature, K, with its doubt in three parts and its 95 % interval.

    Parameters
    ----------
    band : Band
        Assumed response of the camera.
    apparent_temperature : array_like
        Temperature of the black body that gives the same signal, K: ``lookup(band).temperature(radiance)``.
    situation : Situation
    camera : CameraDoubt
        All broadcast to shape S.
    seed : int
        Of the trials; equal seeds give equal intervals.

    Returns
    -------
    TemperatureReading
        Of shape S.

    Raises
    ------
    RangeError
        Outside the domain of the model.

    See Also
    --------
    apparent_temperature : the inverse.
    reading_budget : the same, line by line.

    Notes
    -----
    The equation of :mod:`groundglow.model.sensing`, with each of its three black bodies seen through a transmittance
    of its own. An interval is value -+ 1.96 standard uncertainties (JCGM 100:2008, 5.1.2) where trials agree with it:
    no end off by more than a tenth of the half width, no more than half of the variance from a rectangle, and no more
    than a tenth from a distribution cut at a limit. Else it holds the middle 95 % of 8192 trials (JCGM 101:2008,
    7.7, and clause 8 for the comparison). docs/intervals.md tells how often such intervals miss.

    References
    ----------
    JCGM 100:2008 and JCGM 101:2008, as above.

    Examples
    --------
    >>> from groundglow.model.band import nominal_band
    >>> band = nominal_band("7.5-13.5")
    >>> air = {"air_temperature": Stated(283.15, 1.0), "relative_humidity": Stated(0.6, 0.05), "distance": 60.0}
    >>> roof = Situation(Stated(0.93, 0.02), Stated(245.0, 8.0), **air)
    >>> camera = CameraDoubt(noise=Stated(0.0, 0.05), calibration=Stated(0.0, 1.0))
    >>> found = reading_with_interval(band, 288.0, roof, camera)
    >>> [float(v.round(1)) for v in (found.temperature, found.low, found.high)], bool(found.first_order)
    ([290.8, 288.0, 293.5], True)
    """
    shape = np.broadcast_shapes(np.shape(apparent_temperature), situation.shape, camera.shape)
    kelvin = np.broadcast_to(np.asarray(apparent_temperature, dtype=np.float64), shape).ravel()
    scene, errors = situation.flat(shape), camera.flat(shape)
    blocks = [slice(start, start + AT_ONCE) for start in range(0, max(kelvin.size, 1), AT_ONCE)]
    parts = [_read(band, kelvin[b], scene.part(b), errors.part(b), seed) for b in blocks]
    temperature, low, high, first_order = (np.concatenate([part[i] for part in parts]).reshape(shape) for i in range(4))
    names = list(parts[0][4])
    sources = {name: np.concatenate([part[4][name] for part in parts]).reshape(shape) for name in names}
    noise = np.abs(sources.pop("noise"))
    doubt = Doubt(noise, {"drift": sources.pop("drift")}, sources)
    return TemperatureReading(temperature, doubt, low, high, first_order.astype(bool))


def _read(
    band: Band, kelvin: Floats, situation: Situation, camera: CameraDoubt, seed: int
) -> tuple[Floats, Floats, Floats, NDArray[np.bool_], dict[str, Floats]]:
    found = effects(band, kelvin, situation, camera)
    half = COVERAGE_95 * found.standard_uncertainty
    low, high = found.temperature - half, found.temperature + half
    holds = _first_order_holds(found, situation, camera, seed)
    bent = np.flatnonzero(~holds)
    if bent.size:
        low[bent], high[bent] = trial_interval(
            found.part(bent), situation.part(bent), camera.part(bent), count=TRIALS, seed=seed
        )
    return found.temperature, low, high, holds, dict(found.contributions)


def _first_order_holds(found: Effects, situation: Situation, camera: CameraDoubt, seed: int) -> NDArray[np.bool_]:
    half = COVERAGE_95 * found.standard_uncertainty
    low, high = trial_interval(found, situation, camera, count=PILOT, seed=seed)
    shift = np.maximum(np.abs(found.temperature - half - low), np.abs(found.temperature + half - high))
    rectangles, cut = _odd_variance(found, situation, camera)
    variance = found.standard_uncertainty**2
    straight = shift <= LARGEST_SHIFT * half
    return np.asarray(straight & (rectangles <= LARGEST_RECTANGLE * variance) & (cut <= LARGEST_CUT * variance))


def _odd_variance(found: Effects, situation: Situation, camera: CameraDoubt) -> tuple[Floats, Floats]:
    """Variance from rectangles, and from distributions cut at a limit."""
    rectangles, cut = np.zeros_like(found.apparent), np.zeros_like(found.apparent)
    for source, stated, limits in _inputs(situation, camera):
        part = np.square(found.contributions[source])
        rectangles += part * (stated.distribution == "rectangular")
        cut += part * (cut_share(stated, limits) > LEAST_CUT)
    return rectangles, cut


def _inputs(situation: Situation, camera: CameraDoubt) -> list[tuple[str, Stated, Limits]]:
    """Source, stated input and limits."""
    scene = [(name.replace("_", " "), situation.of(name), POSSIBLE[name]) for name in POSSIBLE]
    response = [
        (f"response, {n.replace('_', ' ')}", camera.of(n), NO_LIMITS) for n in ("short_edge", "long_edge", "tilt")
    ]
    return scene + response + [(name, camera.of(name), NO_LIMITS) for name in CAMERA_ERRORS]


def apparent_temperature(band: Band, surface_temperature: ArrayLike, situation: Situation) -> Floats:
    """Apparent temperature, K, that a camera without errors shows of a surface at the stated values.

    Parameters
    ----------
    band : Band
    surface_temperature : array_like
        K.
    situation : Situation
        Its uncertainties are not used.

    Returns
    -------
    ndarray

    See Also
    --------
    reading_with_interval : the inverse.

    References
    ----------
    As :mod:`groundglow.model.sensing`.

    Examples
    --------
    >>> from groundglow.model.band import nominal_band
    >>> float(apparent_temperature(nominal_band("8-14"), 300.0, Situation(0.9, 300.0, 300.0, 0.5, 50.0)).round(3))
    300.0
    """
    kelvin = np.asarray(surface_temperature, dtype=np.float64)
    shape = np.broadcast_shapes(kelvin.shape, situation.shape)
    scene = situation.flat(shape)
    spectral = spectrum(scene)
    air = sight(band, spectral, sky_passage(band, spectral, scene).factor)
    share, mirrored, around = (
        scene.of(name).arrays[0] for name in ("emissivity", "reflected_temperature", "air_temperature")
    )
    return apparent(air, np.broadcast_to(kelvin, shape).ravel(), (share, mirrored, around)).reshape(shape)


def sky_factor(band: Band, situation: Situation) -> Floats:
    """Factor by which less of a reflected clear sky passes the air than of a black body as warm in the band, 0..1.

    A clear sky shines at the wavelengths which air absorbs. To take it into account in
    :mod:`groundglow.model.through_air`, multiply the reflected radiance with it.

    Parameters
    ----------
    band : Band
    situation : Situation
        Of shape S; its uncertainties are not used.

    Returns
    -------
    ndarray, shape S
        1 where what is reflected is as warm as the air or warmer: no sky.

    Notes
    -----
    See :func:`groundglow.model.reading.sight.sky_passage`.

    References
    ----------
    As :mod:`groundglow.model.absorption`; held against the layered sky of :mod:`groundglow.model.sky` in the tests.

    Examples
    --------
    >>> from groundglow.model.band import nominal_band
    >>> float(sky_factor(nominal_band("7.5-13.5"), Situation(0.9, 240.0, 288.15, 0.6, 200.0)).round(2))
    0.93
    """
    scene = situation.flat(situation.shape)
    return sky_passage(band, spectrum(scene), scene).factor.reshape(situation.shape)


#: Unit and part of the doubt of each source.
LINES: dict[str, tuple[str, Part]] = {
    "emissivity": ("", "flight"),
    "reflected temperature": ("K", "flight"),
    "spectra": ("W m-2 sr-1", "flight"),
    "air temperature": ("K", "flight"),
    "relative humidity": ("", "flight"),
    "distance": ("m", "flight"),
    "transmittance": ("", "flight"),
    "response, short edge": ("m", "flight"),
    "response, long edge": ("m", "flight"),
    "response, tilt": ("", "flight"),
    "noise": ("K", "independent"),
    "calibration": ("K", "flight"),
    "drift": ("K", "frame"),
}


def reading_budget(band: Band, apparent_temperature: float, situation: Situation, camera: CameraDoubt) -> Budget:
    """Budget of one reading: every source with its sensitivity, contribution and share.

    Parameters
    ----------
    band, apparent_temperature, situation, camera
        As for :func:`reading_with_interval`, scalars.

    Returns
    -------
    Budget

    References
    ----------
    JCGM 100:2008, 5.1.2.

    Examples
    --------
    >>> from groundglow.model.band import nominal_band
    >>> tin = Situation(Stated(0.2, 0.04), Stated(250.0, 8.0), 288.15, 0.5, 50.0)
    >>> budget = reading_budget(nominal_band("8-14"), 270.0, tin, CameraDoubt(calibration=Stated(0.0, 1.0)))
    >>> max(budget.lines, key=lambda line: line.share).quantity.name
    'reflected temperature'
    """
    scene, errors = situation.flat((1,)), camera.flat((1,))
    found = effects(band, np.array([apparent_temperature], dtype=np.float64), scene, errors)
    spreads = {source: float(deviation(stated, limits)[0]) for source, stated, limits in _inputs(scene, errors)}
    values = {source: float(stated.arrays[0][0]) for source, stated, _ in _inputs(scene, errors)}
    values |= {"transmittance": float(found.transmittance[0, 0]), "spectra": 0.0}
    spreads |= {"transmittance": float(found.transmittance_sd[0]), "spectra": float(found.spectra_sd[0])}
    lines = [Quantity(name, values[name], unit, spreads[name], part) for name, (unit, part) in LINES.items()]
    changes = [float(found.contributions[line.name][0]) for line in lines]
    slopes = [
        change / line.standard_uncertainty if line.standard_uncertainty > 0 else 0.0
        for change, line in zip(changes, lines, strict=True)
    ]
    kelvin = float(found.temperature[0])
    return make_budget("surface temperature", "K", lambda *_: kelvin, lines, sensitivities=slopes)
