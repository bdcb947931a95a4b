"""Simulated readings whose truth is known.

What is stated (material, weather, distance, camera) is drawn over the domain of the measurement model; what is true is
drawn from the stated distributions, by other code than that under test, and the camera's signal is the sum over
wavelengths of emission, reflection and air; skies have the spectrum of the layered model. In two thirds of the
readings the surface is grey and the response is the assumed one, moved and tilted by its stated doubt. In the other
third emissivity has a slope or the spectrum of glass and water, and the response is another one altogether.
"""

from __future__ import annotations

from dataclasses import dataclass
from functools import cache
from pathlib import Path

import numpy as np
from interval_sky import WAVELENGTH, Weather, surroundings
from numpy.typing import NDArray

from groundglow.model.air import air_path, spectral_transmittance
from groundglow.model.band import band_temperature, nominal_band
from groundglow.model.fresnel import fresnel_emissivity, optical_constants
from groundglow.model.planck import spectral_radiance, spectral_radiance_slope
from groundglow.model.reading import CameraDoubt, Situation, Stated, camera_doubt
from groundglow.model.reading.spectra import CURVATURE_SD, SLOPE_MEAN, SLOPE_SD, WINDOW
from groundglow.model.response import NOMINAL_BANDS, Band
from groundglow.model.sky import SKY_TEMPERATURE_SD, sky_hemisphere_radiance, sky_radiance
from groundglow.model.surface import Material, emissivity_at_angle, emissivity_uncertainty_at_angle, materials

Floats = NDArray[np.float64]

#: Temperatures of surfaces, K.
RANGES = ((230.0, 270.0), (270.0, 300.0), (300.0, 340.0), (340.0, 450.0))
SKIES = ("clear, cold and dry", "clear and humid", "overcast", "warm surroundings")
CLASSES = ("non-metal", "glass and water", "painted or oxidised metal", "bare metal")
#: Lowest and highest stated air temperature, K, and relative humidity; standard uncertainty of the reflected one, K.
#: Four standard uncertainties within the domain of the air model, so that what is true is within it too.
WEATHERS = (
    ((241.15, 283.15), (0.1, 0.6), SKY_TEMPERATURE_SD),
    ((288.15, 313.15), (0.5, 0.98), SKY_TEMPERATURE_SD),
    ((253.15, 303.15), (0.6, 1.0), 5.0),
    ((241.15, 320.15), (0.0, 0.9), 2.0),
)
#: Lowest and highest air pressure, Pa, and longest distance, m.
PRESSURES, FARTHEST = (50e3, 105e3), 5000.0
CELLS = [(c, t, s) for c in range(len(CLASSES)) for t in range(len(RANGES)) for s in range(len(SKIES))]
#: What is possible at all.
LIMITS = {"emissivity": (0.0, 1.0), "relative_humidity": (0.0, 1.0), "distance": (0.0, FARTHEST)}


def class_of(row: Material) -> int:
    """Class of a material of the table; -1 for what is in none."""
    if row.kind == "fresnel":
        return 1
    if row.group == "bare metal":
        return 3
    if row.group in ("painted", "oxidised metal"):
        return 2
    return 0 if row.emissivity >= 0.89 and row.kind in ("rough", "diffuse") else -1


@dataclass(frozen=True, eq=False)
class Stock:
    """Readings of one seed: what is stated, what was shown, what is true; arrays over readings.

    ``true`` holds the true inputs and errors by name, ``truth`` the surface temperatures; ``other`` marks the
    readings with another response and with spectra.
    """

    band: Band
    situation: Situation
    camera: CameraDoubt
    shown: Floats
    truth: Floats
    true: dict[str, Floats]
    cell: NDArray[np.intp]
    other: NDArray[np.bool_]


@dataclass(frozen=True, eq=False)
class _Scene:
    """What is stated of each reading, and what it is made of."""

    material: list[Material]
    angle: Floats
    weather: NDArray[np.intp]
    air: Floats
    humidity: Floats
    pressure: Floats
    mirror: NDArray[np.bool_]
    zenith: Floats


def _scene(rng: np.random.Generator, cell: NDArray[np.intp]) -> tuple[_Scene, list[Weather]]:
    by_class = [[row for row in materials().values() if class_of(row) == c] for c in range(len(CLASSES))]
    kinds = np.array([CELLS[i][0] for i in cell])
    weather = np.array([CELLS[i][2] for i in cell])
    chosen = [by_class[k][rng.integers(len(by_class[k]))] for k in kinds]
    stated = [Weather(*(float(rng.uniform(*ends)) for ends in (air, moist, PRESSURES))) for air, moist, _ in WEATHERS]
    air, humidity, pressure = np.array(stated)[weather].T
    mirror = np.array([row.mirror for row in chosen])
    angles, zenith = np.radians(rng.uniform(0, 60, (2, cell.size)))
    return _Scene(chosen, angles, weather, air, humidity, pressure, mirror, zenith), stated


def _emissivity(scene: _Scene, band: str) -> Stated:
    value, spread = np.empty(scene.angle.size), np.empty(scene.angle.size)
    for i, row in enumerate(scene.material):
        value[i] = emissivity_at_angle(row, scene.angle[i], band=band)
        spread[i] = emissivity_uncertainty_at_angle(row, scene.angle[i], band=band)
    return Stated(value, spread)


def _reflected(rng: np.random.Generator, scene: _Scene, stated: list[Weather], band: Band) -> Stated:
    """Stated reflected apparent temperature: the sky's where it is sky, measured where it is not."""
    kelvin = scene.air + rng.uniform(0, 15, scene.air.size)
    for weather in range(3):
        given = stated[weather]._asdict() | {"cloud_fraction": float(weather == 2)}
        mean = sky_hemisphere_radiance(band, **given)
        here = scene.weather == weather
        radiance = np.where(scene.mirror, sky_radiance(band, scene.zenith, **given), mean)
        kelvin[here] = band_temperature(band, radiance[here])
    return Stated(kelvin, np.array([w[2] for w in WEATHERS])[scene.weather])


def _either(rng: np.random.Generator, value: Floats | float, spread: Floats) -> Stated:
    return Stated(value, spread, "rectangular" if rng.random() < 0.3 else "normal")


def _draw(rng: np.random.Generator, stated: Stated, low: float = -np.inf, high: float = np.inf) -> Floats:
    """True values of an input: from its stated distribution, drawn again where impossible."""
    value, spread = (np.array(np.broadcast_to(a, stated.shape)) for a in stated.arrays)

    def once(where: NDArray[np.bool_]) -> Floats:
        unit = rng.standard_normal(where.sum())
        if stated.distribution == "rectangular":
            unit = rng.uniform(-np.sqrt(3), np.sqrt(3), where.sum())
        return value[where] + spread[where] * unit

    drawn = once(np.ones(value.shape, bool))
    while (wrong := (drawn < low) | (drawn > high)).any():
        drawn[wrong] = once(wrong)
    return drawn


def _half_cosine(distance: Floats, width: Floats) -> Floats:
    return 0.5 + 0.5 * np.sin(np.pi * np.clip(distance / width, -0.5, 0.5))


def _responses(rng: np.random.Generator, band: Band, true: dict[str, Floats], other: NDArray[np.bool_]) -> Floats:
    """True response of each reading's camera at WAVELENGTH: the assumed one moved and tilted, or another one."""
    size = other.size
    short, long, tilt = (true[name][:, None] for name in ("short_edge", "long_edge", "tilt"))
    low, high = band.edges
    place = (WAVELENGTH - low - short) / (high - low + long - short)
    before = low + place * (high - low)
    moved = np.interp(before, band.wavelength, band.response, left=0, right=0) * np.maximum(
        1 + tilt * (2 * place - 1), 0
    )
    first, last = NOMINAL_BANDS[band.name.split()[1]]
    cavity, width = rng.uniform(8.5e-6, 12e-6, (size, 1)), rng.uniform(0.2e-6, 1.2e-6, (2, size, 1))
    ends = _half_cosine(WAVELENGTH - first - short, width[0]) * _half_cosine(last + long - WAVELENGTH, width[1])
    ripple = 1 + rng.uniform(0, 0.05, (size, 1)) * np.sin(2 * np.pi * (WAVELENGTH / 1.5e-6 + rng.random((size, 1))))
    another = ends * ripple * 4 / (4 + np.tan(0.5 * np.pi * (1 - cavity / WAVELENGTH)) ** 2)
    return np.where(other[:, None], another, moved)


def _weight(band: Band) -> Floats:
    """Weight of each wavelength in the assumed band's mean over a black body at 300 K."""
    response = np.interp(WAVELENGTH, band.wavelength, band.response, left=0, right=0)
    weight = response * spectral_radiance(WAVELENGTH, 300.0)
    return weight / weight.sum()


@cache
def _measured_spectra() -> Floats:
    """Measured emissivities of open urban samples at WAVELENGTH, a row a sample; beyond 8 and 14 um as there."""
    rows = np.loadtxt(Path(__file__).parent / "data" / "urban_emissivity.csv", delimiter=",", skiprows=1)
    return np.array([np.interp(WAVELENGTH, rows[:, 0] * 1e-6, column) for column in rows[:, 1:].T])


def _spectra(rng: np.random.Generator, scene: _Scene, band: Band, mean: Floats, other: NDArray[np.bool_]) -> Floats:
    """True spectral emissivity with this mean over the assumed band at 300 K: as stated, or of the material's kind."""
    x, weight = (WAVELENGTH - WINDOW[0]) / WINDOW[1], _weight(band)
    slope, curvature = mean**2 * rng.normal((SLOPE_MEAN, 0), (SLOPE_SD, CURVATURE_SD), (mean.size, 2)).T
    lost = np.maximum(1 + slope[:, None] * x + curvature[:, None] * (x**2 - weight @ x**2), 0)
    found = np.clip(1 - (1 - mean[:, None]) * lost / (lost @ weight)[:, None], 0, 1)
    samples = _measured_spectra()
    for i in np.flatnonzero(other):
        row = scene.material[i]
        if row.kind == "metal":
            shape = np.sqrt(10e-6 / WAVELENGTH) * (1 + rng.normal(0, 0.05) * x)
            found[i] = np.clip(mean[i] * shape / (shape @ weight), 0, 1)
            continue
        lost = 1 - samples[rng.integers(len(samples))]
        if row.kind == "fresnel":
            known, index = optical_constants(row.optical_constants)
            n = np.interp(WAVELENGTH, known, index.real) + 1j * np.interp(WAVELENGTH, known, index.imag)
            lost = 1 - fresnel_emissivity(n, scene.angle[i])
        found[i] = np.clip(1 - (1 - mean[i]) * lost / (lost @ weight), 0, 1)
    return found


def _air(band: Band, true: dict[str, Floats], pressure: Floats) -> Floats:
    """True spectral transmittance: of the true weather, its depth scaled by the error of the air model."""
    weather = {name: true[name] for name in ("air_temperature", "relative_humidity")}
    known, tau = spectral_transmittance(true["distance"], **weather, pressure=pressure)
    tau = np.array([np.interp(WAVELENGTH, known, row) for row in tau])
    weight = _weight(band)
    depth, scale = -np.log(np.maximum(tau, 1e-300)), np.ones(len(tau))
    for _ in range(30):  # the mean transmittance is to move by the drawn error, depth staying above zero
        moved = np.exp(-depth * scale[:, None])
        fall = np.maximum((depth * moved) @ weight, 1e-9)
        scale = np.clip(scale + (moved @ weight - tau @ weight - true["transmittance"]) / fall, 0.0, 3.0)
    return np.exp(-depth * scale[:, None])


def _air_model_sd(band: Band, situation: Situation) -> Floats:
    names = ("distance", "air_temperature", "relative_humidity")
    length, kelvin, moist = (situation.of(name).arrays[0] for name in names)
    weather = {"air_temperature": kelvin, "relative_humidity": moist, "pressure": situation.pressure}
    return air_path(band, length, **weather).transmittance_sd


def _black_body(response: Floats, signal: Floats) -> Floats:
    """Temperature of the black body that gives each camera's signal, K."""
    kelvin = np.full(signal.shape, 300.0)
    for _ in range(40):
        value = (response * spectral_radiance(WAVELENGTH, kelvin[:, None])).sum(axis=1)
        slope = (response * spectral_radiance_slope(WAVELENGTH, kelvin[:, None])).sum(axis=1)
        step = (np.log(value) - np.log(signal)) * value / (slope * kelvin**2)
        kelvin = 1 / (1 / kelvin + step)
        if np.abs(step).max() < 1e-13:
            break
    return kelvin


def stock(seed: int, each: int = 13) -> Stock:
    """Readings of one seed, ``each`` in every cell: independent of each other, given what is stated."""
    rng = np.random.default_rng(seed)
    cell = np.repeat(np.arange(len(CELLS)), each)
    size = cell.size
    other = rng.random(size) < 1 / 3
    name = tuple(NOMINAL_BANDS)[seed % 2]
    band = nominal_band(name)
    scene, weathers = _scene(rng, cell)
    distance = np.exp(rng.uniform(0, np.log(FARTHEST), size))
    situation = Situation(
        _emissivity(scene, name),
        _reflected(rng, scene, weathers, band),
        Stated(scene.air, rng.uniform(0.3, 2.0, size)),
        Stated(scene.humidity, rng.uniform(0.02, 0.1, size)),
        _either(rng, distance, 0.2 + distance * rng.uniform(0.005, 0.05, size)),
        scene.pressure,
    )
    camera = camera_doubt(
        band,
        noise=Stated(0.0, rng.uniform(0.03, 0.1, size)),
        calibration=_either(rng, np.zeros(size), rng.uniform(0.3, 2.5, size)),
        drift=Stated(0.0, rng.uniform(0.05, 0.7, size)),
    )
    truth = rng.uniform(*np.array([RANGES[CELLS[i][1]] for i in cell]).T)
    true = _true(rng, band, situation, camera.flat((size,)))
    tau, response = _air(band, true, scene.pressure), _responses(rng, band, true, other)
    share = _spectra(rng, scene, band, true["emissivity"], other)
    mirrored = surroundings(scene.weather, np.where(scene.mirror, scene.zenith, np.nan), weathers, band, true)
    own = spectral_radiance(WAVELENGTH, true["air_temperature"][:, None])
    leaving = share * spectral_radiance(WAVELENGTH, truth[:, None]) + (1 - share) * mirrored
    kelvin = _black_body(response, (response * (tau * leaving + (1 - tau) * own)).sum(axis=1))
    shown = kelvin + true["noise"] + true["calibration"] + true["drift"]
    return Stock(band, situation, camera, shown, truth, true, cell, other)


def _true(rng: np.random.Generator, band: Band, situation: Situation, camera: CameraDoubt) -> dict[str, Floats]:
    """True inputs and errors, from the stated distributions."""
    names = ("emissivity", "reflected_temperature", "air_temperature", "relative_humidity", "distance")
    true = {name: _draw(rng, situation.of(name), *LIMITS.get(name, (-np.inf, np.inf))) for name in names}
    spread = _air_model_sd(band, situation)
    true["transmittance"] = spread * rng.standard_normal(spread.size)
    return true | {name: _draw(rng, camera.of(name)) for name in CameraDoubt.names()}
