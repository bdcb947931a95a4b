"""What a reading is made of, as tables: signal of each pixel, and the model from signal to surface temperature.

With them a page works a frame out again for another emissivity in some milliseconds, by the same equation as
:mod:`groundglow.model.through_air`: L = tau(B) eps B + tau(R) (1 - eps) R + path.
"""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass, replace

import numpy as np
from numpy.typing import NDArray

from groundglow.errors import InputError
from groundglow.model.reading import Stated, reading_with_interval, sky_factor
from groundglow.model.through_air import at_sensor_radiance_through_air, surface_temperature_through_air
from groundglow.model.weather import LIMITS
from groundglow.records.field import Reason
from groundglow.steps.measure.asking.knowns import Known, Made
from groundglow.steps.measure.asking.scene import Scene, mirrored, moved, situation
from groundglow.steps.measure.asking.sensor import Received, Sensor, errors_of
from groundglow.steps.measure.asking.setting import Setting

__all__ = ["NOT_OF_COUNTS", "Codes", "Live", "Terms", "in_codes", "live_table", "sensor_levelled", "signal_codes"]

Array = NDArray[np.float64]

#: Temperatures of the tables: steps, and how far they reach beyond what the frame shows, K.
NODES, BELOW, ABOVE = 385, 90.0, 160.0
#: Temperatures that may be reflected, K.
REFLECTED = (160.0, 420.0)
#: Sources of the model's doubt that no table moves: told at the frame's middle, K of surface temperature.
BY_THE_WAY = ("spectra", "response, short edge", "response, long edge", "response, tilt")
FULL = 65535
NOT_OF_COUNTS = "Counts without calibration: no temperature can be stated, so none can be worked out again."


@dataclass(frozen=True)
class Codes:
    """Apparent temperature as 16-bit codes: kelvin (or counts) = add + scale * code; 0 is no value."""

    codes: NDArray[np.uint16]
    scale: float
    add: float
    unit: str


@dataclass(frozen=True)
class Terms:
    """Radiance that arrives, W m-2 sr-1: of black surfaces and of what is reflected, by node; of the air itself."""

    arriving: Array
    mirrored: Array
    path: float


@dataclass(frozen=True)
class Live:
    """Tables of one scene. ``moved`` is the same after one standard uncertainty of an input; ``apparent`` the camera's
    standard uncertainties, K of apparent temperature; ``other`` what is left, K of surface temperature.
    """

    signal: Array
    radiance: Array
    surface: Array
    reflected: Array
    terms: Terms
    moved: Mapping[str, tuple[Known, Terms]]
    apparent: Mapping[str, float]
    other: Mapping[str, float]
    scene: Scene
    reflected_now: float
    reflected_sd: float


def signal_codes(setting: Setting) -> Codes:
    """The signal of each pixel as a code, in K of a black body (or in counts).

    Parameters
    ----------
    setting : Setting

    Returns
    -------
    Codes
    """
    counts = setting.signal.unit == "counts"
    value = np.asarray(setting.signal.value if counts else setting.table.temperature(setting.signal.value), dtype=float)
    good = np.isfinite(value) & (setting.signal.mask != Reason.BAD_PIXEL)
    return in_codes(value, good, "counts" if counts else "K")


def in_codes(value: NDArray[np.floating], good: NDArray[np.bool_], unit: str) -> Codes:
    """Numbers as 16-bit codes: a step is a 65,534th of their range, and at least 15 nK.

    Parameters
    ----------
    value : ndarray, shape (rows, columns)
    good : ndarray of bool, shape (rows, columns)
        Where there is a number; elsewhere the code is 0.
    unit : str

    Examples
    --------
    >>> made = in_codes(np.array([[280.0, np.nan, 310.0]]), np.array([[True, False, True]]), "K")
    >>> made.codes.tolist(), (made.add + made.scale * made.codes[0, [0, 2]]).round(6).tolist()
    ([[1, 0, 65535]], [280.0, 310.0])
    """
    low, high = (float(value[good].min()), float(value[good].max())) if good.any() else (0.0, 1.0)
    scale = max(high - low, 1e-3) / (FULL - 1)
    codes = np.where(good, np.rint((np.where(good, value, low) - low) / scale) + 1, 0).astype(np.uint16)
    return Codes(codes, scale, low - scale, unit)


def live_table(setting: Setting, made: Made) -> Live:
    """Tables for one surface, at the middle of a frame's distances.

    Parameters
    ----------
    setting : Setting
    made : Made
        The surface: its emissivity and how it mirrors.

    Raises
    ------
    InputError
        For counts without calibration, and for temperatures that were corrected in a way that is lost.
    """
    if setting.signal.unit == "counts":
        raise InputError(NOT_OF_COUNTS)
    if setting.signal.corrected:
        raise InputError(
            "These temperatures were corrected by whoever delivered them, with what is not said: they cannot be "
            "worked out again. Say emissivity and reflected_c under [values] of flight.toml."
        )
    away = float(np.median(setting.sight.distance))
    scene = Scene(setting.table, made, setting.air, replace(setting.sight.known, value=away), setting.reflected)
    signal = _signal_nodes(setting)
    surface = np.linspace(max(signal[0] - BELOW, 155.0), min(signal[-1] + ABOVE, 1490.0), NODES)
    reflected = np.linspace(*REFLECTED, 105)
    nodes = (surface, reflected)
    seen = mirrored(scene)
    return Live(
        signal, np.asarray(setting.table.radiance(signal)), surface, reflected, _terms(scene, nodes),
        _moved(scene, nodes), _camera(setting), _other(setting, scene), scene, seen.kelvin,
        seen.standard_uncertainty,
    )  # fmt: skip


def _signal_nodes(setting: Setting) -> Array:
    kelvin = np.asarray(setting.table.temperature(setting.signal.value), dtype=float)
    known = kelvin[np.isfinite(kelvin)]
    if not known.size:
        raise InputError("No pixel of this frame has a temperature.")
    return np.linspace(float(known.min()), max(float(known.max()), float(known.min()) + 1.0), 257)


def _terms(scene: Scene, nodes: tuple[Array, Array]) -> Terms:
    """The three parts of the equation at the nodes."""
    surface, reflected = nodes
    air = {
        "distance": float(np.clip(scene.distance.value, 0.0, LIMITS["distance"].high)),
        "air_temperature": scene.air["air temperature"].value,
        "relative_humidity": float(np.clip(scene.air["relative humidity"].value, 0.0, 1.0)),
        "pressure": scene.air["pressure"].value,
    }
    path = float(at_sensor_radiance_through_air(scene.table, 300.0, emissivity=0.0, reflected_radiance=0.0, **air))
    own = at_sensor_radiance_through_air(scene.table, surface, emissivity=1.0, reflected_radiance=0.0, **air)
    around = replace(situation(scene), reflected_temperature=Stated(reflected, 0.0))
    glow = sky_factor(scene.table.band, around) * np.asarray(scene.table.radiance(reflected))
    other = at_sensor_radiance_through_air(scene.table, 300.0, emissivity=0.0, reflected_radiance=glow, **air)
    return Terms(np.asarray(own) - path, np.asarray(other) - path, path)


def _moved(scene: Scene, nodes: tuple[Array, Array]) -> dict[str, tuple[Known, Terms]]:
    """The terms after one standard uncertainty of each input of the air and of the distance."""
    warm, moist, far = scene.air["air temperature"], scene.air["relative humidity"], scene.distance
    drier = max(moist.value - moist.standard_uncertainty, 0.01)
    nearer = max(far.value - far.standard_uncertainty, 1.0)
    fixed = scene if scene.reflected else replace(scene, reflected=_as_known(scene))
    scenes = {
        "air temperature": (warm, moved(fixed, "air temperature", warm.value + warm.standard_uncertainty)),
        "relative humidity": (moist, moved(fixed, "relative humidity", drier)),
        "distance": (far, replace(fixed, distance=replace(far, value=nearer))),
    }
    found = {name: (known, _terms(changed, nodes)) for name, (known, changed) in scenes.items()}
    return found | {"transmittance": _less_clear(scene, nodes)}


def _as_known(scene: Scene) -> Known:
    seen = mirrored(scene)
    return Known("reflected temperature", seen.kelvin, seen.standard_uncertainty, "K", "computed", "computed")


def _less_clear(scene: Scene, nodes: tuple[Array, Array]) -> tuple[Known, Terms]:
    """The terms when the air model itself errs: less passes, and the air shines more."""
    air = scene.air
    found = surface_temperature_through_air(
        scene.table, scene.table.radiance(300.0), emissivity=1.0, reflected_radiance=0.0,
        distance=float(np.clip(scene.distance.value, 0.0, LIMITS["distance"].high)),
        air_temperature=air["air temperature"].value, relative_humidity=air["relative humidity"].value,
        pressure=air["pressure"].value,
    )  # fmt: skip
    tau, spread = float(found.transmittance), float(found.transmittance_sd)
    terms, left = _terms(scene, nodes), 1.0 - spread / max(tau, 1e-6)
    shine = spread * float(scene.table.radiance(air["air temperature"].value))
    known = Known("transmittance", tau, spread, "", "model", "model")
    return known, Terms(terms.arriving * left, terms.mirrored * left, terms.path + shine)


def _camera(setting: Setting) -> dict[str, float]:
    """Standard uncertainties of the camera at the middle of the frame's pixels, K of apparent temperature."""
    sensor = setting.sensor
    slope = np.asarray(setting.table.slope(setting.table.temperature(setting.signal.value)))
    errors = {name: float(np.nanmedian(np.abs(v) / slope)) for name, v in setting.signal.flight.items()}
    own = {k.name: k.standard_uncertainty for k in (sensor.noise, sensor.pattern, sensor.drift)}
    return {**own, **errors}


def _other(setting: Setting, scene: Scene) -> dict[str, float]:
    """What the spectra and the camera's response leave unknown, at the middle of the frame, K of the surface."""
    middle = float(np.nanmedian(setting.table.temperature(setting.signal.value)))
    received = _of_black_body(setting, scene, middle)
    camera = errors_of(scene.table, received, setting.sensor, independent=np.zeros(1))
    found = reading_with_interval(scene.table.band, np.array([middle]), situation(scene), camera)
    parts = {name: float(np.ravel(v)[0]) for name, v in found.doubt.flight.items() if name in BY_THE_WAY}
    return {name: abs(v) for name, v in parts.items() if np.isfinite(v)}


def _of_black_body(setting: Setting, scene: Scene, kelvin: float) -> Received:
    return Received(np.array([float(setting.table.radiance(kelvin))]), np.array([scene.distance.value]), {})


def sensor_levelled(sensor: Sensor, *, pattern_k: float, level_k: float) -> Sensor:
    """The camera's doubt once pattern and level are taken off: what is left of both, by registering."""
    drift = float(np.hypot(sensor.drift.standard_uncertainty, level_k))
    return replace(
        sensor,
        pattern=Known("pattern", 0.0, pattern_k, "K", "registering", "registering"),
        drift=replace(sensor.drift, standard_uncertainty=drift),
    )
